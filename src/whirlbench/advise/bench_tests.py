"""Measurements that a team can make, and what each would read in every believed world."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench import tables, units
from whirlbench.physics.base import GRAVITY
from whirlbench.predict import balance, generator
from whirlbench.predict import turbine as whole
from whirlbench.predict.loads import runaway
from whirlbench.predict.operating import operating
from whirlbench.predict.world import MEANING

_MODEL_DOUBT = 0.03  # what a steady model misses even with the right factors, relative: judgement
_RPM = 60 / (2 * np.pi)
_DRILL = 1000 / _RPM  # [rad/s]
_BAR_MASS, _BAR_LENGTH, _BAR_SPEED = 0.1, 0.3, 200 / _RPM  # flywheel in place of the blades [kg], [m], [rad/s]
_PULL = 2.0  # [N] sideways on the tower top
_STILL = 0.02  # a rotor at rest counts as this share of the greatest reading
_APART = 3.0  # further resistors to try are about this many times smaller and larger
_BUILDS = 4
_MOST_SCATTER = 1.25  # by which a build may miss its drawing in power
_VOLTS_AND_RPM = (("the voltage at the load", "V"), ("the rotor speed", "rpm"))


@dataclass(frozen=True)
class BenchTest:
    """One measurement, and what it would read in every world.

    Attributes
    ----------
    kind : str
        Row of the table of test efforts.
    measure : str
        What to do.
    narrows : str
        What it tells, in plain words.
    reads : tuple of (str, str)
        Name and unit of each reading.
    predicted : array, shape (n, q)
        Logarithm of each reading in its unit.
    doubt : array, shape (q,)
        Relative standard uncertainty of each, what the model misses included.
    minutes : float
        Work: common practice.
    change : str
        The move that has to be built for it; empty for a measurement.
    """

    kind: str
    measure: str
    narrows: str
    reads: tuple
    predicted: np.ndarray
    doubt: np.ndarray
    minutes: float
    change: str = ""

    @property
    def build(self):
        """Whether something has to be built for it."""
        return bool(self.change)


def bench_tests(now, resistances=()):
    """Measurements on the turbine as it is.

    Parameters
    ----------
    now : Worth
        The turbine in every world.
    resistances : sequence of float
        Resistors at hand [ohm].

    Returns
    -------
    tuple of BenchTest
        Those whose reading differs between the worlds.
    """
    makers = (_generator_tests, _friction_tests, _stand_tests, _wind_tests, _running_tests)
    return _telling(test for maker in makers for test in maker(now, list(resistances)))


def build_tests(ranked, now=None):
    """The best few moves as tests: build it and read it.

    Parameters
    ----------
    ranked : sequence of Valued
        Best first.
    now : Worth, optional
        The turbine before them: tells by how much each build is taken to miss its drawing.

    Returns
    -------
    tuple of BenchTest
        One a move.
    """
    return _telling(_build(one, now) for one in ranked[:_BUILDS])


def _telling(tests):
    return tuple(test for test in tests if test.predicted.std(axis=0).max() > 1e-9)


def _test(kind, measure, narrows, reads, *, values, extra=0.0, move=None):
    """Test from its readings in the instruments' units, one array of shape (n,) or (n, 1) each."""
    row = tables.load("moves/test_effort").find(kind=kind)
    doubt = np.full(len(reads), np.sqrt(row.doubt**2 + _MODEL_DOUBT**2 + extra**2))
    columns = [np.asarray(value, dtype=float).reshape(-1) for value in values]
    logs = [np.log(np.maximum(column, max(_STILL * column.max(), 1e-12))) for column in columns]
    minutes, change = row.minutes + (move.minutes if move else 0.0), move.change if move else ""
    return BenchTest(kind, measure, narrows, reads, np.column_stack(logs), doubt, minutes, change)


def _generator_tests(now, resistances):
    machine, current = now.assembly.machine, generator.generator_data(now.assembly.turbine.generator).current
    peak = 1.0 if current == "dc" else np.sqrt(2.0)  # a meter shows alternating volts as their effective value
    yield _test(
        "open volts",
        "turn the generator alone with a drill at 1000 rpm and three other speeds, read the open volts",
        MEANING["emf"],
        (("the open-circuit voltage at 1000 rpm", "V"),),
        values=[machine.emf_constant * _DRILL / peak],
    )
    winding = machine.circuit.winding_resistance
    ohms = _nearest(resistances or [10.0], float(np.ravel(winding)[0]))
    yield _test(
        "loaded volts",
        f"turn the generator steadily with a drill, read the volts with nothing connected and with "
        f"{units.plain(ohms, 'ohm')}",
        MEANING["resistance"],
        (("the loaded voltage as a share of the open-circuit voltage", "%"),),
        values=[100 * ohms / (ohms + winding)],
    )


def _friction_tests(now, _):
    assembly = now.assembly
    train, machine, turbine = assembly.train, assembly.machine, assembly.turbine
    inertia = _BAR_MASS * _BAR_LENGTH**2 / 12 + train.step_up**2 * machine.inertia
    halfway = machine.viscous * train.step_up * _BAR_SPEED / 2
    yield _test(
        "spin-down",
        f"put a straight bar of {1000 * _BAR_MASS:.0f} g and {1000 * _BAR_LENGTH:.0f} mm in place of the blades, load "
        f"off, fan off, spin it to {_BAR_SPEED * _RPM:.0f} rpm and time how long it takes to stop",
        MEANING["friction"],
        (("the time to stop", "s"),),
        values=[inertia * _BAR_SPEED / train.upstream(machine.friction + halfway)],
    )
    share, left = _start_share(turbine)
    torque = train.breakaway(machine.breakaway) * assembly.worlds.factor("start") ** share
    yield _test(
        "breakaway",
        "wind a thread around the hub, hang coins on it until the rotor just turns, at six positions, and weigh them",
        MEANING["start"],
        (("the mass that turns it", "g"),),
        values=[1000 * torque / (GRAVITY * turbine.rotor.hub.radius)],
        extra=left,
    )
    start = whole.start_wind(assembly, now.predictions[-1])
    yield _test(
        "start wind",
        "bring the wind up slowly from nothing, three times, and note the wind at which the rotor breaks away",
        MEANING["start"],
        (("the wind at which it starts", "m/s"),),
        values=[np.minimum(start, 10 * now.predictions[-1].wind_speed)],
    )


def _start_share(turbine):
    """Share of the factor ``start`` that a breakaway torque shows, and the doubt that the other part leaves in it."""
    own, both = generator.generator_data(turbine.generator).breakaway.relative, whole.priors(turbine).sigma("start")
    share = (own / both) ** 2
    return share, own * np.sqrt(max(0.0, 1.0 - share))


def _stand_tests(now, _):
    stand, worlds = now.assembly.stand, now.assembly.worlds
    turn = _PULL * stand.height / (stand.joint.number * worlds.factor("joint")) + stand.free_play
    way = _PULL * stand.height**3 / (3 * stand.bending_stiffness) + turn * stand.height
    yield _test(
        "tower pull",
        f"pull the tower top sideways with {_PULL:g} N ({1000 * _PULL / GRAVITY:.0f} g over a pulley) and measure how "
        "far it goes",
        MEANING["joint"],
        (("the way of the tower top", "mm"),),
        values=[1000 * way],
    )
    if not stand.held:
        yield _test(
            "tilt",
            "put the base on a board of the same floor and tilt the board until the base slides",
            MEANING["grip"],
            (("the angle at which it slides", "deg"),),
            values=[np.degrees(np.arctan(stand.grip.number * worlds.factor("grip")))],
        )


def _wind_tests(now, _):
    speed, part = now.predictions[-1].wind_speed, now.assembly.turbine.wind
    mapped = part.kind == "fan" and part.rings
    yield _test(
        "wind map",
        "take the turbine away and read the wind in four rings of equal area across the rotor disc"
        + (", with another anemometer than before" if mapped else ""),
        MEANING["wind"],
        (("the cube mean of the wind over the disc", "m/s"),),
        values=[speed * now.assembly.worlds.factor("wind")],
    )


def _running_tests(now, resistances):
    assembly, found = now.assembly, now.predictions[-1]
    place = f"in the wind of {found.wind_speed:.2g} m/s"
    push = "" if now.starts[0] else ", after a push"
    yield _test(
        "free speed",
        f"take the load off (write open for its ohms), stand clear, read the free-running rpm {place}{push}",
        MEANING["drag"],
        (("the free-running speed", "rpm"),),
        values=[runaway(assembly, found.curve).of(found.curve.speed) * _RPM],
    )
    for one in {now.predictions[0].wind_speed: now.predictions[0], found.wind_speed: found}.values():
        for ohms in _few(assembly.turbine.load, resistances):
            state = _with_resistor(assembly, one, ohms, pushed=bool(push))
            load = "the load as it is" if ohms is None else units.plain(ohms, "ohm")
            yield _test(
                "reading",
                f"read volts and rpm of the turbine as it is with {load} in the wind of {one.wind_speed:.2g} m/s{push}",
                f"how it runs with {load}",
                _VOLTS_AND_RPM,
                values=[state.voltage, state.rotor_speed * _RPM],
            )


def _build(one, now):
    """Volts and rpm after a move; what the build misses of its drawing shows in the volts."""
    found, worth = one.worth.predictions[-1], one.worth
    state = found.rest if worth.starts[0] else found.pushed
    scatter = 1.0
    if now is not None:
        ratio = np.where(worth.power > 0, (one.gain + now.power) / np.maximum(worth.power, 1e-12), 1.0)
        scatter = np.clip(ratio, 1 / _MOST_SCATTER, _MOST_SCATTER)
    push = "" if worth.starts[0] else ", after a push"
    return _test(
        "reading",
        f"try it: {one.move.change}, then read volts and rpm in the wind of {found.wind_speed:.2g} m/s{push}",
        "the change itself",
        _VOLTS_AND_RPM,
        values=[state.voltage * np.sqrt(scatter), state.rotor_speed * _RPM],
        move=one.move,
    )


def _few(load, resistances):
    """The load as it is, and about a third and three times of it where there are such resistors."""
    if load.kind != "resistor" or load.resistance <= 0 or not resistances:
        return [None]
    others = (_nearest(resistances, load.resistance * times) for times in (1 / _APART, _APART))
    return [None, *dict.fromkeys(ohms for ohms in others if ohms != load.resistance)]


def _nearest(resistances, wanted):
    positive = [ohms for ohms in resistances if ohms > 0] or [10.0]
    return min(positive, key=lambda ohms: abs(np.log(ohms / wanted)))


def _with_resistor(assembly, prediction, ohms, *, pushed):
    """State of the turbine with another resistor; None keeps its load."""
    if ohms is None:
        return prediction.pushed if pushed else prediction.rest
    circuit = replace(assembly.machine.circuit, load_resistance=ohms, load_threshold=0.0)
    machine, train, curve = replace(assembly.machine, circuit=circuit), assembly.train, prediction.curve
    spot = balance.from_rest(curve, train, machine, 1.0 / assembly.worlds.factor("start"))
    if pushed:
        spot = balance.faster(curve, spot, balance.fastest(curve, train, machine))
    return operating(curve, spot, train, machine)
