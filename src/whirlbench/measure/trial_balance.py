"""Weighing the blades: which blade goes in which hole, and how much trim is left to add."""

import math

import numpy as np

from whirlbench.errors import InputError
from whirlbench.measure.meter import last_digit
from whirlbench.measure.trial import Column, Fact, Found, Result, Trial
from whirlbench.measure.uncertainty import from_limit
from whirlbench.physics import hub
from whirlbench.units import show
from whirlbench.value import Value

_EDGE = 1e-3  # [m] limit of error of a balance point found on an edge: judgement
_RELIABLE = 2.0  # an imbalance beyond so many of its doubts is worth a trim


def _balance(filled, built):
    rotor = built.turbine.rotor
    masses, radii = filled["mass"], filled["balance radius"]
    if len(filled) != rotor.blade_count:
        needs = f"{rotor.blade_count}, as many as the turbine's file has holes in use"
        raise InputError("blades", f"{len(filled)}", needs, try_="weigh every blade with its rod, one row each")
    holes = [hole - 1 for hole in rotor.holes]
    told = {"holes": holes, "hole_count": rotor.hub.holes}
    before = hub.imbalance(masses, radii, **told)
    best = hub.best_assignment(masses, radii, **told)
    doubt = _doubt(masses, radii)
    left = Value(best.imbalance.size, doubt, "bench test balance")
    blade_in = dict(zip(best.holes, range(len(masses)), strict=True))
    weighed = [f"{1000 * masses[blade_in[hole]]:.6g} g" for hole in holes]
    changes = {("rotor", "weighed"): weighed, ("rotor", "mass_radius"): f"{1000 * float(radii.mean()):.4g} mm"}
    found = (
        Found("imbalance in the order weighed", Value(before.size, doubt, "bench test balance"), "g*mm", "kg*m"),
        Found("imbalance in the best order", left, "g*mm", "kg*m"),
    )
    places = ", ".join(f"blade {blade_in[hole] + 1} in hole {hole + 1}" for hole in holes)
    return Result(found, changes, (f"Put {places}.", _trim(best.imbalance, left, filled, rotor)))


def _doubt(masses, radii):
    """Standard uncertainty of an imbalance [kg*m]: each blade's own error of scale and of balance point."""
    scale = from_limit((last_digit(1000 * masses) or 0.1) / 1000)
    moments = np.hypot(radii * scale, masses * from_limit(_EDGE))
    return float(math.hypot(*moments) / math.sqrt(2))  # a vector's errors share themselves between two directions


def _trim(imbalance, left, filled, rotor):
    if left.number < _RELIABLE * left.sigma:
        return "What is left is within what scale and edge can tell: no trim is called for."
    radius = filled["trim radius"]
    trim = hub.trim(imbalance, trim_radius=radius, hole_count=rotor.hub.holes)
    rest = show(trim.residual, "g*mm", 2)
    return (
        f"Then fix {show(trim.hole_mass, 'g', 2)} at {show(radius, 'mm', 3)} from the axis on the side of hole "
        f"{trim.hole + 1}: that leaves {rest}."
    )


def _defaults(turbine):
    return {"trim radius": show(turbine.rotor.hub.radius, "mm", 3)}


BALANCE = Trial(
    name="balance",
    title="Weigh the blades and find their balance points",
    tells="each blade's mass, and the order of blades that shakes least",
    minutes=15,
    needs=("a scale that shows 0.1 g", "a ruler", "a straight edge, such as a ruler on its side"),
    steps=(
        "Number the blades. Weigh each with its rod.",
        "Lay each blade across the edge, move it until it balances, and mark the place.",
        "Add the distance from the rotor's axis to where the blade sits in the hub: the balance radius counts from the "
        "axis, as mounted.",
        "Put the blades in the holes that the answer names; count holes from 1 as you count them in the turbine's "
        "file.",
    ),
    cautions=(
        "Pull every blade by hand before the next run: one that moves in its hole will fly.",
        "A trim mass needs a screw or a wrap of tape all around: glue alone lets go.",
    ),
    formula="Each blade pulls with mass x balance radius in the direction of its hole; the imbalance is the length of "
    "their sum, and the answer tries every order of the blades. Trim mass = imbalance / trim radius.",
    facts=(Fact("trim radius", "mm", "m", hint="axis to where a trim mass can be fixed"),),
    columns=(
        Column("blade", "", "", printed=True, needed=False),
        Column("mass", "g", "kg"),
        Column("balance radius", "mm", "m"),
    ),
    evaluate=_balance,
    defaults=_defaults,
    printed=lambda facts, turbine: [[str(i + 1)] for i in range(turbine.rotor.blade_count if turbine else 3)],
)
