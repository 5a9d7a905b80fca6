"""A blade to print: lofted and twisted like the blade that was predicted, with a socket for its rod or a peg.

Axes of a blade: z outwards from the rotor axis, y downwind, x the way a right-turning blade moves (clockwise, seen from
where the wind comes from). The rod lies on the z axis, in the middle of the section's thickness.
"""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench import tables
from whirlbench.errors import InputError, UnknownKey, nearest, within
from whirlbench.make.blade_outline import GLUED, ROD_PLACE, station_at
from whirlbench.make.drawing import MM
from whirlbench.make.features import Loft, Rod, add, cut
from whirlbench.make.process import process
from whirlbench.make.section_outline import section_points
from whirlbench.make.solid import PRINTABLE, fit, solid
from whirlbench.physics.rod import rod_area

SPANS = 50  # between stations: twisted quads lose 0.03 % of the volume then
_LEAST_TURN = math.radians(3)  # twist from one ring to the next, at most
_SHARP = math.radians(30)  # a corner of the outline
_SOCKET = 4.0  # diameters of rod in the blade: common practice
TURNINGS = ("right", "left")
_ROOTS = ("socket", "peg", "plain")


@dataclass(frozen=True)
class PrintedWeight:
    """One printed blade with its rod, as the fields of a rotor want it.

    Attributes
    ----------
    weighed : tuple of float
        Mass of each blade with its rod [kg], in the order of the holes.
    mass_radius : float
        Axis to the balance point [m].
    inertia : float
        One blade about the rotor axis [kg*m^2].
    """

    weighed: tuple
    mass_radius: float
    inertia: float


def printed_blade(rotor, *, turning="right", root=None, fill=None, name="blade"):
    """Blade of a rotor as a solid to print.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    turning : str
        ``right`` (clockwise, seen from where the wind comes from) or ``left``.
    root : str, optional
        ``socket`` for the real rod, ``peg`` instead of the rod, ``plain``; by default a socket where there is a rod.
    fill : float, optional
        Share of the volume that is plastic; by default that of the section [-].
    name : str
        What to call it.

    Returns
    -------
    Solid
        One for each hole in use.

    Raises
    ------
    InputError
        A root without a rod to fit, a section without a known shape, a skin that cuts itself.
    OutOfRange
        A chord too small for the least tail, or larger than 500 mm.
    UnknownKey
        No such turning or root.
    """
    root = root or ("socket" if rotor.rod else "plain")
    for what, word, known in (("turning", turning, TURNINGS), ("root", root, _ROOTS)):
        if word not in known:
            raise UnknownKey(what, f"'{word}'", "one of " + ", ".join(known), try_=nearest(str(word), known))
    loft = Loft(blade_rings(rotor, turning=turning), _corners(rotor.section, turning))
    steps, told = _root_steps(rotor, root, loft)
    material = rotor.section.material
    plastic = material if material in PRINTABLE else PRINTABLE[0]
    own_fill = getattr(rotor.section, "fill", 1.0) if plastic == material else 1.0
    return solid(
        name,
        [add(loft), *steps],
        material=plastic,
        fill=own_fill if fill is None else fill,
        count=rotor.blade_count,
        orientation=_orientation(plastic),
        notes=(_turning_note(turning), *_section_note(rotor, plastic), *told),
    )


def blade_rings(rotor, *, turning="right", radii=None):
    """Sections of a blade where they stand in the solid.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    turning : str
        ``right`` or ``left``.
    radii : sequence of float, optional
        From the rotor axis [m]; by default about 50 spans, with every station of the shape among them.

    Returns
    -------
    array, shape (m, n, 3)
        Anticlockwise seen from the tip [mm].

    Raises
    ------
    OutOfRange
        A chord below ten times the least tail, 8 mm.
    """
    radii = _radii(rotor.shape) if radii is None else radii
    return np.array([_ring(rotor, float(radius), turning) for radius in radii])


def printed_weight(rotor, blade):
    """Mass and balance of printed blades with their rods, ready for ``Rotor.changed``.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    blade : Solid
        From ``printed_blade``; glue and alignment pins are left out.

    Returns
    -------
    PrintedWeight
        Masses [kg], balance point [m] and inertia [kg*m^2].
    """
    x, _, z = blade.centre
    mass, moment = blade.mass, blade.mass * z
    about_axis = blade.inertia[1][1] + blade.mass * (x**2 + z**2)
    if any(step.way == "cut" for step in blade.steps):  # a socket, so the rod is another piece
        inner, outer = rotor.hub.radius - rotor.rod.socket_depth, rotor.shape.inner_radius + _socket_length(rotor) / MM
        density = tables.load("materials/density").find("rotor > rod > material", name=rotor.rod.material)
        line = float(rod_area(rotor.rod.diameter)) * density.density_kg_per_m3
        mass += line * (outer - inner)
        moment += line * (outer**2 - inner**2) / 2
        about_axis += line * (outer**3 - inner**3) / 3
    return PrintedWeight((mass,) * rotor.blade_count, moment / mass, about_axis)


def _radii(shape):
    """About 50 spans, finer where the twist is quick, through every station of the shape [m]."""
    known = [shape.inner_radius, shape.tip_radius]
    twists = [shape.twist, 0.0] if shape.kind == "straight" else [station.twist for station in shape.stations]
    if shape.kind == "stations":
        known = [station.radius for station in shape.stations]
    step = (known[-1] - known[0]) / SPANS
    radii = [known[:1]]
    for inner, outer, turn in zip(known[:-1], known[1:], np.abs(np.diff(twists)), strict=True):
        count = max(1, math.ceil((outer - inner) / step - 1e-9), math.ceil(turn / _LEAST_TURN))
        radii.append(np.linspace(inner, outer, count + 1)[1:])
    return np.concatenate(radii)


def _ring(rotor, radius, turning):
    station = station_at(rotor, radius)
    points = _points(rotor.section, station.chord)
    place = ROD_PLACE[rotor.section.kind] * station.chord
    along, height = points[:, 0] - place, points[:, 1] - _middle(points, place)
    c, s = math.cos(station.angle), math.sin(station.angle)
    x = height * s - along * c  # the nose goes first and into the wind, the suction side looks downwind
    ring = np.column_stack([x if turning == "right" else -x, along * s + height * c, np.full(len(x), station.radius)])
    return ring[::-1] if turning == "right" else ring


def _points(section, chord):
    """Outline over its chord; an airfoil's tail as thick as a print needs."""
    if section.kind != "airfoil":
        return section_points(section, chord)
    tail = process("printed").tail
    try_ = "widen the blade there, or cut it from sheet"
    within("chord of a printed blade", chord, low=10 * tail, high=500, unit="mm", try_=try_)
    return section_points(section, chord, tail=tail)


def _middle(points, x):
    """Height of the middle of the section's thickness at a place along the chord."""
    low, high = _faces(points, x)
    return 0.5 * (low + high)


def _faces(points, x):
    nose = int(points[:, 0].argmin())
    upper, lower = points[nose::-1], points[nose:]
    return np.interp(x, lower[:, 0], lower[:, 1]), np.interp(x, upper[:, 0], upper[:, 1])


def _corners(section, turning):
    """Points where a ring is no smooth curve: nose and tail of an airfoil, the edges of a sheet."""
    points = _points(section, 100.0)
    corners = {int(points[:, 0].argmin()), 0, len(points) - 1}
    if section.kind == "sheet":
        edge = np.diff(np.vstack([points[-1], points, points[0]]), axis=0) @ (1.0, 1.0j)
        corners |= set(np.flatnonzero(np.abs(np.angle(edge[1:] / edge[:-1])) > _SHARP).tolist())
    return tuple(sorted(corners if turning == "left" else {len(points) - 1 - corner for corner in corners}))


def _socket_length(rotor):
    """How far the rod reaches into the blade [mm]."""
    length = MM * (rotor.shape.tip_radius - rotor.shape.inner_radius)
    return min(_SOCKET * MM * rotor.rod.diameter, GLUED * length)


def _root_steps(rotor, root, loft):
    """Steps and notes of what joins the blade to the hub."""
    if root == "plain":
        return [], ()
    if rotor.rod is None:
        needs = "a rod in the turbine: its diameter fits the hub's holes"
        raise InputError("root", f"'{root}' without a rod", needs, try_="add [rotor.rod] or take root 'plain'")
    start, tip, rod = MM * rotor.shape.inner_radius, MM * rotor.shape.tip_radius, MM * rotor.rod.diameter
    end = start + _socket_length(rotor)
    hole = rod + process("printed").rod_fit
    boss = hole + 2 * fit("wall") if root == "socket" else rod - fit("peg")
    last = end + min(boss, 0.8 * (tip - end))
    steps = [add(Rod((0, 0, start), (0, 0, end), boss)), add(Rod((0, 0, end), (0, 0, last), boss, 0.3 * boss))]
    if root == "socket":
        steps.append(cut(Rod((0, 0, start - 1), (0, 0, end), hole)))
        told = f"socket {hole:.2f} mm wide and {end - start:.0f} mm deep for the rod of {rod:.2f} mm"
    else:
        inner = MM * (rotor.hub.radius - rotor.rod.socket_depth)
        steps.append(add(Rod((0, 0, inner), (0, 0, start + 1), boss)))
        told = f"peg {boss:.2f} mm thick for the hole of {rod:.2f} mm; it breaks before a rod: pull-test it"
    return steps, (told, f"the root stands proud of the section up to {last:.0f} mm from the axis")


def _turning_note(turning):
    way = {"right": "clockwise", "left": "anticlockwise"}[turning]
    return f"{turning}-turning: the rotor runs {way}, seen from where the wind comes from"


def _section_note(rotor, plastic):
    if rotor.section.material != plastic:
        yield f"the turbine says {rotor.section.material}: weighed here as {plastic}"
    if rotor.section.kind == "airfoil":
        tail = process("printed").tail
        yield f"tail {tail:g} mm thick: the last 30 % of the chord is thicker than the airfoil's own"


def _orientation(plastic):
    rows = tables.load("blades/printed_plastics").rows
    strength = next(row for row in rows if row.material.startswith(plastic))
    along, across = strength.UTS_XY_low_MPa, strength.UTS_Z_low_MPa
    return (
        f"Lay it down on supports: the pull of a turning rotor then runs along the layers, where {plastic} bears about "
        f"{along:g} MPa. Standing on its inner end the section comes out truer, but the layers lie across the pull and "
        f"bear {across:g} MPa: pull such a blade by hand to several times its load before it turns."
    )
