"""The optimiser of the search: seeded sampling of the unit cube, then differential evolution."""

import numpy as np


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


def evolved(objective, start, *, generations, seed):
    """Points of a population that has evolved towards a maximum.

    Parameters
    ----------
    objective : callable
        Worth of a point of the unit cube.
    start : array, shape (count, size)
        First population, 5 or more.
    generations : int
        How long it evolves.
    seed : int or sequence of int
        Same seed, same result.

    Returns
    -------
    tuple of array, shapes (count, size) and (count,)
        Population and its worth, best first.

    References
    ----------
    .. [1] R. Storn, K. Price, Journal of Global Optimization 11:341, 1997.
    """
    from scipy.optimize import differential_evolution

    found = differential_evolution(
        lambda point: -objective(point),
        [(0.0, 1.0)] * start.shape[1],
        init=start,
        maxiter=generations,
        rng=np.random.default_rng(seed),
        polish=False,
        tol=1e-6,
    )
    order = np.argsort(found.population_energies, kind="stable")
    return found.population[order], -found.population_energies[order]
