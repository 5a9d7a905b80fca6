"""Work of the search that other processes can do: rotors with the best that can stand behind them."""

import heapq
from dataclasses import dataclass, replace

import numpy as np

from whirlbench.advise import build_path, chain_choice, climb, designs, workers
from whirlbench.advise.archive import rank
from whirlbench.advise.goal import beyond
from whirlbench.advise.score import Scorer, fresh_worlds
from whirlbench.errors import WhirlbenchError
from whirlbench.predict import blades, rotor_response
from whirlbench.predict.curve import met_curve, rotor_worlds
from whirlbench.predict.stand import stand
from whirlbench.predict.wind import air_data, blockage
from whirlbench.predict.world import FACTORS

_STATIONS = 14  # some 0.5 % of power: the finalists are valued with more
_KEPT = 24  # points that a job gives back for each kind
_NEAR = 0.8  # chains this near to the best of a rotor stay in the race
_UNBUILDABLE = -2.0
_HARD_SIDE = np.array([{"wind": -1, "lift": -1, "drag": 1, "stall": -1}.get(name, 0) for name in FACTORS])


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
    worlds : Worlds
        Belief about the turbine now.
    firmest : Turbine
        On the firmest stand at hand.
    start_guarantee : float
        Least chance of a start [-].
    in_hand : float
        Power of the best build so far, of which only what goes beyond it counts; 0 for the expected power [W].
    robust : bool
        Look in every believed world, not at the best estimate alone: a rotor that only just comes up to speed in the
        middle of what is believed fails in half of it.
    chains : int
        Most chains of a rotor that are looked at in every world.
    exact : bool
        Solve the rotor in all these worlds, not in the few of ``rotor_response.star``.
    harder : float
        Where not all worlds are looked at: in one that is harder on a rotor than the best estimate by so many doubts of
        wind, lift, drag and stall at once. What just comes up to speed in the middle of what is believed fails in half
        of it, so a climb by best estimate alone ends on a cliff.
    """

    space: object
    choice: object
    scorer: object
    worlds: object
    firmest: object
    start_guarantee: float
    in_hand: float = 0.0
    robust: bool = False
    chains: int = 3
    exact: bool = False
    harder: float = 0.0


@dataclass(frozen=True)
class Found:
    """One design with its worth.

    Attributes
    ----------
    value : float
        Scored power, in one world or in the mean of all [W]; negative where it will not do.
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


class _Answered(Scorer):
    """Scorer of turbines whose rotor is known in every world."""

    def __init__(self, scorer, rotors):
        super().__init__(scorer.event, scorer.wind_speeds)
        self._known = rotors

    def _rotor(self, assembly, speed, worlds):
        return self._known[speed]


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
    workers.check()
    point = tuple(float(x) for x in point)
    try:
        turbine = designs.build(task.space, task.space.kinds[kind], point)
        if turbine is None:
            return Found(_UNBUILDABLE, kind, point, None)
        if task.robust:
            turbine = turbine.changed(tower=task.firmest.tower, base=task.firmest.base)
        seen, believed = _seen(task, turbine)
        rotors = _rotors(task, turbine, seen)
        powers, ready = chain_choice.scored(task.choice, _curves(turbine, seen, rotors), _mass(turbine.rotor))
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
    if task.robust:
        return _in_every_world(task, turbine, Found(0.0, kind, point, None, near), believed=believed, rotors=rotors)
    return Found(ranked[0][0], kind, point, near[0], near)


def _in_every_world(task, turbine, found, *, believed, rotors):
    """A rotor with the best of a few chains in the mean of all worlds."""
    scorer = Scorer(task.scorer.event, task.scorer.wind_speeds)  # it remembers this rotor for all chains
    if not task.exact:
        scorer = _Answered(scorer, {speed: rotor_response.in_all(one, believed) for speed, one in rotors.items()})
    tried, behind = [], {}
    for chain in found.near[: task.chains]:
        target = with_chain(task.choice, turbine, chain)
        if chain[:2] not in behind:  # a resistor brings no doubt
            moves = build_path.exchange_all(turbine, target, build_path.differences(turbine, target))
            behind[chain[:2]] = build_path.believed(believed, moves)
        worth = scorer.worth(target, behind[chain[:2]])
        starts = float(worth.starts.mean()) if task.choice.must_start else 1.0
        sure = starts >= task.start_guarantee
        tried.append((beyond(worth.power, task.in_hand) if sure else starts - 1.0, chain))
    value, chain = max(tried, key=lambda pair: pair[0])
    return replace(found, value=value, chain=chain if value > 0 else None)


def with_chain(choice, turbine, chain):
    """Turbine with another drivetrain, generator and load.

    Parameters
    ----------
    choice : Chains
        What there is.
    turbine : Turbine
        With any.
    chain : tuple of int
        Indices of supply, drivetrain and load.

    Returns
    -------
    Turbine
        The rotor stays.
    """
    supply, train, load = chain
    part = choice.supplies[supply]
    return turbine.changed(drivetrain=choice.trains[train], generator=part.generator, load=part.loads[load])


def curves(task, turbine):
    """Torque curves of a turbine in the scored winds.

    Parameters
    ----------
    task : Task
        Its winds, and whether all worlds are looked at.
    turbine : Turbine
        With the rotor in question.

    Returns
    -------
    list of list of MetCurve
        One list a wind: the best estimate, then those of ``rotor_response.star`` where all worlds are looked at.
    """
    seen, _ = _seen(task, turbine)
    return _curves(turbine, seen, _rotors(task, turbine, seen))


def _seen(task, turbine):
    """Worlds that a rotor is solved in, the best estimate first, and all that are believed."""
    own = task.space.turbine
    if task.robust:
        worlds = build_path.believed(
            task.worlds, build_path.exchange_all(own, turbine, build_path.differences(own, turbine))
        )
        return rotor_response.star(worlds), worlds
    believed = fresh_worlds(task.worlds, turbine, build_path.unread(own.rotor, turbine.rotor))
    harder = believed.log_factors[:1] + task.harder * _HARD_SIDE * believed.log_factors.std(axis=0)
    one = replace(believed, log_factors=harder)
    return one, one


def _rotors(task, turbine, seen):
    """Solved rotor for each scored wind."""
    shape, air = blades.rotor_shape(turbine.rotor, turbine.wind.flow, _STATIONS), air_data(turbine.air)
    return {speed: rotor_worlds(shape, speed, air, seen) for speed in task.scorer.winds(turbine)}


def _curves(turbine, seen, rotors):
    air, foot = air_data(turbine.air), stand(turbine.tower, turbine.base)
    walls = blockage(turbine.wind, turbine.rotor.radius)
    beside = turbine.wind.kind == "tunnel" and turbine.wind.measured == "beside the rotor"
    found = []
    for rotor in rotors.values():
        curve = met_curve(rotor, air, stand=foot, worlds=seen, blockage=walls, beside=beside)
        found.append([_one_world(curve, i) for i in range(len(seen))])
    return found


def _one_world(curve, number):
    """Curve of a single world."""
    some = slice(number, number + 1)
    arrays = {name: getattr(curve, name)[:, some] for name in ("speed", "torque", "thrust")}
    return replace(curve, **arrays, standstill=curve.standstill[some])


def sample(task, starts, count, seed):
    """Look at points spread over some kinds of blades.

    Parameters
    ----------
    task : Task
        What is looked for.
    starts : sequence of (int, sequence of tuple of float)
        Indices of kinds, each with points to look at besides; the turbine's own numbers are always among them.
    count : int
        Points for each.
    seed : tuple of 2 int
        Of the search, and number of the round.

    Returns
    -------
    list of Found
        The best of each kind; only the first of each tells its other chains.
    """
    kept = []
    for kind, known in starts:
        here = designs.now(task.space, task.space.kinds[kind])
        points = [*known, here, *climb.latin_hypercube(count, here.size, (*seed, kind))[1:]]
        best, *rest = heapq.nsmallest(_KEPT, (look(task, kind, point) for point in points), key=rank)
        kept += [best, *(replace(one, near=()) for one in rest)]
    return kept


def climb_kind(task, start, looks, radius):
    """Climb from designs of one kind.

    Parameters
    ----------
    task : Task
        What is looked for.
    start : sequence of Found
        Where to begin, each on its own.
    looks : int
        Designs to look at on each way.
    radius : float
        First step, as a share of each number's range.

    Returns
    -------
    list of Found
        Distinct designs met on the way, best first.
    """
    seen = []

    def worth(point):
        seen.append(look(task, start[0].kind, point))
        return seen[-1].value

    for one in start:
        climb.climbed(worth, one.point, most=looks, radius=radius)
    return distinct(sorted((one for one in seen if one.value > 0), key=rank), 6)


def polish(task, found, steps):
    """Move the free numbers of a design up and down, one by one, where that gains.

    Parameters
    ----------
    task : Task
        What is looked for.
    found : Found
        Where to begin.
    steps : sequence of float
        As shares of each number's range: all numbers are tried with one, then with the next.

    Returns
    -------
    list of Found
        The one design that this ends at.
    """
    found = look(task, found.kind, found.point)
    for step in steps:
        for axis in range(len(found.point)):
            for way in (step, -step):
                moved = look(task, found.kind, _stepped(found.point, axis, way))
                if moved.value > found.value:
                    found = moved
                    break
    return [found]


def _stepped(point, axis, step):
    moved = np.array(point)
    moved[axis] = min(max(moved[axis] + step, 0.0), 1.0)
    return moved


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


def _mass(rotor):
    return rotor.blade_count * blades.blade_mass(rotor).mass + rotor.hub.mass
