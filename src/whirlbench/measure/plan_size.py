"""How many runs of each setting a plan needs, and how large a gain it sees with so many."""

import math
from dataclasses import dataclass

from whirlbench.errors import InputError, within
from whirlbench.measure import detectable
from whirlbench.measure.model import model

MOST_RUNS = 240
FEWER = "change fewer things, leave out levels, or make the runs steadier: longer readings, the fan warm"
LEAST_FREEDOM = 4  # with fewer, several factors cannot share what is known of the scatter
_FEW = 3  # runs of a setting: fewer, and one slip decides
_NORMAL = 2.8  # standard errors between 5 % two-sided and 80 % when the scatter is known


@dataclass(frozen=True)
class Shape:
    """A plan without its replicates.

    Attributes
    ----------
    settings : tuple of tuple of str
        Level of every factor, for each different run.
    blocks : int
        Days, teams or warm-ups that each hold every setting equally often; 1 is none.
    paired : bool
        Every replicate is a block of its own.
    """

    settings: tuple
    blocks: int = 1
    paired: bool = False

    @property
    def step(self):
        """Replicates come in multiples of this."""
        return 1 if self.paired else self.blocks

    def groups(self, replicates):
        """Blocks of the whole plan.

        Parameters
        ----------
        replicates : int
            Runs of each setting.

        Returns
        -------
        int
            One where there are none.
        """
        return replicates if self.paired else self.blocks

    def chance(self, effect, replicates):
        """Chance of seeing a gain, in the factor where it is hardest to see.

        Parameters
        ----------
        effect : float
            Gain over run-to-run standard deviation [-].
        replicates : int
            Runs of each setting.

        Returns
        -------
        float or None
            [-]; None where too few runs are left to know the scatter.
        """
        if len(self.settings) == 2 and self.groups(replicates) == 1:
            return detectable.welch_chance(effect, replicates) if replicates > 1 else None
        freedom, factors = self._sizes(replicates)
        if freedom < (2 if len(factors) == 1 else LEAST_FREEDOM):
            return None
        alpha = detectable.each_alpha(len(factors))
        return min(
            float(
                detectable.chance(
                    effect * math.sqrt(runs / 2), detectable.critical(freedom, levels=levels, alpha=alpha), freedom
                )
            )
            for levels, runs in factors
        )

    def effect(self, replicates):
        """Gain that is seen in 8 of 10 cases.

        Parameters
        ----------
        replicates : int
            Runs of each setting.

        Returns
        -------
        float or None
            Gain over run-to-run standard deviation [-]; None where too few runs are left to know the scatter.
        """
        from scipy.optimize import brentq

        if self.chance(1.0, replicates) is None:
            return None
        return float(brentq(lambda effect: self.chance(effect, replicates) - detectable.CHANCE, 0, 200, xtol=1e-6))

    def replicates(self, effect=None):
        """Fewest runs of each setting that see a gain in 8 of 10 cases.

        Parameters
        ----------
        effect : float, optional
            Gain over run-to-run standard deviation [-]; without it three runs of each setting, or two of a factorial.

        Returns
        -------
        int
            In whole blocks.

        Raises
        ------
        InputError
            A gain that 240 runs would not see.
        """
        single = len(self.settings[0]) == 1
        if effect is None:
            return self.whole(_FEW if single else 2)
        within("gain over scatter", effect, low=1e-3, high=1e3, unit="", try_="give both in % or both in watts")
        levels = max(len(set(column)) for column in zip(*self.settings, strict=True))
        least = 2 * (_NORMAL / effect) ** 2 * levels / len(self.settings)
        count = self.whole(max(_FEW if single else 1, math.floor(0.9 * least)))
        while count * len(self.settings) <= MOST_RUNS:
            if (self.chance(effect, count) or 0) >= detectable.CHANCE:
                return count
            count += self.step
        got = f"one of {effect:.2g} times the scatter, which takes about {max(count, math.ceil(least))} runs a setting"
        raise InputError("gain", got, f"one that {MOST_RUNS} runs can see", try_=FEWER)

    def whole(self, replicates):
        """Replicates rounded up to whole blocks.

        Parameters
        ----------
        replicates : int
            Runs of each setting.

        Returns
        -------
        int
            The same or a few more.
        """
        return self.step * math.ceil(replicates / self.step)

    def _sizes(self, replicates):
        """Degrees of freedom of the scatter; levels and runs a level of each factor."""
        groups = self.groups(replicates)
        rows = [(one, str(group)) for group in range(groups) for one in self.settings * (replicates // groups)]
        columns = tuple(zip(*(setting for setting, _ in rows), strict=True))
        fitted = model(columns, blocks=tuple(group for _, group in rows))
        return fitted.freedom, [(len(names), len(rows) / len(names)) for names in fitted.levels]
