"""Plan outline of a blade: what is cut from sheet, or what a carver and a printer check theirs against."""

import math
from dataclasses import dataclass

import numpy as np
from shapely.affinity import translate
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError, within
from whirlbench.make.drawing import CUT, ENGRAVE, MARK, MM, Circle, Drawing, Line, Outline, Text
from whirlbench.make.section_outline import flat_width
from whirlbench.parts.blade import outline

ROD_PLACE = {"sheet": 0.5, "airfoil": 0.3, "own polar": 0.3}  # of the chord from the nose: common practice
GLUED = 0.5  # share of the blade's length along which the rod is glued, as in the mass of a blade
_STATIONS = 6  # folds of a straight twisted blade
_BESIDE = 3.0  # [mm] from a station to its words
_LETTER = 0.7  # width of a letter over its height, with the gap behind it


@dataclass(frozen=True)
class BladeStation:
    """A place along the blade.

    Attributes
    ----------
    radius : float
        From the rotor axis [mm].
    chord : float
        From nose to tail [mm].
    width : float
        To be cut: the chord, or the arc of a bent sheet [mm].
    angle : float
        Between chord and rotor plane: pitch plus twist [rad].
    """

    radius: float
    chord: float
    width: float
    angle: float


def blade_stations(rotor, *, count=_STATIONS):
    """Stations of a blade from its inner end to its tip.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    count : int
        Stations of a blade with straight edges; a blade told by stations keeps its own.

    Returns
    -------
    tuple of BladeStation
        Radius rising.

    Raises
    ------
    OutOfRange
        A chord outside 3 to 500 mm, or a count outside 2 to 200.
    """
    within("count of stations", count, low=2, high=200, unit="", try_="6 to 50 are useful")
    shape = rotor.shape
    if shape.kind == "straight":
        radii = np.linspace(shape.inner_radius, shape.tip_radius, int(count))
    else:
        radii = np.array([station.radius for station in shape.stations])
    return tuple(station_at(rotor, radius) for radius in radii)


def station_at(rotor, radius):
    """Chord, cut width and angle of a blade at one radius.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    radius : float
        From the rotor axis [m].

    Returns
    -------
    BladeStation
        In millimetres and radians.

    Raises
    ------
    OutOfRange
        A chord outside 3 to 500 mm, or a radius off the blade.
    """
    shape = rotor.shape
    within(
        "radius",
        radius,
        low=shape.inner_radius - 1e-9,
        high=shape.tip_radius + 1e-9,
        unit="m",
        try_="stay on the blade",
    )
    chord, twist = (float(one) for one in outline(shape, radius))
    chord *= MM
    within("chord", chord, low=3.0, high=500.0, unit="mm", try_="narrower blades cannot be made by hand")
    camber = rotor.section.camber if rotor.section.kind == "sheet" else 0.0
    return BladeStation(MM * float(radius), chord, flat_width(chord, camber), rotor.pitch + twist)


def blade_polygon(rotor, *, rod_place=None):
    """Plan outline of one blade laid flat, untwisted and unbent.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    rod_place : float, optional
        Where the rod lies across the chord, 0 at the nose [-]; by default ``ROD_PLACE`` of the kind of section.

    Returns
    -------
    shapely Polygon
        x is the radius from the rotor axis, y points to the nose, y = 0 is the rod line [mm].

    Raises
    ------
    OutOfRange
        A chord outside 3 to 500 mm, or a rod outside the chord.
    """
    place = _rod_place(rotor, rod_place)
    stations = blade_stations(rotor, count=2)
    nose = [(each.radius, place * each.width) for each in stations]
    tail = [(each.radius, (place - 1.0) * each.width) for each in stations]
    return orient(Polygon(nose + tail[::-1]))


def balance_radius(rotor):
    """Balance point of one blade with its rod, as far as its outline tells.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades; a measured ``mass_radius`` wins.

    Returns
    -------
    float
        From the rotor axis [mm].

    Notes
    -----
    Without a measured one: the centroid of the plan outline (even sheet) or of the chord squared (a solid section that
    keeps its shape), the rod left out. A rod pulls it inwards, so hang the blade from a thread and mark it again.
    """
    if rotor.mass_radius is not None:
        return MM * rotor.mass_radius
    shape = rotor.shape
    edges = np.linspace(shape.inner_radius, shape.tip_radius, 401)
    middle = 0.5 * (edges[1:] + edges[:-1])
    chord = np.array([station_at(rotor, radius).chord for radius in middle])
    weight = chord if rotor.section.kind == "sheet" else chord**2
    return MM * float(weight @ middle / weight.sum())


def blade_drawing(rotor, *, rod_place=None, mass_radius=None, name="blade"):
    """Drawing of one blade with rod line, glue line, fold stations and balance point.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    rod_place : float, optional
        Where the rod lies across the chord, 0 at the nose [-]; by default ``ROD_PLACE`` of the kind of section.
    mass_radius : float, optional
        Rotor axis to the balance point of blade and rod [m]; by default ``balance_radius``.
    name : str
        What to call it.

    Returns
    -------
    Drawing
        Origin on the rod line at the inner end of the blade, x outwards, nose up. CUT: the outline. ENGRAVE: glue lines
        to both sides of the rod along the inner half. MARK: rod line, a line across at each station with its radius,
        width and angle, the balance point.

    Raises
    ------
    OutOfRange
        A chord outside 3 to 500 mm, or a rod outside the chord.
    InputError
        A rod thicker than the chord.
    """
    place = _rod_place(rotor, rod_place)
    stations = blade_stations(rotor)
    origin = stations[0].radius
    length = stations[-1].radius - origin
    lines = [Line(((0.0, 0.0), (length, 0.0)), MARK), *_rod_lines(rotor, length), *_across(stations, place)]
    outline = translate(blade_polygon(rotor, rod_place=rod_place), -origin)
    balance = balance_radius(rotor) - origin if mass_radius is None else MM * mass_radius - origin
    mark = (Circle(balance, 0.0, 3.0, MARK, hole=False),) if 0.0 <= balance <= length else ()
    return Drawing(name, (Outline(outline, CUT),), mark, tuple(lines), _words(stations, place), _notes(rotor, stations))


def _rod_place(rotor, given):
    place = ROD_PLACE[rotor.section.kind] if given is None else given
    within("place of the rod", place, low=0.05, high=0.95, unit="of the chord", try_="0.5 is the middle of the blade")
    return place


def _rod_lines(rotor, length):
    """Both edges of the rod where it is glued."""
    if rotor.rod is None:
        return []
    half, end = MM * rotor.rod.diameter / 2, GLUED * length
    narrow = MM * min(station_at(rotor, r).chord / MM for r in (rotor.shape.inner_radius, rotor.shape.tip_radius))
    if 2 * half > 0.9 * narrow:
        got = f"a rod of {2 * half:g} mm on a chord of {narrow:.1f} mm"
        raise InputError("rod > diameter", got, "a rod thinner than the blade is wide", try_="widen the blade")
    return [Line(((0.0, half), (end, half), (end, -half), (0.0, -half)), ENGRAVE)]


def _across(stations, place):
    first = stations[0].radius
    return [
        Line(((s.radius - first, place * s.width), (s.radius - first, (place - 1.0) * s.width)), MARK)
        for s in stations[1:-1]
    ]


def _words(stations, place):
    """Radius and angle beside each station, upright inside the outline between rod and tail."""
    inward = [*([1.0] * (len(stations) - 1)), -1.0]
    return tuple(
        _word(station, place, stations[0].radius, side) for station, side in zip(stations, inward, strict=True)
    )


def _word(station, place, first, side):
    words = f"r {station.radius:.0f}  {math.degrees(station.angle):.1f}°"
    room = (1.0 - place) * station.width
    height = min(2.5, 0.8 * room / (_LETTER * len(words)))
    x = station.radius - first + side * _BESIDE
    return Text(x, -0.5 * room, words, height, angle=90.0)


def _notes(rotor, stations):
    told = [f"chord {stations[0].chord:.1f} mm inside, {stations[-1].chord:.1f} mm at the tip, nose up"]
    if rotor.section.kind == "sheet" and rotor.section.camber:
        told.append(f"cut {stations[0].width / stations[0].chord:.4f} of the chord wide: the bend takes the rest")
    if any(abs(s.angle - rotor.pitch) > 1e-9 for s in stations):
        told.append("twist: set each marked line to its angle against the rotor plane")
    if rotor.rod is not None:
        told.append("glue the rod between the engraved lines")
    told.append("balance point from the outline; hang the finished blade and mark it again")
    return tuple(told)
