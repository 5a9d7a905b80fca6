"""Doubt of a result from the doubts of what went in: first order, and Monte Carlo where that is too coarse."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError, UnknownKey, nearest, within

FIRST_ORDER, MONTE_CARLO = "first order", "Monte Carlo"
SHAPES = ("normal", "rectangular", "arcsine")
_COUNT = 100_000  # draws


@dataclass(frozen=True)
class Input:
    """One number that goes into a result.

    Attributes
    ----------
    name : str
        In plain words.
    number, sigma : float
        Best estimate and standard uncertainty.
    freedom : float
        Degrees of freedom behind ``sigma``; infinite where it is simply known.
    shape : str
        ``normal`` (Student's t where the freedom is finite), ``rectangular`` or ``arcsine``.
    """

    name: str
    number: float
    sigma: float = 0.0
    freedom: float = math.inf
    shape: str = "normal"


@dataclass(frozen=True)
class Estimate:
    """A result with its doubt.

    Attributes
    ----------
    number, sigma : float
        Result at the best estimates of the inputs, and its standard uncertainty.
    low, high : float
        Ends of the interval that holds the truth with the chance ``level``.
    level : float
        Such as 0.95 [-].
    freedom : float
        Effective degrees of freedom behind ``sigma``.
    mean : float
        Mean of all results that the doubts allow; differs from ``number`` where the formula is curved.
    method : str
        ``first order`` or ``Monte Carlo``.
    shares : tuple of (str, float)
        Share of each input in the variance, greatest first; first order in both methods [-].
    """

    number: float
    sigma: float
    low: float
    high: float
    level: float
    freedom: float
    mean: float
    method: str
    shares: tuple


@dataclass(frozen=True)
class Mean:
    """What repeated readings of one thing say (type A).

    Attributes
    ----------
    number : float
        Their mean.
    scatter : float
        Standard deviation of one reading.
    sigma : float
        Standard uncertainty of the mean.
    count : int
        Number of readings.
    freedom : int
        One less.
    """

    number: float
    scatter: float
    sigma: float
    count: int
    freedom: int


def mean_of(readings):
    """Mean of repeated readings and its standard uncertainty.

    Parameters
    ----------
    readings : sequence of float
        Two or more.

    Returns
    -------
    Mean
        Mean, scatter and s/sqrt(n).

    Raises
    ------
    InputError
        Fewer than two readings: they tell nothing about scatter.

    References
    ----------
    .. [1] JCGM 100:2008, 4.2 (from memory).
    """
    numbers = np.asarray(readings, dtype=float)
    if numbers.size < 2:
        raise InputError("repeats", f"{numbers.size} readings", "two or more", try_="repeat the run without a change")
    scatter = float(numbers.std(ddof=1))
    return Mean(float(numbers.mean()), scatter, scatter / math.sqrt(numbers.size), numbers.size, numbers.size - 1)


def correlated_means(names, readings):
    """Means of things read together, with the correlation of their means.

    Parameters
    ----------
    names : sequence of str
        In plain words.
    readings : array, shape (things, repeats)
        Each column was read at one moment.

    Returns
    -------
    tuple of (tuple of Input, array)
        The means, and their correlation matrix [-].

    References
    ----------
    .. [1] JCGM 100:2008, 5.2.3 (from memory).
    """
    table = np.asarray(readings, dtype=float)
    means = [mean_of(row) for row in table]
    inputs = tuple(Input(name, one.number, one.sigma, one.freedom) for name, one in zip(names, means, strict=True))
    return inputs, np.corrcoef(table)


def pooled_scatter(groups):
    """Relative scatter of one reading, pooled over groups of repeats at different settings.

    Parameters
    ----------
    groups : iterable of sequence of float
        Repeats at one setting each; a single reading tells nothing and is passed over.

    Returns
    -------
    tuple of (float, int)
        Relative standard deviation [-] and degrees of freedom; 0 and 0 without repeats.

    References
    ----------
    .. [1] JCGM 100:2008, 4.2.4 on pooled scatter (from memory).
    """
    squares, freedom = 0.0, 0
    for group in groups:
        numbers = np.asarray(group, dtype=float)
        if len(numbers) > 1 and numbers.mean():
            squares += float(np.sum((numbers / numbers.mean() - 1) ** 2))
            freedom += len(numbers) - 1
    return (math.sqrt(squares / freedom), freedom) if freedom else (0.0, 0)


def from_limit(limit, shape="rectangular"):
    """Standard uncertainty of something known to lie within a limit to either side.

    Parameters
    ----------
    limit : float
        Half the width.
    shape : str
        ``rectangular``: all places equally likely; ``arcsine``: swings to and fro between the ends.

    Returns
    -------
    float
        Unit of ``limit``.

    Raises
    ------
    UnknownKey
        Another shape.

    References
    ----------
    .. [1] JCGM 100:2008, 4.3.7 and H.1.3.4 (from memory).
    """
    divisors = {"rectangular": math.sqrt(3), "arcsine": math.sqrt(2)}
    if shape not in divisors:
        raise UnknownKey("shape", f"'{shape}'", "a shape with two ends", try_=nearest(shape, divisors))
    return limit / divisors[shape]


def effective_freedom(sigmas, freedoms):
    """Degrees of freedom behind the root of a sum of squares (Welch and Satterthwaite).

    Parameters
    ----------
    sigmas : sequence of float
        Independent contributions.
    freedoms : sequence of float
        Degrees of freedom of each; infinite where one is simply known.

    Returns
    -------
    float
        Infinite where all are.

    References
    ----------
    .. [1] JCGM 100:2008, G.4.1 (from memory).
    """
    squares = np.square(np.asarray(sigmas, dtype=float))
    rough = float(np.sum(squares**2 / np.asarray(freedoms, dtype=float)))
    return float(squares.sum() ** 2 / rough) if rough else math.inf


def coverage_factor(freedom, level=0.95):
    """Standard uncertainties to each side that hold the truth with a chance.

    Parameters
    ----------
    freedom : float
        Degrees of freedom; cut to a whole number as the GUM does.
    level : float
        Chance, such as 0.95 [-].

    Returns
    -------
    float
        1.96 for 95 % and many degrees of freedom [-].

    Raises
    ------
    OutOfRange
        Less than one degree of freedom, or a level outside 0.5-0.9999.

    References
    ----------
    .. [1] JCGM 100:2008, G.3 and G.6.4 (from memory).
    """
    from scipy.special import ndtri, stdtrit

    within("degrees of freedom", freedom, low=1, high=math.inf, unit="", try_="more repeats")
    within("level", level, low=0.5, high=0.9999, unit="", try_="0.95")
    tail = 0.5 + level / 2
    return float(ndtri(tail) if math.isinf(freedom) else stdtrit(math.floor(freedom), tail))


def evaluate(formula, inputs, *, correlation=None, method=FIRST_ORDER, level=0.95, count=_COUNT):
    """Result of a formula with its doubt, its interval and the share of each input.

    Parameters
    ----------
    formula : callable
        Takes the inputs in their order, as floats or as arrays.
    inputs : sequence of Input
        What goes in.
    correlation : array, shape (n, n), optional
        Of the inputs [-]; without it they are independent.
    method : str
        ``first order`` or ``Monte Carlo``.
    level : float
        Chance that the interval holds the truth [-].
    count : int
        Draws of the Monte Carlo method.

    Returns
    -------
    Estimate
        The result.

    Notes
    -----
    First order overlooks what a curved formula does: use Monte Carlo where an input that enters with a high power is
    known to no better than about 5 %.

    References
    ----------
    .. [1] JCGM 100:2008, equations 10 and 13, for the first order (from memory).
    .. [2] JCGM 101:2008, for Monte Carlo (from memory).
    """
    slopes = _slopes(formula, inputs)
    number = float(formula(*(one.number for one in inputs)))
    contributions = slopes * np.array([one.sigma for one in inputs])
    known = np.eye(len(inputs)) if correlation is None else np.asarray(correlation, dtype=float)
    weights = contributions * (known @ contributions)
    variance = float(weights.sum())
    shares = [(one.name, float(w / variance) if variance > 0 else 0.0) for one, w in zip(inputs, weights, strict=True)]
    freedoms = [one.freedom for one in inputs]
    # with correlations the rule of Welch and Satterthwaite does not hold: the weakest link decides
    freedom = effective_freedom(contributions, freedoms) if correlation is None else min(freedoms)
    sigma = math.sqrt(max(variance, 0.0))
    if method == FIRST_ORDER:
        half, mean = coverage_factor(max(freedom, 1.0), level) * sigma, number
        low, high = number - half, number + half
    else:
        results = monte_carlo(formula, inputs, correlation=correlation, count=count)
        low, high = (float(end) for end in np.quantile(results, [0.5 - level / 2, 0.5 + level / 2]))
        sigma, mean = float(results.std()), float(results.mean())
    ranked = tuple(sorted(shares, key=lambda share: -share[1]))
    return Estimate(number, sigma, low, high, level, freedom, mean, method, ranked)


def _slopes(formula, inputs):
    """Derivative of the formula after each input at the best estimates."""
    import uncertainties

    doubtful = [uncertainties.ufloat(one.number, one.sigma) if one.sigma else one.number for one in inputs]
    result = uncertainties.wrap(formula)(*doubtful)
    derivatives = getattr(result, "derivatives", {})  # a plain number where no input is in doubt
    return np.array([float(derivatives.get(one, 0.0)) for one in doubtful])  # certain inputs are in no derivative


def monte_carlo(formula, inputs, *, correlation=None, count=_COUNT, seed=0):
    """Results of a formula for inputs drawn as their doubts allow.

    Parameters
    ----------
    formula : callable
        Takes the inputs in their order, as arrays.
    inputs : sequence of Input
        What goes in.
    correlation : array, shape (n, n), optional
        Of the inputs [-]; all must then be normal.
    count : int
        Number of draws.
    seed : int
        Same seed, same draws.

    Returns
    -------
    array, shape (count,)
        Results.

    Raises
    ------
    InputError
        Correlated inputs that are not normal.

    Notes
    -----
    Each input is drawn once from each of ``count`` slices of equal chance, so that its own distribution has no luck
    in it and far fewer draws do.

    References
    ----------
    .. [1] JCGM 101:2008, 6.4 for the distributions (from memory).
    .. [2] M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21, 239-245, 1979, for the slices (from memory).
    """
    rng = np.random.default_rng(seed)
    draws = np.array([_unit_draws(one, count, rng) for one in inputs])
    if correlation is not None:
        if any(one.shape != "normal" for one in inputs):
            raise InputError("inputs", "a correlation", "normal inputs for it", try_="leave the correlation out")
        values, vectors = np.linalg.eigh(np.asarray(correlation, dtype=float))
        draws = (vectors * np.sqrt(np.maximum(values, 0.0))) @ draws
    return np.asarray(formula(*(one.number + one.sigma * row for one, row in zip(inputs, draws, strict=True))))


def _unit_draws(one, count, rng):
    """Draws of an input in its standard uncertainties away from its best estimate."""
    from scipy.special import ndtri, stdtrit

    place = (rng.permutation(count) + rng.random(count)) / count
    if one.shape == "rectangular":
        return math.sqrt(3) * (2 * place - 1)
    if one.shape == "arcsine":
        return math.sqrt(2) * np.sin(np.pi * (place - 0.5))
    if one.shape != "normal":
        raise UnknownKey("shape", f"'{one.shape}'", "a shape we can draw", try_=nearest(one.shape, SHAPES))
    return ndtri(place) if math.isinf(one.freedom) else stdtrit(one.freedom, place)


def shortest_interval(results, level=0.95):
    """Ends of the shortest interval that holds a share of all results.

    Parameters
    ----------
    results : array
        Draws of a result.
    level : float
        Share [-].

    Returns
    -------
    tuple of float
        Low and high end.

    References
    ----------
    .. [1] JCGM 101:2008, 5.3.4 (from memory).
    """
    ranked = np.sort(results)
    inside = round(level * len(ranked))
    best = int(np.argmin(ranked[inside:] - ranked[: len(ranked) - inside]))
    return float(ranked[best]), float(ranked[best + inside])
