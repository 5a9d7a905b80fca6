"""What a build is worth trying for: its expected power beyond what is in hand already."""

import math

import numpy as np

_SCATTER = 0.03  # two builds of one drawing differ by about this much in power: common practice


def beyond(power, in_hand=0.0):
    """Expected power of a build beyond what a team has in hand.

    Parameters
    ----------
    power : array, shape (n,)
        Scored power in every believed world [W].
    in_hand : float
        Power of the best build so far [W]; with 0 this is the expected power itself.

    Returns
    -------
    float
        [W]. A build that may turn out much better counts for more than one that is surely a little better: the team
        keeps the best of both, so only what goes beyond it is won.

    References
    ----------
    .. [1] J. Mockus, V. Tiesis, A. Zilinskas, Towards Global Optimization 2:117, 1978: expected improvement.
    """
    power = np.asarray(power, dtype=float)
    if in_hand <= 0:
        return float(power.mean())
    spread = np.maximum(_SCATTER * power, 1e-12 * in_hand)
    away = (power - in_hand) / spread
    density = np.exp(-0.5 * away**2) / math.sqrt(2 * math.pi)
    below = 0.5 * np.array([math.erfc(-one / math.sqrt(2)) for one in away])
    return float(np.mean(spread * (away * below + density)))
