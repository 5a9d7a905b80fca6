"""A fair test plan: what to run, in which order, how often, and how large a gain it will see.

A plan is plain data and holds its own order of runs, so a team that stops in the middle goes on where it was.
"""

from typing import Literal

from pydantic import BaseModel, ConfigDict

REFERENCE = "reference"  # the build column of a run that only watches the fan


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Factor(_Frozen):
    """One thing that is changed on purpose, and what it is set to; the first level is how the starter build stands."""

    name: str
    levels: tuple[str, ...]


class PlannedRun(_Frozen):
    """One run of a plan; ``block`` counts from 1, 0 without blocks."""

    number: int
    block: int
    settings: tuple[str, ...]
    reference: bool = False


class Plan(_Frozen):
    """A test plan; gains and scatter are shares of the starter build's output, or watts where ``size_unit`` is W.

    Without a gain that was asked for, ``gain`` is what the plan sees in 8 of 10 cases; it is None where one run of each
    setting leaves nothing to judge the scatter by.
    """

    title: str
    kind: Literal["one factor", "factorial", "fractional factorial"]
    layout: Literal["randomised", "blocked", "paired"]
    factors: tuple[Factor, ...]
    runs: tuple[PlannedRun, ...]
    replicates: int
    blocks: int
    block_name: str
    generators: tuple[str, ...]
    alike: tuple[str, ...]
    gain: float | None
    scatter: float
    size_unit: Literal["", "W"]
    chance: float | None
    reference_every: int
    minutes_per_run: float
    seed: int

    @property
    def names(self):
        """Names of the factors, in order."""
        return tuple(factor.name for factor in self.factors)

    @property
    def test_runs(self):
        """Runs that count, without the reference runs."""
        return tuple(run for run in self.runs if not run.reference)

    @property
    def minutes(self):
        """How long the whole plan takes [min]."""
        return len(self.runs) * self.minutes_per_run

    @property
    def sentence(self):
        """The plan in one sentence for the team."""
        extra = len(self.runs) - len(self.test_runs)
        watch = f", {extra} of them to watch the fan" if extra else ""
        runs = f"{len(self.runs)} runs{watch}, about {_rounded(self.minutes)}"
        if self.gain is None:
            return f"{runs}; with so few runs it shows what matters most, but it cannot be sure of any gain."
        return f"{runs}; sees a gain of {self.shown(self.gain)} or more in {_cases(self.chance)}."

    def shown(self, size):
        """A gain or a scatter as the team wrote it.

        Parameters
        ----------
        size : float
            Share [-] or power [W].

        Returns
        -------
        str
            In percent, or in milliwatts.
        """
        return f"{1000 * size:.3g} mW" if self.size_unit else f"{100 * size:.2g} %"

    def left(self, done):
        """Runs that are still to do.

        Parameters
        ----------
        done : iterable of int
            Numbers of the runs that are done.

        Returns
        -------
        tuple of PlannedRun
            In the order of the plan.
        """
        done = set(done)
        return tuple(run for run in self.runs if run.number not in done)

    def build_of(self, run):
        """What to call the turbine of a run in the readings file.

        Parameters
        ----------
        run : PlannedRun
            A run of this plan.

        Returns
        -------
        str
            ``reference``, or its settings such as ``pitch=8 deg; load=22 ohm``, which ``settings_of`` reads back.
        """
        if run.reference:
            return REFERENCE
        return "; ".join(f"{name}={level}" for name, level in zip(self.names, run.settings, strict=True))

    def block_of(self, run):
        """What to call the block of a run in the readings file.

        Parameters
        ----------
        run : PlannedRun
            A run of this plan.

        Returns
        -------
        str
            Such as ``day 2``; empty in a plan without blocks.
        """
        return f"{self.block_name} {run.block}" if run.block else ""


def settings_of(build):
    """Settings that a build's name carries.

    Parameters
    ----------
    build : str
        As ``Plan.build_of`` gives it, or any name.

    Returns
    -------
    dict of str to str
        Level of each factor; empty where the name carries none.
    """
    pieces = [piece.partition("=") for piece in build.split(";")]
    if not all(name.strip() and level.strip() for name, _, level in pieces):
        return {}
    return {name.strip(): level.strip() for name, _, level in pieces}


def _rounded(minutes):
    if minutes < 90:
        return f"{5 * max(1, round(minutes / 5))} minutes"
    return f"{round(minutes / 30) / 2:g} hours"


def _cases(chance):
    return f"{int(10 * chance + 1e-9)} of 10 cases" if chance < 0.95 else "nearly every case"
