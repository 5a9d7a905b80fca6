"""Drift of the fan, seen from reference runs taken between the test runs, and taken out of them.

A reference run is the same turbine in the same setting, over and over. What it does is seen as a share of its own
mean, so the corrected runs are what they would have been in the middle of the session.
"""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError, within
from whirlbench.measure.regression import straight_line
from whirlbench.measure.uncertainty import coverage_factor

_LEVEL = 0.05  # chance of calling a steady fan a drifting one


@dataclass(frozen=True)
class Drift:
    """How the reference readings moved during the session.

    Attributes
    ----------
    shape : str
        ``linear``, or ``piecewise`` for straight pieces from block to block of references.
    times : array, shape (k,)
        Middle of the session for a line, middle of each block for pieces [s].
    shares : array, shape (k,)
        Reference there over its mean over the session; 1 for a line [-].
    slope : float
        Share per second of a line; 0 for pieces [1/s].
    sigmas : array, shape (k,)
        Standard uncertainty of the slope [1/s], or relative of each block's own level [-].
    freedom : int
        Degrees of freedom behind ``sigmas``.
    chance : float
        Chance that a steady fan would look like this or worse; ``real`` below 0.05 [-].
    first, last : float
        Time of the first and the last reference [s].
    """

    shape: str
    times: np.ndarray
    shares: np.ndarray
    slope: float
    sigmas: np.ndarray
    freedom: int
    chance: float
    first: float
    last: float

    @property
    def real(self):
        """Whether a steady fan would look like this less than once in twenty sessions."""
        return self.chance < _LEVEL

    @property
    def change(self):
        """Change from the first reference to the last, as a share of the mean [-]."""
        return float(self.share(self.last)[0] - self.share(self.first)[0])

    def share(self, time):
        """Reference at a time over its mean, and the standard uncertainty of that.

        Parameters
        ----------
        time : float
            Between the first and the last reference [s].

        Returns
        -------
        tuple of float
            Share and standard uncertainty [-].

        Raises
        ------
        OutOfRange
            A time before the first or after the last reference.
        """
        try_ = "take a reference run before the first test run and one after the last"
        within("time of the run", time, low=self.first, high=self.last, unit="s", try_=try_)
        if self.shape == "linear":
            away = time - float(self.times[0])
            return 1 + self.slope * away, abs(away) * float(self.sigmas[0])
        # outside the middles of the first and last block their own mean is the best guess
        weights = np.array([np.interp(time, self.times, unit) for unit in np.eye(len(self.times))])
        share = float(np.exp(weights @ np.log(self.shares)))
        apart = weights - 1 / len(self.times)  # a block's level is also a part of the mean
        return share, share * float(np.linalg.norm(apart * self.sigmas))


@dataclass(frozen=True)
class Corrected:
    """A test run with the drift taken out, its raw number beside it.

    Attributes
    ----------
    time : float
        [s].
    raw, number : float
        As read, and as it would have been in the middle of the session.
    factor, factor_sigma : float
        ``number`` over ``raw`` and its standard uncertainty [-].
    low, high : float
        Interval of ``number`` that holds the truth 19 times in 20, as far as the drift is concerned.
    applied : bool
        False where no drift was seen: then the number stays raw and the doubt holds what may have been overlooked.
    """

    time: float
    raw: float
    number: float
    factor: float
    factor_sigma: float
    low: float
    high: float
    applied: bool


def linear_drift(times, references):
    """Drift as a straight line through all references.

    Parameters
    ----------
    times : sequence of float
        When each reference was taken, on any clock [s].
    references : sequence of float
        What it read; three or more, all above 0.

    Returns
    -------
    Drift
        The line, and by a t test whether it is real.

    Raises
    ------
    InputError
        Fewer than three references, all at one time, or one that is not above 0.
    """
    from scipy.special import stdtr

    times, references = _checked(times, references, 3)
    fit = straight_line(times - times.mean(), references / references.mean())
    slope, sigma = float(fit.coefficients[1]), float(fit.sigmas[1])
    chance = float(2 * stdtr(fit.freedom, -abs(slope) / sigma)) if sigma else float(slope == 0)
    middle = np.array([times.mean()])
    ends = {"first": float(times.min()), "last": float(times.max())}
    return Drift("linear", middle, np.ones(1), slope, np.array([sigma]), fit.freedom, chance, **ends)


def piecewise_drift(times, references, blocks):
    """Drift as straight pieces from one block of references to the next, for a fan that warms up and then rests.

    Parameters
    ----------
    times : sequence of float
        When each reference was taken, on any clock [s].
    references : sequence of float
        What it read, above 0.
    blocks : sequence
        Block of each reference; two blocks or more, two references or more in at least one of them.

    Returns
    -------
    Drift
        The pieces, and by one-way analysis of variance whether they are real.

    Raises
    ------
    InputError
        One block only, no block with repeats, or a reference that is not above 0.

    Notes
    -----
    On logarithms: the scatter of a reference is taken as a share of it, the same in all blocks.
    """
    from scipy.special import fdtrc

    times, references = _checked(times, references, 3)
    names = list(dict.fromkeys(blocks))
    members = [np.array([block == name for block in blocks]) for name in names]
    counts = np.array([inside.sum() for inside in members])
    freedom = int(counts.sum() - len(names))
    if len(names) < 2 or freedom < 1:
        needs = "two blocks or more, with two references in a block"
        got = f"{len(references)} references in {len(names)} blocks"
        raise InputError("references", got, needs, try_="take each reference twice")
    logs = np.log(references)
    levels = np.array([logs[inside].mean() for inside in members])
    scatter = sum(float(np.sum((logs[inside] - logs[inside].mean()) ** 2)) for inside in members) / freedom
    between = float(np.sum(counts * (levels - logs.mean()) ** 2)) / (len(names) - 1)
    chance = float(fdtrc(len(names) - 1, freedom, between / scatter)) if scatter else float(between == 0)
    middles = np.array([times[inside].mean() for inside in members])
    order = np.argsort(middles)
    sigmas, shares = np.sqrt(scatter / counts), np.exp(levels - levels.mean())
    ends = {"first": float(times.min()), "last": float(times.max())}
    return Drift("piecewise", middles[order], shares[order], 0.0, sigmas[order], freedom, chance, **ends)


def corrected(drift, times, readings):
    """Test runs with the drift taken out where it is real.

    Parameters
    ----------
    drift : Drift
        From the references of the session; of the same quantity as the readings, so that a power is held against
        powers.
    times, readings : sequence of float
        When each run was taken [s] and what it read.

    Returns
    -------
    tuple of Corrected
        One a run.

    Raises
    ------
    OutOfRange
        A run before the first or after the last reference.
    """
    spread = coverage_factor(drift.freedom)
    found = []
    for time, raw in zip(times, readings, strict=True):
        share, sigma = drift.share(time)
        factor, doubt = (1 / share, sigma / share**2) if drift.real else (1.0, math.hypot(1 - 1 / share, sigma))
        ends = sorted(raw * (factor + side * spread * doubt) for side in (-1, 1))
        found.append(Corrected(float(time), float(raw), raw * factor, factor, doubt, *ends, drift.real))
    return tuple(found)


def _checked(times, references, fewest):
    times, references = np.asarray(times, dtype=float), np.asarray(references, dtype=float)
    if len(references) < fewest:
        needs = f"{fewest} references or more"
        raise InputError("references", f"{len(references)}", needs, try_="one before, one between and one after")
    if not (references > 0).all():
        raise InputError("references", f"{references.min():g}", "above 0", try_="leave out a run that did not turn")
    return times, references
