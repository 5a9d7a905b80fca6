"""Every drivetrain, generator and load at hand, and the best of them for a rotor, best estimate only."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.advise import moves_drivetrain, moves_electric
from whirlbench.advise.problems import LED_CURRENT
from whirlbench.advise.score import fresh_worlds
from whirlbench.parts.load import Resistor
from whirlbench.physics import bearings
from whirlbench.physics.base import GRAVITY
from whirlbench.physics.rotor_kernel import RUNNING, STARTING
from whirlbench.predict import chains, drivetrain, generator, world
from whirlbench.predict.facts import generator_name

_SAFE_SIDE = 0.015  # added to the chance of a start that is asked for: the margin here is a little rough
_CAREFUL = 0.95  # of the amps that LEDs bear


@dataclass(frozen=True)
class Supply:
    """One generator with resistors, or with one string of LEDs.

    Attributes
    ----------
    generator : CatalogueGenerator, MeasuredGenerator or WoundGenerator
        The part.
    loads : tuple of Resistor or Leds
        What it may feed.
    machine : Machine
        Best estimate.
    resistances, most_amps : array, shape (r,)
        Of the loads, and what they bear [ohm], [A].
    trains : array of int, shape (k,)
        Which of the drivetrains to try with it.
    margin : float
        Standstill torque over breakaway torque that makes a start as likely as asked for [-].
    friction, hold : float
        Best estimate of the factors on friction and on what holds the rotor at rest [-].
    """

    generator: object
    loads: tuple
    machine: object
    resistances: np.ndarray
    most_amps: np.ndarray
    trains: np.ndarray
    margin: float
    friction: float
    hold: float


@dataclass(frozen=True)
class Chains:
    """Everything behind the rotor that a turbine may have.

    Attributes
    ----------
    bearing : Bearing
        Of the rotor.
    trains : tuple of tuple of stages
        Drivetrains.
    table : TrainTable
        The same as straight lines, without the rotor's own bearing.
    pulls : array, shape (k,)
        Belt pull on that bearing [N].
    supplies : tuple of Supply
        Generators with their loads.
    must_start : bool
        It has to start by itself.
    most_volts, most_thrust : float
        What the event, and the firmest stand, allow [V], [N].
    """

    bearing: object
    trains: tuple
    table: object
    pulls: np.ndarray
    supplies: tuple
    must_start: bool
    most_volts: float
    most_thrust: float

    def only(self, chosen):
        """Return the same with few drivetrains and loads.

        Parameters
        ----------
        chosen : set of (supply, train, load)
            Indices of chains to be kept.

        Returns
        -------
        Chains
            For every generator all pairs of its chosen drivetrains and loads. Numbers of drivetrains stay.
        """
        kept = []
        for number, one in enumerate(self.supplies):
            mine = [(train, load) for supply, train, load in chosen if supply == number]
            if mine:
                trains, loads = (sorted({pair[end] for pair in mine}) for end in (0, 1))
                some = tuple(one.loads[load] for load in loads)
                numbers = {"resistances": one.resistances[loads], "most_amps": one.most_amps[loads]}
                kept.append(replace(one, trains=np.array(trains), loads=some, **numbers))
        return replace(self, supplies=tuple(kept))


def chains_at_hand(turbine, parts_bin, event, *, worlds, start_guarantee, most_thrust):
    """Everything behind the rotor that a turbine may have.

    Parameters
    ----------
    turbine : Turbine
        The turbine now, its load settled.
    parts_bin : PartsBin
        What there is to build from.
    event : Event or None
        Allowed generators and volts.
    worlds : Worlds
        Belief about the turbine now.
    start_guarantee : float
        Least chance of a start [-].
    most_thrust : float
        What the firmest stand bears [N].

    Returns
    -------
    Chains
        Own parts first.
    """
    trains = moves_drivetrain.trains(turbine, parts_bin)
    best = world.best_estimate()
    numbers = [drivetrain.train(turbine.changed(drivetrain=one), 0.0, best) for one in trains]
    bare = [replace(one, friction=0 * one.friction, start_friction=0 * one.start_friction) for one in numbers]
    pulls = [2 * one[0].tension if one and one[0].kind == "belt" else 0.0 for one in trains]
    return Chains(
        bearing=turbine.bearing,
        trains=trains,
        table=chains.train_table(bare),
        pulls=np.array(pulls),
        supplies=tuple(
            _supplies(
                turbine, parts_bin, event, train_count=len(trains), worlds=worlds, start_guarantee=start_guarantee
            )
        ),
        must_start=event is None or event.must_start,
        most_volts=event.max_voltage if event is not None and event.max_voltage else np.inf,
        most_thrust=most_thrust,
    )


def scored(choice, curves, rotor_mass):
    """Power of every chain on one rotor, averaged over the scored winds.

    Parameters
    ----------
    choice : Chains
        What to try.
    curves : sequence of sequence of MetCurve
        For each scored wind the best estimate first, then others to average over.
    rotor_mass : float
        Hub and blades [kg].

    Returns
    -------
    tuple of list of array, and float
        For every supply watts of shape (k, r): negative where a start is too unlikely, volts or amps too many or the
        push too strong. And the best readiness: share of the start margin that the readiest chain has, at most 1.
    """
    friction = np.zeros(len(choice.pulls))
    for pull in set(choice.pulls):
        load = drivetrain.OVERHANG * rotor_mass * GRAVITY + pull
        friction[choice.pulls == pull] = drivetrain.bearing_friction(choice.bearing, load).number
    found, ready = [], 0.0
    for supply in choice.supplies:
        table = _some(choice.table, friction * supply.friction, supply)
        watts = np.full((len(supply.trains), len(supply.loads)), -1.0)
        sure = np.ones(len(supply.trains), dtype=bool)
        if choice.must_start:
            margin = np.min([chains.start_margin(curve[0], table, supply.machine) for curve in curves], axis=0)
            sure, ready = margin >= supply.margin, max(ready, float(margin.max()) / supply.margin)
        if sure.any():  # the others need not be looked at
            watts[sure] = _watts(choice, supply, curves, _rows(table, sure))
        found.append(watts)
    return found, min(ready, 1.0)


def start_margin(worlds, start_guarantee):
    """Torque at rest over what breaking away takes, best estimate, that makes a start as likely as asked for.

    Parameters
    ----------
    worlds : Worlds
        Believed worlds, the best estimate first.
    start_guarantee : float
        Least chance of a start [-].

    Returns
    -------
    float
        [-].
    """
    hold = (worlds.factor("start") * worlds.factor("friction") / worlds.factor("wind") ** 2)[:, 0]
    return float(np.quantile(hold, min(start_guarantee + _SAFE_SIDE, 1.0)) / hold[0])


def _watts(choice, supply, curves, table):
    """Mean power over scored winds and believed rotors [W]; -1 where volts, amps or push are too much."""
    branch, powers, fits = STARTING if choice.must_start else RUNNING, [], True
    for curve in curves:
        ones = [
            chains.settled(met, table, supply.machine, supply.resistances, pushed=not choice.must_start)
            for met in curve
        ]
        powers.extend(one.power for one in ones)
        thrust = np.interp(ones[0].speed, curve[0].speed[branch, 0], curve[0].thrust[branch, 0])
        fits = fits & (ones[0].power * supply.resistances <= choice.most_volts**2) & (thrust <= choice.most_thrust)
        fits = fits & (_amps(supply, ones[0].power) <= supply.most_amps)
    return np.where(fits, np.mean(powers, axis=0), -1.0)


def _amps(supply, power):
    """Current that brings a power into loads of a resistance behind a threshold."""
    threshold = supply.machine.circuit.load_threshold
    return 2 * power / np.maximum(threshold + np.sqrt(threshold**2 + 4 * supply.resistances * power), 1e-12)


def _rows(table, chosen):
    names = ("step_up", "gain", "offset", "start_gain", "start_offset")
    return chains.TrainTable(*(getattr(table, name)[chosen] for name in names))


def _some(table, friction, supply):
    """Lines of the drivetrains of a supply with the rotor's bearing before them."""
    chosen, hold = supply.trains, supply.hold
    running = friction[chosen, None]
    return chains.TrainTable(
        table.step_up[chosen],
        table.gain[chosen],
        table.offset[chosen] + running,
        hold * table.start_gain[chosen],
        hold * (table.start_offset[chosen] + bearings.START_UP.number * running),
    )


def _supplies(turbine, parts_bin, event, *, train_count, worlds, start_guarantee):
    named = event.allowed_generators if event is not None else ()
    resistors = [Resistor(resistance=value) for value in moves_electric.resistances(parts_bin)]
    loads = [*([turbine.load] if turbine.load.kind == "resistor" else ()), *resistors]
    strings = dict.fromkeys([*([turbine.load] if turbine.load.kind == "leds" else ()), *parts_bin.leds])
    for part in dict.fromkeys((turbine.generator, *parts_bin.generators)):
        if named and generator_name(part) not in named:
            continue
        new = turbine.changed(generator=part, load=loads[0] if loads else Resistor(resistance=10.0))
        believed = _believed(worlds, turbine, new)
        best = believed.only([0])
        first = {name: float(best.factor(name)[0, 0]) for name in ("friction", "start")}
        margin = start_margin(believed, start_guarantee)
        groups = [tuple(dict.fromkeys(loads)), *((string,) for string in strings if moves_electric.feeds_leds(part))]
        for group in filter(None, groups):
            machine = generator.machine(generator.generator_data(part), part.rectifier, group[0], best)
            ohms = np.array([generator.load_numbers(load)[0] for load in group])
            amps, every = np.array([_most_amps(load) for load in group]), np.arange(train_count)
            yield Supply(part, group, machine, ohms, amps, every, margin, first["friction"], first["start"])


def _most_amps(load):
    return _CAREFUL * LED_CURRENT * load.in_parallel if load.kind == "leds" else np.inf


def _believed(worlds, turbine, new):
    """Worlds in which a new generator is one that nobody has read."""
    if new.generator == turbine.generator:
        return worlds
    move = moves_electric.exchange(turbine, new.generator)
    return fresh_worlds(worlds, new, move.fresh, move.family)
