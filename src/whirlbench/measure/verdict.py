"""Is B better than A: the gain with its interval, and what may be said of it.

All tests are two-sided: "better" is said when the whole 95 % interval lies above zero. With no true difference that
is said at most once in 40 comparisons, "better" or "worse" together once in 20. Several settings share these 5 % by
Tukey's range, several factors of one plan by Sidak's rule. An error that all runs share, such as the meter's, cancels.
"""

import itertools
from collections import Counter
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError, UnknownKey, nearest
from whirlbench.measure import detectable
from whirlbench.measure.anova import effects, lenth
from whirlbench.measure.gain import gain_between
from whirlbench.measure.model import model
from whirlbench.measure.plan_size import LEAST_FREEDOM

_NOTHING = 1e-20  # of the squares: all runs of a setting read the same
DESIGNS = ("welch", "paired", "blocked", "randomised")


@dataclass(frozen=True)
class Verdict:
    """What a set of runs says.

    Attributes
    ----------
    design : str
        ``welch``, ``paired``, ``blocked``, ``tukey``, ``factorial`` or ``one run each``.
    why : str
        Why it was compared so.
    unit : str
        SI unit of the gains.
    gains : tuple of Gain
        Every pair of levels of every factor, later level over earlier.
    depends : tuple of tuple of str
        Pairs of factors where the gain of one depends on the other.
    cautions : tuple of str
        What to mind.
    """

    design: str
    why: str
    unit: str
    gains: tuple
    depends: tuple
    cautions: tuple

    @property
    def better(self):
        """Settings that are better than the starting one of their factor, the best first."""
        started = {}
        for gain in self.gains:
            started.setdefault(gain.factor, gain.first)
        won = [one for one in self.gains if one.first == started[one.factor] and one.verdict == "better"]
        return tuple(sorted(won, key=lambda one: -one.gain))

    @property
    def sentence(self):
        """The verdict in plain words."""
        if len(self.gains) == 1:
            return self.gains[0].sentence
        if self.better:
            return " ".join(gain.sentence for gain in self.better)
        start = [gain for gain in self.gains if gain.first == self.gains[0].first]
        if all(gain.verdict == "not enough runs" for gain in self.gains):
            return start[0].sentence
        known = Counter(gain.verdict for gain in start)
        return (
            "Nothing is better than the start." if known["worse"] else "No setting is seen to be better than the start."
        )


def compare(runs, *, design=None, wanted=None):
    """Verdict on the settings of a set of runs.

    Parameters
    ----------
    runs : Runs
        One factor, or several of a factorial plan.
    design : str, optional
        ``paired`` or ``blocked``, which the runs must be, or ``welch`` or ``randomised`` to leave blocks out;
        without it blocks are used where the runs carry them, and the verdict says so.
    wanted : float, optional
        Gain that must not be missed, in the runs' unit; tells "no difference" from "not enough runs".

    Returns
    -------
    Verdict
        Gains with intervals, in words.

    Raises
    ------
    InputError
        Fewer than two settings, a design that does not fit, or settings that never stood in one block.
    """
    if design is not None and design not in DESIGNS:
        raise UnknownKey("design", f"'{design}'", "a known design", try_=nearest(design, DESIGNS))
    for name, levels in runs.levels.items():
        if len(levels) < 2:
            got = f"only {levels[0]}" if levels else "no runs"
            raise InputError(name, got, "two settings or more", try_="add the runs of the other setting")
    if not all(np.isfinite(runs.outcomes)):
        raise InputError("outcome", "a run without a number", "a number in each", try_="leave that run out")
    blocks, kind, why, cautions = _as_taken(runs, design)
    cautions += _order_cautions(runs, blocks)
    if len(runs.names) == 1 and len(runs.levels[runs.names[0]]) == 2 and not blocks:
        return Verdict("welch", why, runs.unit, (_welch(runs, wanted),), (), tuple(cautions))
    if _is_one_run_each(runs, blocks):
        why += "; no run was repeated, so Lenth's rule takes the smallest effects for noise"
        return Verdict("one run each", why, runs.unit, _one_run_each(runs, wanted), (), tuple(cautions))
    several = len(runs.names) > 1
    kind = "factorial" if several else kind or "tukey"
    gains, depends = _fitted_gains(runs, blocks, wanted)
    return Verdict(kind, why, runs.unit, gains, depends, tuple(cautions))


def _as_taken(runs, design):
    """Blocks to use, the name of the design, why it is used, and what to mind."""
    if design in ("welch", "randomised"):
        return (), None, "you asked to leave blocks out", []
    count = len(set(runs.blocks))
    if count < 2 and design:
        column = f"{count} blocks" if count else "no blocks"
        raise InputError(
            "design", f"{design} with {column}", "two blocks or more", try_="name the column of the blocks"
        )
    if count < 2:
        return (), None, "the runs carry neither pairs nor blocks", []
    lost = [runs.names[term[0]] for term in _fitted(runs, runs.blocks).lost if len(term) == 1]
    if lost:
        got = f"settings of {lost[0]} that never stood in one block"
        try_ = "run the start again in every block, or compare with design welch and mind that the day may be the gain"
        raise InputError("blocks", got, "settings that share blocks", try_=try_)
    return _in_blocks(runs, design, count)


def _in_blocks(runs, design, count):
    """Pairs are blocks in which each of two settings stands once."""
    places = Counter(zip(runs.blocks, *runs.columns, strict=True))
    two = len(runs.names) == 1 and len(runs.levels[runs.names[0]]) == 2
    pairs = two and max(places.values()) == 1
    if design == "paired" and not pairs:
        needs = "two settings that stand once in every pair"
        raise InputError("design", "paired, but more runs in a block", needs, try_="compare with design blocked")
    half = sum(each == 1 for each in Counter(block for block, *_ in places).values())
    cautions = [f"{half} of {count} blocks hold one setting only and tell nothing."] if half else []
    if pairs:
        return runs.blocks, "paired", f"each of {count - half} pairs holds both settings once", cautions
    return runs.blocks, "blocked", f"the runs were taken in {count} blocks", cautions


def _order_cautions(runs, blocks):
    """One setting first and the other after it is a poor test: the fan may have changed meanwhile."""
    cautions = []
    for name, column in runs.labels.items():
        changes = sum(one != other for one, other in itertools.pairwise(column))
        if len(column) > 3 and changes < len(set(column)) and not blocks:
            cautions.append(
                f"The runs of each {name} stand together. If they were taken so, a warming fan looks like a gain: "
                "next time mix them, as whirlbench plan does."
            )
    return cautions


def _welch(runs, wanted):
    """Gain of two settings by Welch's test."""
    (name,), (column,) = runs.names, runs.columns
    first, second = runs.levels[name]
    a, b = (
        np.array([y for y, one in zip(runs.outcomes, column, strict=True) if one == level]) for level in (first, second)
    )
    means, variances, freedom = (a.mean(), b.mean()), np.zeros((2, 2)), 0.0
    if min(len(a), len(b)) > 1 and a.std() + b.std() > 0:
        own = np.array([a.var(ddof=1) / len(a), b.var(ddof=1) / len(b)])
        variances = np.diag(own)
        freedom = float(own.sum() ** 2 / np.sum(own**2 / (len(a) - 1, len(b) - 1)))  # Welch and Satterthwaite
    return gain_between(
        (name, first, second), means, variances, freedom=freedom, threshold=None, wanted=wanted, unit=runs.unit
    )


def _fitted(runs, blocks):
    return model(runs.columns, levels=tuple(runs.levels.values()), blocks=blocks)


def _fitted_gains(runs, blocks, wanted):
    """Gain of every two levels of every factor, and pairs of factors that depend on each other."""
    from statsmodels.regression.linear_model import OLS

    fitted = _fitted(runs, blocks)
    fit = OLS(np.asarray(runs.outcomes, dtype=float), fitted.matrix).fit()
    freedom = fitted.freedom if fit.ssr > _NOTHING * float(np.sum(np.square(runs.outcomes))) else 0
    spread = fit.cov_params() if freedom else np.zeros((fitted.matrix.shape[1],) * 2)
    alpha = detectable.each_alpha(len(runs.names))
    gains = []
    for factor, (name, levels) in enumerate(runs.levels.items()):
        rows = fitted.means(factor)
        means, variances = rows @ fit.params, rows @ spread @ rows.T
        threshold = detectable.critical(freedom, levels=len(levels), alpha=alpha) if freedom else None
        known = {"freedom": freedom, "threshold": threshold, "wanted": wanted, "unit": runs.unit}
        gains += [
            gain_between((name, levels[i], levels[j]), means[[i, j]], variances[np.ix_((i, j), (i, j))], **known)
            for i, j in itertools.combinations(range(len(levels)), 2)
        ]
    return tuple(gains), _depends(runs, fitted, fit) if freedom else ()


def _depends(runs, fitted, fit):
    """Pairs of factors whose joint effect is more than luck, all of them together at 5 %."""
    alpha = detectable.each_alpha(max(1, len(fitted.pairs)))
    found = []
    for term in fitted.pairs:
        restriction = np.eye(fitted.matrix.shape[1])[fitted.places[term]]
        if float(fit.f_test(restriction).pvalue) < alpha:
            found.append(tuple(runs.names[factor] for factor in term))
    return tuple(found)


def _is_one_run_each(runs, blocks):
    """Whether this is an unrepeated two-level plan with every run there, which Lenth's rule is made for."""
    if blocks or len(runs.names) < 2 or any(len(levels) != 2 for levels in runs.levels.values()):
        return False
    whole = model(runs.columns, levels=tuple(runs.levels.values()), order=len(runs.names))
    products = whole.matrix.T @ whole.matrix
    upright = np.array_equal(products, len(runs.outcomes) * np.eye(len(products)))
    return upright and whole.freedom == 0 and _fitted(runs, ()).freedom < LEAST_FREEDOM


def _one_run_each(runs, wanted):
    """Main effects of an unrepeated two-level plan, judged by Lenth's simultaneous limit."""
    found = effects(runs)
    limits = lenth([one.effect for one in found])
    known = {"freedom": limits.freedom, "threshold": limits.sure / limits.scatter if limits.scatter else None}
    middle, half = float(np.mean(runs.outcomes)), limits.scatter**2 / 2
    return tuple(
        gain_between(
            (name, *runs.levels[name]),
            (middle - one.effect / 2, middle + one.effect / 2),
            ((half, 0.0), (0.0, half)),
            **(known if limits.scatter else {"freedom": 0}),
            wanted=wanted,
            unit=runs.unit,
        )
        for name, one in ((one.factors[0], one) for one in found if len(one.factors) == 1)
    )
