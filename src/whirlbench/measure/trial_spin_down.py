"""Bench test of the rotor shaft's bearings: a known bar slows down by itself."""

import math

import numpy as np

from whirlbench.measure.regression import straight_line
from whirlbench.measure.trial import Column, Fact, Found, Result, Trial, several, written
from whirlbench.measure.trial_doubt import TACHOMETER, doubted, meter_doubt
from whirlbench.measure.uncertainty import from_limit
from whirlbench.physics.bearings import spin_down_friction, spin_down_torque
from whirlbench.units import show
from whirlbench.value import Value

_SCALE, _RULER = 0.5e-3, 1e-3  # limits of error of a kitchen scale [kg] and a ruler [m]: judgement
_STRAIGHT = 0.15  # of the mean torque that may belong to speed before it is told


def _inertia(filled, built):
    """Moment of inertia of bar and hub, with the doubt of scale and ruler."""
    mass, length = filled["bar mass"], filled["bar length"]
    hub = built.turbine.rotor.hub
    bar = mass * length**2 / 12
    disc = hub.mass * hub.radius**2 / 2
    relative = math.hypot(from_limit(_SCALE) / mass, 2 * from_limit(_RULER) / length)
    return Value(bar + disc, math.hypot(bar * relative, disc / 3), "bar m L^2/12 and hub m r^2/2")


def _spin_down(filled, built):
    several(filled, 5, "speeds while it slows down")
    order = np.argsort(filled["time"])
    times, speeds = filled["time"][order], filled["speed"][order]
    inertia = _inertia(filled, built)
    parts = spin_down_friction(times, speeds, inertia.number)
    moving = speeds > 0
    line = straight_line(times[moving], speeds[moving])
    torque = Value(
        float(spin_down_torque(inertia.number, -line.coefficients[1])),
        float(inertia.number * line.sigmas[1]),
    )
    shared = [inertia.relative, meter_doubt(filled, "speed meter", speeds[moving])]
    source = f"bench test spin-down, {int(moving.sum())} speeds"
    value = doubted(torque, freedom=line.freedom, shared=shared, source=source)
    changes = {("bearing", "kind"): "measured", ("bearing", "friction"): written(value, "mN*m")}
    found = Found("running friction of the rotor shaft's bearings", value, "mN*m", "N*m")
    share = parts.viscous.number * float(speeds[moving].mean()) / value.number
    sentences = ()
    if share > _STRAIGHT:
        low, high = (show(speeds[moving][place], "rpm", 2) for place in (-1, 0))
        sentences = (
            f"Of this, {100 * min(share, 1):.0f} % grows with speed (grease, or air on the bar): the number holds in "
            f"the middle between {low} and {high}.",
        )
    return Result((found,), changes, sentences)


SPIN_DOWN = Trial(
    name="spin-down",
    title="A bar on the rotor shaft slows down by itself",
    tells="the running friction of the rotor shaft's bearings",
    minutes=20,
    needs=(
        "a straight bar of about 100 g and 300 mm with a hole in its middle, weighed and measured",
        "a tachometer that follows quickly, or a slow-motion video with a mark on the bar",
        "a stopwatch or the video's own clock",
    ),
    steps=(
        "Take the blades off. Take the gears, the belt or the generator off, so that only the shaft in its bearings "
        "turns.",
        "Fix the bar by its middle where the blades sit, edge to the air, screwed so that it cannot fly off.",
        "Spin it to about the speed that the rotor runs at, let go, step back.",
        "Write time and speed ten times or more, until it is down to a fifth of where it began.",
        "Do it three times, and keep the record that ran freest of knocks.",
    ),
    cautions=(
        "A bar that comes loose hits hard: screw it on, stay out of its plane, goggles on, nobody within its reach.",
        "Never stop the bar by hand.",
    ),
    formula="Friction torque = moment of inertia x speed lost per second: the slope of the straight line through speed "
    "over time. A bar has mass x length x length / 12; the hub adds half its mass times radius squared.",
    facts=(
        Fact("bar mass", "g", "kg", hint="weighed"),
        Fact("bar length", "mm", "m", hint="end to end"),
        TACHOMETER,
    ),
    columns=(Column("time", "s", "s"), Column("speed", "rpm", "rad/s")),
    evaluate=_spin_down,
    rows=12,
)
