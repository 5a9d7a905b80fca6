"""What a team can build: designs as numbers, whether they may be run, and the best of them in a hidden truth."""

import functools
from dataclasses import dataclass

import numpy as np
import scipy.optimize

from whirlbench.advise import chain_choice, climb, designs, moves_stand, problems
from whirlbench.advise.score import Scorer
from whirlbench.errors import WhirlbenchError
from whirlbench.event.rules import broken
from whirlbench.predict import blades, drivetrain, generator, world
from whirlbench.predict.facts import facts

SAMPLES, KINDS, POPULATION, GENERATIONS = 10, 4, 16, 20
_HOLDS = 0.9  # share of its power that a build must keep when its blades are set a little wrong: many stand on a cliff
LEADERS = 40  # sampled rotors whose drivetrains and generators stay in the race


@dataclass(frozen=True)
class Design:
    """A build as indices and numbers.

    Attributes
    ----------
    kind : int
        Blades and holes, of the workshop's space.
    point : tuple of float
        Their free numbers, 0 to 1.
    generator, train, load : int
        Of the workshop's lists.
    """

    kind: int
    point: tuple
    generator: int
    train: int
    load: int


class Workshop:
    """Everything that a team with a starting build, a bin and an event can make; the firmest stand is free.

    Parameters
    ----------
    start : Turbine
        The starting build.
    parts_bin : PartsBin
        What there is.
    event : Event
        The rules.
    """

    def __init__(self, start, parts_bin, event):
        self.parts_bin, self.event, self.scorer = parts_bin, event, Scorer(event)
        self.start = self._firm(start)
        self.space = designs.space(self.start, parts_bin, event)
        at_hand = chain_choice.chains_at_hand(
            self.start, parts_bin, event, worlds=world.best_estimate(), start_guarantee=0.5, most_thrust=1e9
        )
        self.trains = at_hand.trains
        self.steps = np.array([np.prod([drivetrain.step_up(one) for one in train]) for train in self.trains])
        with_resistors = [one for one in at_hand.supplies if one.loads[0].kind == "resistor"]
        self.generators = [one.generator for one in with_resistors]
        self.loads = sorted(with_resistors[0].loads, key=lambda load: load.resistance)
        self._before = problems.problems(self._worth(self.start))

    def here(self):
        """Return the starting build as a design."""
        kind = next(i for i, one in enumerate(self.space.kinds) if one.own and one.holes == self.start.rotor.holes)
        loads = [one.resistance for one in self.loads]
        return Design(
            kind,
            tuple(designs.now(self.space, self.space.kinds[kind])),
            self.generators.index(self.start.generator),
            self.trains.index(self.start.drivetrain),
            int(np.argmin(np.abs(np.log(loads) - np.log(self.start.load.resistance)))),
        )

    def build(self, design):
        """Return the turbine of a design, or None where the bin cannot make it or it may not be run."""
        try:
            made = designs.build(self.space, self.space.kinds[design.kind], np.array(design.point))
            if made is None:
                return None
            made = made.changed(
                generator=self.generators[design.generator],
                drivetrain=self.trains[design.train],
                load=self.loads[design.load],
            )
            return made if self.legal(made) else None
        except WhirlbenchError:
            return None

    @functools.lru_cache(maxsize=4096)  # noqa: B019 - a workshop lives as long as its study
    def legal(self, turbine):
        """Tell whether a build keeps the rules and brings nothing that may break, by the model's best estimate."""
        worth = self._worth(turbine)
        rules = [rule for rule in broken(self.event, facts(worth.assembly, *worth.predictions)) if "start" not in rule]
        unsafe = problems.change(self._before, problems.problems(worth))[1]
        return bool(worth.stands[0]) and not rules and not any(one.unsafe for one in unsafe)

    def _worth(self, turbine):
        return Scorer(self.event).worth(turbine, world.best_estimate())

    def _firm(self, turbine):
        for family in ("feet", "ballast", "base", "joint"):
            offers = [one for one in moves_stand.moves(turbine, self.parts_bin, self.event) if one.family == family]
            for move in offers:
                if family != "base" or move.turbine.base.width <= (self.event.max_base_width or np.inf) + 1e-9:
                    turbine = move.turbine
        return turbine


def best_reachable(workshop, truth, seed):
    """Best build that bin and rules allow, known to nobody: an optimiser on the truth itself.

    Parameters
    ----------
    workshop : Workshop
        What can be made.
    truth : Hidden
        What it does.
    seed : int
        Of the optimiser.

    Returns
    -------
    tuple of Turbine and float
        The build and its power [W]: of those found the first that holds its power as it is built, or the best before.
    """
    rig = _Rig(workshop, truth)
    looks = []
    for kind, one in enumerate(workshop.space.kinds):
        points = climb.latin_hypercube(SAMPLES, len(one.free), (seed, kind))
        points[0] = designs.now(workshop.space, one)
        looks.extend((*rig.look(kind, point), kind, tuple(point)) for point in points)
    looks.sort(key=lambda look: -look[0])
    rig.only({look[1] for look in looks[:LEADERS]})
    found = []
    for kind in list(dict.fromkeys(look[2] for look in looks))[:KINDS]:
        start = np.array([look[3] for look in looks if look[2] == kind])
        start = np.vstack([start, climb.latin_hypercube(POPULATION - SAMPLES, start.shape[1], (seed, kind, 1))])
        found.extend(_evolved(lambda point, kind=kind: rig.look(kind, point)[0], start, (seed, kind), kind))
    best = workshop.start
    for value, kind, point in sorted(found, key=lambda one: -one[0]):
        turbine = rig.best(kind, np.array(point))
        if turbine is not None and workshop.legal(turbine):
            best = max(best, turbine, key=truth.power)
            if truth.power(turbine) >= _HOLDS * value:
                break
    return best, truth.power(best)


def _evolved(power, start, seed, kind):
    """Yield power, kind and point of a population that has evolved."""
    end = scipy.optimize.differential_evolution(
        lambda point: -power(point),
        [(0.0, 1.0)] * start.shape[1],
        init=start,
        maxiter=GENERATIONS,
        rng=np.random.default_rng(seed),
        polish=False,
        tol=1e-6,
    )
    for energy, point in zip(end.population_energies, end.population, strict=True):
        yield -float(energy), kind, tuple(point)


class _Rig:
    """Drivetrains, generators and resistors on one rotor in the truth."""

    def __init__(self, workshop, truth):
        self.shop, self.truth = workshop, truth
        self.pairs = {number: list(range(len(workshop.trains))) for number in range(len(workshop.generators))}

    def only(self, pairs):
        """Keep the pairs of generator and drivetrain that are named."""
        self.pairs = {number: sorted(train for one, train in pairs if one == number) for number, _ in pairs}

    def look(self, kind, point):
        """Power of the best chain [W], and its generator and drivetrain; 0 where nothing can be made of it."""
        power, chain, _ = self._best(kind, np.array(point))
        return power, chain[:2]

    def best(self, kind, point):
        """Turbine with the best chain, or None."""
        power, (number, train, load), made = self._best(kind, np.array(point))
        if power <= 0:
            return None
        shop = self.shop
        return made.changed(generator=shop.generators[number], drivetrain=shop.trains[train], load=shop.loads[load])

    def _best(self, kind, point):
        shop, truth, nothing = self.shop, self.truth, (0.0, (0, 0, 0), None)
        try:
            made = designs.build(shop.space, shop.space.kinds[kind], point)
            if made is None:
                return nothing
            curve = truth.curve(made)
        except WhirlbenchError:
            return nothing
        mass = made.rotor.blade_count * blades.blade_mass(made.rotor).mass + made.rotor.hub.mass
        best = nothing
        for number, trains in self.pairs.items():
            machine, table = self._behind(number, round(mass, 2))
            power, _ = truth.settled(curve, table[trains], machine, [(load.resistance, 0.0) for load in shop.loads])
            volts = np.sqrt(power * [load.resistance for load in shop.loads])
            power = np.where(volts <= (shop.event.max_voltage or np.inf), power, 0.0)
            row, load = np.unravel_index(np.argmax(power), power.shape)
            if power[row, load] > best[0]:
                best = float(power[row, load]), (number, trains[row], int(load)), made
        return best

    @functools.lru_cache(maxsize=1024)  # noqa: B019 - a rig lives for one search
    def _behind(self, number, mass):
        """Machine, and all drivetrains as straight lines, for a rotor of some mass."""
        shop, part = self.shop, self.shop.generators[number]
        worlds = self.truth.worlds(shop.start.changed(generator=part))
        data = generator.generator_data(part)
        machine = self.truth.machine(generator.machine(data, part.rectifier, shop.loads[0], worlds))
        trains = [
            drivetrain.train(shop.start.changed(generator=part, drivetrain=one), mass, worlds) for one in shop.trains
        ]
        return machine, np.array([(one.step_up, *self.truth.lines(one)) for one in trains])
