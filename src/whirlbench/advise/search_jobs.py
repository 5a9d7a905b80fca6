"""Work of the search that other processes can do: rotors with the best that can stand behind them."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.advise import chain_choice, designs, evolve
from whirlbench.advise.score import fresh_worlds
from whirlbench.errors import WhirlbenchError
from whirlbench.predict import blades, world
from whirlbench.predict.curve import met_curve, rotor_worlds
from whirlbench.predict.stand import stand
from whirlbench.predict.turbine import priors
from whirlbench.predict.wind import air_data, blockage

_STATIONS = 14  # some 0.5 % of power: the finalists are valued with more
_KEPT = 24  # points that a job gives back for each kind
_NEAR = 0.8  # chains this near to the best of a rotor stay in the race
_UNBUILDABLE = -2.0


@dataclass(frozen=True)
class Task:
    """All that a job needs to know; small enough to be sent to another process.

    Attributes
    ----------
    space : Space
        Rotors to choose from.
    choice : Chains
        What can stand behind them.
    scorer : Scorer
        Its scored winds.
    best : Worlds
        Best estimate of the turbine now.
    doubt : float
        Sigma by which power is looked at above and below the best estimate too, 0 for not at all: a rotor that only
        just comes up to speed in the middle of what is believed fails in half of it.
    """

    space: object
    choice: object
    scorer: object
    best: object
    doubt: float = 0.0


@dataclass(frozen=True)
class Found:
    """One design with its worth.

    Attributes
    ----------
    value : float
        Scored power, best estimate [W]; negative where it will not do.
    kind : int
        Index of its kind of blades.
    point : tuple of float
        Point of the unit cube.
    chain : tuple of int or None
        Indices of supply, drivetrain and load.
    near : tuple of tuple of int
        Chains nearly as good, best first.
    """

    value: float
    kind: int
    point: tuple
    chain: tuple | None
    near: tuple = ()


def look(task, kind, point):
    """What one rotor is worth with the best that can stand behind it.

    Parameters
    ----------
    task : Task
        What is looked for.
    kind : int
        Index of the kind of blades.
    point : array
        Point of the unit cube.

    Returns
    -------
    Found
        Below 0 where it will not do: the nearer to 0, the nearer to a start.
    """
    point = tuple(float(x) for x in point)
    try:
        turbine = designs.build(task.space, task.space.kinds[kind], point)
        if turbine is None:
            return Found(_UNBUILDABLE, kind, point, None)
        powers, ready = chain_choice.scored(task.choice, curves(task, turbine), _mass(turbine.rotor))
    except WhirlbenchError:  # outside what the models allow
        return Found(_UNBUILDABLE, kind, point, None)
    most = max(power.max() for power in powers)
    if most <= 0:
        return Found(ready - 1.0 + min(most, 0.0) * (ready == 1.0), kind, point, None)
    ranked = sorted(
        (
            (float(power[k, r]), (number, int(task.choice.supplies[number].trains[k]), int(r)))
            for number, power in enumerate(powers)
            for k, r in np.argwhere(power >= _NEAR * most)
        ),
        key=lambda pair: (-pair[0], pair[1]),
    )
    near = tuple(chain for _, chain in ranked)
    return Found(ranked[0][0], kind, point, near[0], near)


def curves(task, turbine):
    """Torque curves of a turbine in the scored winds.

    Parameters
    ----------
    task : Task
        Its winds, and how much doubt to look at.
    turbine : Turbine
        With the rotor in question.

    Returns
    -------
    list of list of MetCurve
        One list a wind: the best estimate, then the worse and the better rotor where doubt is looked at.
    """
    air, foot = air_data(turbine.air), stand(turbine.tower, turbine.base)
    best = task.best
    if not same_air(task.space.turbine.rotor, turbine.rotor):
        best = fresh_worlds(best, turbine, ("lift", "drag"))
    if task.doubt:
        best = _beside(best, turbine, task.doubt)
    shape = blades.rotor_shape(turbine.rotor, turbine.wind.flow, _STATIONS)
    walls = blockage(turbine.wind, shape.radius)
    beside = turbine.wind.kind == "tunnel" and turbine.wind.measured == "beside the rotor"
    found = []
    for speed in task.scorer.winds(turbine):
        rotor = rotor_worlds(shape, speed, air, best)
        curve = met_curve(rotor, air, stand=foot, worlds=best, blockage=walls, beside=beside)
        found.append([_one_world(curve, i) for i in range(len(best))])
    return found


def _beside(best, turbine, sigmas):
    """Best estimate, and the likeliest worlds in which the rotor is worse and better by some sigma of torque."""
    prior = priors(turbine)
    # relative change of torque by a relative change of each: wind squared, lift straight, drag about half against it
    slopes = {"wind": 2.0, "lift": 1.0, "drag": -0.5}
    effects = {name: slope * prior.sigma(name) for name, slope in slopes.items()}
    whole = float(np.linalg.norm(list(effects.values())))
    step = np.zeros(len(world.FACTORS))
    for name, effect in effects.items():
        step[world.FACTORS.index(name)] = sigmas * prior.sigma(name) * effect / whole
    return world.Worlds(best.log_factors + np.array([0 * step, -step, step]))


def _one_world(curve, number):
    """Curve of a single world."""
    some = slice(number, number + 1)
    arrays = {name: getattr(curve, name)[:, some] for name in ("speed", "torque", "thrust")}
    return replace(curve, **arrays, standstill=curve.standstill[some])


def same_air(one, other):
    """Whether readings on one rotor tell of the section of another.

    Parameters
    ----------
    one, other : Rotor
        Two rotors.

    Returns
    -------
    bool
        True for the same section.
    """
    return one.section == other.section


def sample(task, kinds, count, seed):
    """Look at points spread over some kinds of blades.

    Parameters
    ----------
    task : Task
        What is looked for.
    kinds : sequence of int
        Indices of kinds.
    count : int
        Points for each.
    seed : tuple of 2 int
        Of the search, and number of the round; in the first the turbine's own numbers are among the points.

    Returns
    -------
    list of Found
        The best of each kind.
    """
    kept = []
    for kind in kinds:
        here = designs.now(task.space, task.space.kinds[kind])
        points = evolve.latin_hypercube(count, here.size, (*seed, kind))
        if seed[1] == 0:
            points[0] = here
        found = sorted((look(task, kind, point) for point in points), key=_rank)
        kept.extend(found[:_KEPT])
    return kept


def evolve_kind(task, start, generations, seed):
    """Evolve the designs of one kind.

    Parameters
    ----------
    task : Task
        What is looked for.
    start : sequence of Found
        Designs of one kind, the first population.
    generations : int
        How long.
    seed : int
        Same seed, same result.

    Returns
    -------
    list of Found
        Distinct designs, best first.
    """
    kind = start[0].kind
    points, values = evolve.evolved(
        lambda point: look(task, kind, point).value,
        np.array([one.point for one in start]),
        generations=generations,
        seed=(seed, kind),
    )
    good = [look(task, kind, point) for point, value in zip(points, values, strict=True) if value > 0]
    return distinct(sorted(good, key=_rank), 6)


def distinct(found, most):
    """The best of designs that differ in more than a touch.

    Parameters
    ----------
    found : sequence of Found
        Best first.
    most : int
        How many to keep.

    Returns
    -------
    list of Found
        Best first.
    """
    kept = []
    for one in found:
        if len(kept) == most:
            break
        if all(one.kind != other.kind or _far(one, other) for other in kept):
            kept.append(one)
    return kept


def _far(one, other):
    apart = np.abs(np.subtract(one.point, other.point)).max()
    return apart > 0.1 or (one.chain[:2] != other.chain[:2] and apart > 0.02)


def _rank(one):
    return -one.value, one.kind, one.point


def _mass(rotor):
    return rotor.blade_count * blades.blade_mass(rotor).mass + rotor.hub.mass
