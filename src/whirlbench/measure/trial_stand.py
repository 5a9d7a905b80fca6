"""Bench tests of what holds the turbine up: the joint at the tower's foot, and the base on its floor."""

import math

import numpy as np

from whirlbench.errors import InputError
from whirlbench.measure.regression import straight_line
from whirlbench.measure.trial import Column, Fact, Found, Result, Trial, several, written
from whirlbench.measure.trial_doubt import doubted, strange_line, widened
from whirlbench.measure.uncertainty import from_limit, mean_of
from whirlbench.physics import base, tower
from whirlbench.units import show
from whirlbench.value import Value

_MASSES, _RULER, _STRETCH = 0.01, 2e-3, 0.02  # limits: masses [-], height [m], scale of a paper ruler [-]: judgement
_NOISE = 2.0
_KNOWN_TO = 0.33  # relative doubt beyond which only a least stiffness is known


def _tower_pull(filled, built):
    several(filled, 3, "pulls")
    force, way, height = filled["mass"] * base.GRAVITY, filled["deflection"], filled["pull height"]
    line = straight_line(force, way)
    (rest, slope), (rest_doubt, slope_doubt) = line.coefficients, line.sigmas
    if slope <= 0:
        raise InputError("deflection", "a top that does not give way", "more way with more mass", try_="check the rows")
    shared = [from_limit(_MASSES), from_limit(_STRETCH)]
    given = doubted(Value(slope, slope_doubt), freedom=line.freedom, shared=shared)
    stiffness = tower.joint_stiffness(
        1.0,
        given,
        Value(height, from_limit(_RULER)),
        bending_stiffness=built.bending_stiffness,
    )
    value = Value(stiffness.number, stiffness.sigma, f"bench test tower-pull, {len(filled)} pulls")
    changes = {("tower", "joint_stiffness"): written(value, "N*m/rad")}
    found = [Found("stiffness of the foot joint", value, "N*m/rad", "N*m/rad")]
    sentences = [strange_line(filled, [np.ones(len(filled)), force], way)]
    if rest > _NOISE * rest_doubt * widened(line.freedom) and rest > 0:
        play = Value(rest / height, rest_doubt * widened(line.freedom) / height, value.source)
        found.append(Found("free play of the joint to either side", play, "deg", "rad"))
        changes["tower", "free_play"] = show(play.number, "deg", 3)
    if value.relative > _KNOWN_TO:
        sentences.append(
            "The tube bends nearly as far as the whole: of the joint only a least stiffness is known. Pull harder, "
            "or watch the foot of the tube instead of its top."
        )
    return Result(tuple(found), changes, tuple(filter(None, sentences)))


def _base_tilt(filled, built):
    several(filled, 3, "slides")
    angles = filled["angle"]
    mean = mean_of(angles)
    doubt = math.hypot(mean.sigma * widened(mean.freedom), from_limit(filled["angle meter"]))
    friction = base.friction_from_tilt(Value(mean.number, doubt))
    value = Value(friction.number, friction.sigma, f"bench test base-tilt, {len(filled)} slides")
    found = (Found("friction of the base on its floor", value, "", ""),)
    sentences = [strange_line(filled, [np.ones(len(filled))], angles)]
    if built.turbine.base.held:
        sentences.append("The turbine's file says that its base is held: nothing slides, whatever the friction.")
    return Result(found, {("base", "friction"): written(value, "", 3)}, tuple(filter(None, sentences)))


TOWER_PULL = Trial(
    name="tower-pull",
    title="Pull the tower's top sideways with known masses",
    tells="the stiffness of the joint at the tower's foot, and its rattle",
    minutes=15,
    needs=(
        "thread, a smooth rod or pulley at the height of the rotor axis, a cup",
        "masses of 50 to 500 g, a scale",
        "a ruler fixed beside the tower's top, independent of the base",
    ),
    steps=(
        "Clamp the base to the table. Take the blades off.",
        "Tie the thread at the rotor axis, lead it level over the rod, hang the cup on it.",
        "Push the top lightly against its stop on the far side and back: half of the way in between is where upright "
        "is. Set the ruler's zero there.",
        "Add mass in five or more steps. Read mass (with the cup) and how far the top went, each time.",
        "Take the masses away in the same steps: the way back must read the same.",
    ),
    cautions=(
        "Keep your face out of the line of the thread; goggles on. Masses that fall land on feet.",
        "Stop where the tube creaks or the top has gone a tenth of its height.",
    ),
    formula="Way of the top a newton = height squared / joint stiffness + height cubed / (3 x bending stiffness of the "
    "tube). The slope of the straight line gives the first part; where it meets no pull, the rattle shows.",
    facts=(Fact("pull height", "mm", "m", hint="foot joint to the thread"),),
    columns=(Column("mass", "g", "kg"), Column("deflection", "mm", "m")),
    evaluate=_tower_pull,
    rows=10,
    defaults=lambda turbine: {"pull height": show(turbine.tower.height, "mm", 4)},
)
BASE_TILT = Trial(
    name="base-tilt",
    title="Tilt the floor until the base slides",
    tells="the grip of the base on its floor",
    minutes=10,
    needs=(
        "a stiff board covered with the same floor as in the event",
        "the base with its feet and something heavy low on it; the tower may stay away",
        "an angle meter, or a phone that shows tilt",
    ),
    steps=(
        "Lay the board flat, set the base on it, the wind's direction downhill.",
        "Lift one end slowly and without jerks until the base begins to slide. Read the board's angle.",
        "Repeat five times or more; turn the base around between, and wipe the board.",
        "If it tips instead of sliding, put the mass lower.",
    ),
    cautions=("Someone stands ready downhill with soft padding; nobody's hands are below the base.",),
    formula="Friction = tangent of the angle, whatever the mass.",
    facts=(Fact("angle meter", "deg", "rad", default="1 deg", hint="greatest error; else common practice"),),
    columns=(Column("angle", "deg", "rad"),),
    evaluate=_base_tilt,
    rows=6,
)
