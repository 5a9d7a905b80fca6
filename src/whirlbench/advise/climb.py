"""The optimiser of the search: seeded sampling of the unit cube, and a climb from the best of it."""

import numpy as np

_NEAR = 0.05  # of the first step: the last


def latin_hypercube(count, size, seed):
    """Points spread evenly over the unit cube.

    Parameters
    ----------
    count : int
        Number of points.
    size : int
        Number of numbers in each.
    seed : int or sequence of int
        Same seed, same points.

    Returns
    -------
    array, shape (count, size)
        0 to 1.
    """
    draw = np.random.default_rng(seed)
    cells = np.array([draw.permutation(count) for _ in range(size)]).T.reshape(count, size)
    return (cells + draw.random((count, size))) / count


def climbed(objective, start, *, most, radius=0.2):
    """Climb from a point to the nearest maximum, by parabolas through the points looked at.

    Parameters
    ----------
    objective : callable
        Worth of a point of the unit cube.
    start : array, shape (size,)
        Where to begin.
    most : int
        Points to look at.
    radius : float
        How far away the first of them lie.

    Returns
    -------
    tuple of array, shape (size,), and float
        The best point that was looked at, and its worth.

    References
    ----------
    .. [1] T. M. Ragonneau, Z. Zhang, COBYQA, 2022: a derivative-free trust-region method.
    """
    from scipy.optimize import minimize

    best = np.asarray(start, dtype=float), -np.inf

    def descent(point):
        nonlocal best
        point = np.clip(point, 0.0, 1.0)
        worth = objective(point)
        if worth > best[1]:
            best = point, worth
        return -worth

    options = {"maxfev": most, "initial_tr_radius": radius, "final_tr_radius": _NEAR * radius}
    minimize(descent, best[0], method="COBYQA", bounds=[(0.0, 1.0)] * best[0].size, options=options)
    return best
