"""A hub to print: rod holes around the rim at the real pattern, a screw on each rod, a collar on the shaft."""

import math

import numpy as np

from whirlbench.errors import InputError
from whirlbench.make.drawing import MM
from whirlbench.make.features import Rod, add, cut
from whirlbench.make.hub_outline import hub_holes
from whirlbench.make.process import process
from whirlbench.make.solid import fit, solid

_BOSS = 3.0  # [mm] a screw boss stands above the disc
_DIMPLE, _MARK = 2.0, 0.6  # [mm] width and depth of the mark at hole 1
_QUARTER = np.array([[0.0, 1.0], [-1.0, 0.0]])


def printed_hub(turbine, *, material="PETG", fill=1.0, name="hub"):
    """Hub of a turbine as a solid to print, the side towards the wind down on the bed.

    Parameters
    ----------
    turbine : Turbine
        Its rotor gives holes, radius and rod, its bearing the shaft.
    material : str
        ``PLA``, ``PETG`` or ``ABS``.
    fill : float
        Share of the volume that is plastic [-].
    name : str
        What to call it.

    Returns
    -------
    Solid
        All holes of the pattern; where they would run into each other, only those in use, and a note that says so.

    Raises
    ------
    InputError
        A rotor without rods, holes that reach the shaft, or too many of them in use.
    """
    rotor = turbine.rotor
    if rotor.rod is None:
        needs = "a rotor whose blades stand on rods"
        raise InputError("hub", "blades without rods", needs, try_="add [rotor.rod], or print hub and blades as one")
    made = process("printed")
    radius, depth = MM * rotor.hub.radius, MM * rotor.rod.socket_depth
    hole, bore = MM * rotor.rod.diameter + made.rod_fit, MM * turbine.bearing.shaft_diameter + made.bore_fit
    _check_depth(radius, depth, bore)
    holes = _holes(rotor, radius - depth, hole)
    thick = hole + 4 * fit("wall")
    top, collar = thick + fit("collar"), bore + 2 * fit("screw grip")
    steps = [add(Rod((0, 0, 0), (0, 0, thick), 2 * radius)), add(Rod((0, 0, 0), (0, 0, top), collar))]
    places = _places(rotor)
    middle = radius - depth / 2
    for number in holes:
        x, y = middle * places[number - 1]
        steps.append(add(Rod((x, y, thick / 2), (x, y, thick + _BOSS), fit("screw boss"))))
    for number in holes:
        x, y = middle * places[number - 1]
        steps.append(cut(_outwards(places[number - 1], (radius - depth, radius + hole), thick / 2, hole)))
        steps.append(cut(Rod((x, y, thick / 2), (x, y, top + 1), fit("screw hole"))))
    between = (
        (places[0] + places[1]) / np.linalg.norm(places[0] + places[1]) if len(places) > 2 else places[0] @ _QUARTER
    )
    steps.append(cut(_outwards(between, (0.0, collar), thick + fit("collar") / 2, fit("screw hole"))))
    x, y = (radius - _DIMPLE) * places[0]
    steps += [cut(Rod((x, y, thick - _MARK), (x, y, thick + 1), _DIMPLE)), cut(Rod((0, 0, -1), (0, 0, top + 1), bore))]
    return solid(
        name,
        steps,
        material=material,
        fill=fill,
        orientation="Lay the flat side, which looks into the wind, on the bed: the rod holes bridge without supports.",
        notes=(made.note, *_notes(rotor, holes, hole, bore)),
    )


def _places(rotor):
    """Directions of the holes as the hub lies on the bed, front down: what was right seen from the front is left."""
    return np.array([(-hole.x, hole.y) for hole in hub_holes(rotor, 1.0)])


def _outwards(way, reach, z, diameter):
    x, y = way
    return Rod((reach[0] * x, reach[0] * y, z), (reach[1] * x, reach[1] * y, z), diameter)


def _check_depth(radius, depth, bore):
    least = bore / 2 + fit("wall")
    if radius - depth < least:
        got = f"rods {depth:.1f} mm deep in a hub of {radius:.1f} mm radius on a bore of {bore:.1f} mm"
        needs = f"a radius of {depth + least:.1f} mm or more"
        raise InputError("hub > radius", got, needs, try_="make the hub larger or the sockets shallower")


def _holes(rotor, inner, hole):
    """Numbers of the holes that fit: all, or those in use."""
    wall = process("printed").least_wall
    every, used = tuple(range(1, rotor.hub.holes + 1)), tuple(sorted(rotor.holes))
    for holes in (every, used):
        steps = [
            (after - before) % rotor.hub.holes or rotor.hub.holes
            for before, after in zip(holes, (*holes[1:], holes[0]), strict=True)
        ]
        turn = math.pi * min(steps) / rotor.hub.holes
        if min(steps) * 2 >= rotor.hub.holes or 2 * inner * math.sin(turn) >= hole + wall:
            return holes
    needed = (hole + wall) / 2 / math.sin(turn) - inner
    got = f"{len(used)} holes of {hole:.1f} mm that meet {inner:.1f} mm from the axis"
    needs = f"a hub radius {needed:.1f} mm larger"
    raise InputError("hub > radius", got, needs, try_="make the hub larger, the sockets shallower or the rods thinner")


def _notes(rotor, holes, hole, bore):
    told = [
        f"{len(holes)} rod holes {hole:.2f} mm wide and {MM * rotor.rod.socket_depth:.0f} mm deep, bore {bore:.2f} mm",
        "M3 screws cut their own thread: one on each rod, one on the shaft; snug, not tight",
        "hole 1 has the dimple; the numbers run with the clock seen from the wind, against it seen from the collar",
        f"blades go in {', '.join(map(str, sorted(rotor.holes)))}",
        "pull every blade by hand and scale before the rotor may run; goggles on, stand clear of its disc",
    ]
    if len(holes) < rotor.hub.holes:
        told.append(f"all {rotor.hub.holes} holes would run into each other: only those in use are printed")
    return told
