"""What a reading is worth before it is taken: how much better the choice after it will be on average."""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

_DRAWS = 16  # readings that each world may give
_SHARPEST = 1e-9  # a perfect reading still needs a width to divide by


@dataclass(frozen=True)
class Information:
    """What a test may read and what would then be known; ``k`` readings, all as likely.

    Attributes
    ----------
    value : float
        Expected gain of the best choice after the test less that of the best choice now, unit of the gains.
    readings : array, shape (k, q)
        What may be read.
    gains : array, shape (k, a)
        Expected gain of every choice after each.
    """

    value: float
    readings: np.ndarray
    gains: np.ndarray


def information(predicted, doubt, gains):
    """What a test teaches about the gains of several choices.

    Parameters
    ----------
    predicted : array, shape (n, q)
        What each believed world would make the instruments read; logarithms where doubts are relative.
    doubt : array, shape (q,)
        Standard uncertainty of each reading, same scale; 0 for a perfect one.
    gains : array, shape (n, a)
        Gain of each choice in each world; a column of zeros where nothing may be done.

    Returns
    -------
    Information
        Value and the readings behind it.

    Notes
    -----
    Every world in turn is the truth and gives readings spread by their doubt; each reading weighs all worlds by
    their likelihood. A few worlds under a sharp reading have a mean that is off by chance, which would make every
    sharp test look useful: the means are therefore drawn towards the mean of all worlds by the share of their
    variance that chance explains, as in a James-Stein estimate. By construction the value is never negative.
    """
    predicted, doubt = np.asarray(predicted, dtype=float), np.asarray(doubt, dtype=float)
    gains = np.asarray(gains, dtype=float)
    readings = (predicted[:, None, :] + doubt * _scores(len(doubt))).reshape(-1, len(doubt))
    weights = _likelihood(readings, predicted, np.maximum(doubt, _SHARPEST))
    prior = gains.mean(axis=0)
    now = int(np.argmax(prior))
    ahead = _believable(weights, gains - gains[:, [now]])
    value = float(ahead.max(axis=1).mean())  # what is chosen now has 0 in every world
    after = _believable(weights, gains)
    # the level comes with the choice of now, the lead of the others as found above
    return Information(value, readings, after[:, [now]] + ahead)


def perfect(gains):
    """Expected gain from knowing which world is true.

    Parameters
    ----------
    gains : array, shape (n, a)
        Gain of each choice in each world.

    Returns
    -------
    float
        No test can be worth more.
    """
    gains = np.asarray(gains, dtype=float)
    return float(gains.max(axis=1).mean() - gains.mean(axis=0).max())


def _scores(count):
    """Draws of unit spread: the same even scores for each instrument, in an order of its own, shape (draws, count)."""
    even = np.array([NormalDist().inv_cdf((i + 0.5) / _DRAWS) for i in range(_DRAWS)])
    even /= np.sqrt(np.mean(even**2))
    orders = np.random.default_rng(1)
    return np.column_stack([even, *(orders.permutation(even) for _ in range(count - 1))])


def _likelihood(readings, predicted, doubt):
    """Weight of every world after every reading, shape (k, n)."""
    miss = ((readings[:, None, :] - predicted[None]) / doubt) ** 2
    logs = -0.5 * miss.sum(axis=2)
    weights = np.exp(logs - logs.max(axis=1, keepdims=True))
    return weights / weights.sum(axis=1, keepdims=True)


def _believable(weights, gains):
    """Mean gains after every reading, their spread less what chance alone gives to the means of so few worlds."""
    prior, means = gains.mean(axis=0), weights @ gains
    squares = (weights**2).sum(axis=1, keepdims=True)
    rest = 1.0 - squares
    within = np.where(rest > 1e-9, weights @ gains**2 - means**2, 0.0) / np.maximum(rest, 1e-9)
    chance = np.mean(np.maximum(within, 0.0) * (squares - 1.0 / len(gains)), axis=0)
    spread = means.var(axis=0)
    kept = np.clip(1.0 - chance / np.where(spread > 0, spread, 1.0), 0.0, 1.0)
    return prior + kept * (means - means.mean(axis=0))
