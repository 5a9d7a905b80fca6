"""Bench tests of a generator: volts per speed, winding resistance, running friction, breakaway torque."""

import numpy as np

from whirlbench.errors import within
from whirlbench.measure.regression import straight_line
from whirlbench.measure.trial import Column, Fact, Found, Result, Trial, every, several, written
from whirlbench.measure.trial_doubt import (
    AMMETER,
    TACHOMETER,
    VOLTMETER,
    doubted,
    meter_doubt,
    strange_line,
    widened,
)
from whirlbench.measure.uncertainty import from_limit
from whirlbench.physics import bench
from whirlbench.units import show
from whirlbench.value import Value

_NOISE = 2.0  # standard uncertainties that a height at zero must exceed to be told
_WELL_KNOWN = 0.03  # relative doubt of volts per speed that asks for no better
_SCATTERED = 2.0  # times what the voltmeter allows
_CALLIPER = 0.5e-3  # [m] limit of error of a pulley's radius with its thread: judgement
_DRILL = (
    "Clamp the motor and the drill to the table, never hold either in the hand while it turns.",
    "Long hair, cords, sleeves and gloves stay away from the chuck. Goggles on.",
    "Take the rotor's blades off first.",
)
_HOT = "Resistors and motor windings get hot within seconds: load for a few seconds, read, take the load away."


def _shaft(name="speed"):
    return Column(name, "rpm", "rad/s")


def _open_volts(filled, built):
    several(filled, 4, "open-circuit readings")
    speed, volts = filled["speed"], filled["voltage"]
    shared = [meter_doubt(filled, "voltmeter", volts), meter_doubt(filled, "speed meter", speed)]
    peak = np.sqrt(2.0) if filled["current"] == "ac" else 1.0
    source = f"bench test open-volts, {len(filled)} readings"
    fitted = bench.emf_constant(speed, peak * volts)
    value = doubted(fitted, freedom=len(filled) - 2, shared=shared, source=source)
    changes = {("generator", "emf_constant"): written(value, "V/krpm"), ("generator", "current"): filled["current"]}
    line = straight_line(speed, volts)
    height, doubt = line.coefficients[0], line.sigmas[0]
    sentences = [strange_line(filled, [np.ones(len(filled)), speed], volts)]
    if abs(height) > _NOISE * max(doubt, 1e-9 * volts.max()):
        sentences.append(
            f"The line misses zero by {show(height, 'V', 2)}: look for a diode in the circuit or the meter's zero."
        )
    found = Found("volts per speed" + (" (peak)" if peak > 1 else ""), value, "V/krpm", "V*s/rad")
    return Result((found,), changes, tuple(filter(None, sentences)))


def _loaded_volts(filled, built):
    several(filled, 2, "loads")
    opened, loaded, load = filled["open voltage"], filled["loaded voltage"], filled["load"]
    within("loaded volts", loaded, low=1e-6, high=1e3, unit="V", try_="take a load that leaves volts to be read")
    within("open over loaded volts", opened / loaded, low=1, high=1e4, unit="", try_="read both at the same speed")
    within("load", load, low=0.01, high=1e6, unit="ohm", try_="read the load with the generator away")
    share = meter_doubt(filled, "voltmeter", loaded)
    value, scatter = _winding(opened, loaded, load, meter_share=share, brush_drop=built.brush_drop)
    source = f"bench test loaded-volts, {len(filled)} loads"
    value = Value(value.number, value.sigma, source)
    sentences = []
    if (loaded > 0.9 * opened).all():
        sentences.append("Every load moved the volts by less than a tenth: a smaller resistor would tell much more.")
    if scatter > _SCATTERED:
        sentences.append(
            f"The loads disagree {scatter:.1f} times more than the voltmeter allows: was the speed the same with and "
            "without each load?"
        )
    found = Found("winding resistance, leads included", value, "ohm", "ohm")
    return Result((found,), {("generator", "resistance"): written(value, "ohm")}, tuple(sentences))


def _winding(opened, loaded, load, *, meter_share, brush_drop):
    """Winding resistance, and the scatter of the loads over what the meter allows.

    Volts lost = resistance times current + volts lost at the brushes; what is believed of these stands as one row
    more, so that few loads do not have to tell both.
    """
    lost, current = opened - loaded, loaded / load
    sigma = meter_share * np.hypot(opened, loaded)
    rows = np.column_stack([current, np.ones_like(current)]) / sigma[:, None]
    wanted = lost / sigma
    if brush_drop.sigma:
        rows = np.vstack([rows, [0.0, 1.0 / brush_drop.sigma]])
        wanted = np.append(wanted, brush_drop.number / brush_drop.sigma)
    else:
        rows = rows[:, :1]
    covariance = np.linalg.inv(rows.T @ rows)
    best = covariance @ rows.T @ wanted
    rest = (wanted - rows @ best)[: len(load)]
    freedom = max(len(load) - 1, 1)
    scatter = max(1.0, float(np.sqrt(rest @ rest / freedom)))
    factor = scatter * widened(freedom) if scatter > 1 else 1.0
    return Value(float(best[0]), factor * float(np.sqrt(covariance[0, 0]))), scatter


def _no_load_current(filled, built):
    several(filled, 3, "runs as a motor")
    volts, amps = filled["voltage"], filled["current"]
    emf, winding = built.emf_constant, built.resistance
    shared = [emf.relative, meter_doubt(filled, "ammeter", amps)]
    fit = bench.running_friction(
        volts - built.brush_drop.number,
        amps,
        emf_constant=emf.number,
        winding_resistance=winding.number,
        generator_speed=every(filled, "speed"),
    )
    source = f"bench test no-load-current, {len(filled)} runs"
    freedom = len(filled) - 2
    friction = doubted(fit.coulomb, freedom=freedom, shared=shared, source=source)
    viscous = doubted(fit.viscous, freedom=freedom, shared=shared, source=source)
    changes = {
        ("generator", "friction"): written(friction, "mN*m"),
        ("generator", "viscous"): show(viscous.number, "uN*m*s/rad", 4),
    }
    found = (
        Found("running friction", friction, "mN*m", "N*m"),
        Found("friction that grows with speed", viscous, "uN*m*s/rad", "N*m*s/rad"),
    )
    sentences = [strange_line(filled, [np.ones(len(filled)), volts], amps)]
    if emf.relative > _WELL_KNOWN:
        sentences.append(
            f"The volts per speed behind it are known to {100 * emf.relative:.1g} % only: the test open-volts first "
            "makes this one sharper."
        )
    if not viscous.number:
        sentences.append("These runs cannot tell friction that grows with speed from noise; it is taken as none.")
    return Result(found, changes, tuple(filter(None, sentences)))


def _breakaway(filled, built):
    several(filled, 3, "positions of the shaft")
    radius = filled["pulley radius"]
    fitted = bench.breakaway_torque(filled["mass"], radius)
    source = f"bench test breakaway, {len(filled)} positions"
    value = doubted(fitted, freedom=len(filled) - 1, shared=[from_limit(_CALLIPER) / radius], source=source)
    sentences = ()
    if fitted.relative > 0.25:
        sentences = ("The shaft catches at some positions far more than at others: that is the magnets' cogging.",)
    found = Found("breakaway torque, with its spread over positions", value, "mN*m", "N*m")
    return Result((found,), {("generator", "breakaway"): written(value, "mN*m")}, sentences)


OPEN_VOLTS = Trial(
    name="open-volts",
    title="Volts of the generator at several speeds",
    tells="the generator's volts per speed",
    minutes=20,
    needs=(
        "a drill or lathe with a steady speed, clamped to the table",
        "an optical tachometer, or a stroboscope",
        "a voltmeter on the lowest range that holds the reading",
        "a short piece of tube that joins chuck and generator shaft",
    ),
    steps=(
        "Join the generator's shaft to the drill and clamp both in line. Nothing is connected but the voltmeter.",
        "Tick dc, or ac for a stepper or a hand-wound generator without diodes.",
        "Turn at a slow, steady speed. Wait until rpm and volts stand still, then read both at the same moment.",
        "Repeat at six or more speeds, spread evenly up to the fastest that the rotor will ever drive it.",
        "Turn the other way once: the volts change their sign and must keep their size.",
    ),
    cautions=_DRILL,
    formula="Volts divided by speed: the slope of the straight line through all readings. It goes through zero unless "
    "the readings clearly say otherwise. An ac meter shows the effective volts; times 1.414 they are the peak.",
    facts=(
        Fact("current", choices=("dc", "ac"), default="dc", hint="what the generator gives"),
        VOLTMETER,
        TACHOMETER,
    ),
    columns=(_shaft(), Column("voltage", "V", "V")),
    evaluate=_open_volts,
)
LOADED_VOLTS = Trial(
    name="loaded-volts",
    title="Volts of the generator without and with a load",
    tells="the generator's resistance as the load meets it",
    minutes=15,
    needs=(
        "a drill or lathe with a steady speed, clamped to the table",
        "a voltmeter",
        "three or more resistors near the resistance you expect, 1 W or more, measured with an ohmmeter",
    ),
    steps=(
        "Turn the generator at one steady speed. Read the volts with nothing connected.",
        "Connect a resistor, wait for the drill to come back to its speed, read the volts, take the resistor away.",
        "Read the open volts again; if they moved by more than 1 %, repeat the row.",
        "Go on with the next resistor. Those near the generator's own resistance tell most.",
    ),
    cautions=(*_DRILL, _HOT),
    formula="Volts lost (open less loaded) = resistance x current + some hundredths of a volt at the brushes, where "
    "current = loaded volts / load. Loads that pull the volts down far tell most.",
    facts=(VOLTMETER,),
    columns=(Column("open voltage", "V", "V"), Column("loaded voltage", "V", "V"), Column("load", "ohm", "ohm")),
    evaluate=_loaded_volts,
    rows=6,
)
NO_LOAD_CURRENT = Trial(
    name="no-load-current",
    title="Current of the generator run as a motor",
    tells="the generator's running friction",
    minutes=15,
    needs=(
        "batteries or a bench supply, from a fifth of the motor's rated volts up to all of them",
        "a voltmeter and an ammeter",
        "a tachometer, if you have one (else the speed is worked out)",
    ),
    steps=(
        "Do the tests open-volts and loaded-volts first: this one stands on both.",
        "Take gears, belt and blades away, so that the bare shaft turns. Let it run for a minute to warm its grease.",
        "Run it at a low voltage; read volts at its terminals and amps once both stand still.",
        "Repeat at six or more voltages, up and then down again.",
    ),
    cautions=(
        "Clamp the motor. A bare shaft still winds up hair and thread. Goggles on.",
        "Batteries and wires get hot if the leads touch: switch off before you change a wire.",
    ),
    formula="Friction torque = volts per speed times current, at the speed (volts - brushes - current x resistance) / "
    "volts per speed. A straight line through torque and speed parts steady friction from what grows with speed.",
    facts=(VOLTMETER, AMMETER),
    columns=(Column("voltage", "V", "V"), Column("current", "mA", "A"), Column("speed", "rpm", "rad/s", needed=False)),
    evaluate=_no_load_current,
)
BREAKAWAY = Trial(
    name="breakaway",
    title="Mass on a thread that just turns the generator",
    tells="what it takes to break the generator away from rest, which sets the wind it starts in",
    minutes=15,
    needs=(
        "a small pulley or spool on the generator's shaft, and a calliper",
        "thread and a paper cup",
        "small masses: coins, washers or rice, and a scale",
    ),
    steps=(
        "Clamp the generator with its shaft level at the table's edge. Nothing is connected to its wires.",
        "Measure the pulley's radius to the middle of the thread.",
        "Add mass to the cup, a little at a time and without jerks, until the shaft turns by itself.",
        "Weigh cup and content. Turn the shaft on by about a sixth of a turn and repeat, six times or more.",
    ),
    cautions=("Small masses fall: put a tray below, and keep feet and small children away from it.",),
    formula="Torque = mass x 9.807 m/s2 x radius. The spread over the positions stays in the doubt, because the rotor "
    "will come to rest anywhere.",
    facts=(Fact("pulley radius", "mm", "m", hint="to the middle of the thread"),),
    columns=(Column("mass", "g", "kg"),),
    evaluate=_breakaway,
)
