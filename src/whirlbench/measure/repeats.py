"""Readings taken again under the same conditions: the one that stands apart from the others."""

from statistics import NormalDist

import numpy as np

LIMIT = 3.5  # Iglewicz and Hoaglin's advice for the modified z-score: common practice
FEWEST = 5  # with fewer repeats the median of the gaps is luck
_BY_LUCK = 0.02  # chance that one of many good values is called apart
_NORMAL = 0.6745  # median gap of a normal distribution in standard deviations


def modified_z(values, *, doubt=0.0):
    """Distance of each value from the median, in robust standard deviations.

    Parameters
    ----------
    values : array, shape (n,)
        Repeats of one quantity, any unit.
    doubt : float
        Relative standard uncertainty of one reading [-]: scatter below it is not taken for real.

    Returns
    -------
    array, shape (n,)
        [-]; 0 where all values are the same.

    Notes
    -----
    0.6745 (x - median) / MAD, MAD the median of the absolute gaps from the median.

    References
    ----------
    .. [1] B. Iglewicz and D. Hoaglin, How to Detect and Handle Outliers, ASQC Quality Press 1993.
    """
    values = np.asarray(values, dtype=float)
    gaps = values - np.median(values)
    spread = max(np.median(np.abs(gaps)) / _NORMAL, doubt * abs(np.median(values)))
    return gaps / spread if spread else np.zeros_like(values)


def apart(values, *, doubt=0.0):
    """Places of the values that stand apart from their repeats.

    Parameters
    ----------
    values : array, shape (n,)
        Repeats of one quantity, any unit; fewer than five tell nothing.
    doubt : float
        Relative standard uncertainty of one reading [-].

    Returns
    -------
    list of int
        Indices with a modified z-score beyond 3.5; of more than forty values beyond what luck alone gives one of them
        in fifty such sets.
    """
    if len(values) < FEWEST:
        return []
    limit = max(LIMIT, NormalDist().inv_cdf(1 - _BY_LUCK / (2 * len(values))))
    return np.flatnonzero(np.abs(modified_z(values, doubt=doubt)) > limit).tolist()
