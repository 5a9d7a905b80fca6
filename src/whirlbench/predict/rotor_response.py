"""A rotor in many worlds from its solution in nine: parabolas in what its blades do, each factor on its own."""

from dataclasses import replace

import numpy as np

from whirlbench.predict import world

# coefficients hardly change with the wind
_AXES = [world.FACTORS.index(name) for name in world.AERODYNAMIC if name != "wind"]
_REACH = 1.5  # standard deviations from the middle to the outer worlds
_LEAST = 1e-6  # a step that keeps the parabola of a factor without doubt defined


def star(worlds):
    """Nine worlds around the first: each factor on the coefficients of a rotor lower and higher.

    Parameters
    ----------
    worlds : Worlds
        The believed worlds, best estimate first.

    Returns
    -------
    Worlds
        The best estimate, then a lower and a higher one for each factor.
    """
    rows = np.repeat(worlds.log_factors[:1], 1 + 2 * len(_AXES), axis=0)
    for number, (axis, step) in enumerate(zip(_AXES, _steps(worlds), strict=True)):
        rows[1 + 2 * number : 3 + 2 * number, axis] += [-step, step]
    return world.Worlds(rows)


def in_all(rotor, worlds):
    """Coefficients of a rotor in all worlds from those in the nine of ``star``.

    Parameters
    ----------
    rotor : RotorWorlds
        Solved in ``star(worlds)``.
    worlds : Worlds
        The believed worlds, n of them.

    Returns
    -------
    RotorWorlds
        In n worlds.

    Notes
    -----
    No published check found: a quadratic response without cross terms, held against the exact solution by a test.
    """
    away = worlds.log_factors[:, _AXES] - worlds.log_factors[:1, _AXES]
    share = away / _steps(worlds)
    sides = [0.5 * (share[:, i] ** 2 + way * share[:, i]) for i in range(len(_AXES)) for way in (-1, 1)]
    weights = np.column_stack([1 - (share**2).sum(axis=1), *sides])
    names = ("torque", "thrust", "blade_drag", "rod_drag")
    arrays = {name: np.einsum("nk,bkm->bnm", weights, getattr(rotor, name)) for name in names}
    wind = rotor.disc_speed[:1] * worlds.factor("wind") / worlds.factor("wind")[:1]
    return replace(rotor, **arrays, disc_speed=wind, standstill=weights @ rotor.standstill)


def _steps(worlds):
    return np.maximum(_REACH * worlds.log_factors[:, _AXES].std(axis=0), _LEAST)
