"""Closed outline of a blade's section, equal to the section that the aerodynamics reckons with."""

import functools
import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from whirlbench import tables
from whirlbench.errors import InputError, UnknownKey, nearest, within
from whirlbench.make.drawing import MM
from whirlbench.physics.airfoil import catalogue, four_digit_coordinates

THICKEN_FROM = 0.7  # of the chord: a thicker tail fades in behind this place
_PANELS = 60  # a side; keeps a 100 mm section within 0.02 mm of its curve
_ARC_POINTS = 41
_CAP_POINTS = 13


@dataclass(frozen=True)
class SectionSides:
    """Upper and lower side of an airfoil over its chord, nose first.

    Attributes
    ----------
    upper, lower : array, shape (n, 2) and (m, 2)
        Points from the nose to the tail [-].
    """

    upper: np.ndarray
    lower: np.ndarray


def section_polygon(section, chord, *, tail=0.0):
    """Outline of a blade's section: nose at the origin, tail at x = chord, suction side up.

    Parameters
    ----------
    section : Sheet or Airfoil
        The section as a part.
    chord : float
        [mm].
    tail : float
        Least thickness of an airfoil's trailing edge [mm], see ``section_points``; a sheet keeps its own.

    Returns
    -------
    shapely Polygon
        Valid, counter-clockwise [mm].

    Raises
    ------
    InputError
        A section without a known shape, or a chord too small for the sheet or the tail.
    OutOfRange
        Chord outside 3 to 500 mm.

    Notes
    -----
    The nose of a bent sheet is the end of its middle line; a sheet's outline reaches half a thickness below y = 0.
    """
    return orient(Polygon(section_points(section, chord, tail=tail)))


def section_points(section, chord, *, tail=0.0):
    """Points of a section's outline, the same count for every chord, so that stations can be lofted point by point.

    Parameters
    ----------
    section : Sheet or Airfoil
        The section as a part.
    chord : float
        [mm].
    tail : float
        Least thickness of an airfoil's trailing edge [mm]; 0.8 suits a print. The missing thickness is added half
        above, half below, growing with the square of the way from 0.7 of the chord to the tail.

    Returns
    -------
    array, shape (n, 2)
        From the tail over the top to the nose and back below; not closed, first and last point differ [mm].

    Raises
    ------
    InputError
        A section without a known shape, or a chord too small for the sheet or the tail.
    OutOfRange
        Chord outside 3 to 500 mm.
    """
    within("chord", chord, low=3.0, high=500.0, unit="mm", try_="lengths are in metres in a part, millimetres here")
    if section.kind == "sheet":
        return _sheet_points(section, chord)
    if section.kind != "airfoil":
        needs = "a sheet or an airfoil by name or digits"
        raise InputError("section", f"an {section.kind}", needs, try_="name the airfoil that was measured")
    within("tail thickness", tail, low=0.0, high=0.1 * chord, unit="mm", try_="0.8 mm suits a print")
    sides = _thickened(airfoil_sides(section.name), tail / chord)
    return chord * np.concatenate([sides.upper[::-1], sides.lower[1:]])


def airfoil_sides(name):
    """Upper and lower side of a shipped airfoil or of a 4-digit section.

    Parameters
    ----------
    name : str
        Name in the catalogue (capitals, spaces and hyphens do not matter) or four digits such as ``4412``.

    Returns
    -------
    SectionSides
        Over the chord, nose at the origin [-].

    Raises
    ------
    UnknownKey
        No such airfoil.
    InputError
        A 4-digit section without thickness.
    """
    key = "".join(letter for letter in name.lower() if letter.isalnum())
    return _sides(key.removeprefix("naca") if key.startswith("naca") and len(key) == 8 else key)


def flat_width(chord, camber):
    """Width to which a sheet has to be cut so that it has this chord once it is bent.

    Parameters
    ----------
    chord : float
        Straight from edge to edge of the middle line [mm].
    camber : float
        Depth of the bend over the chord [-].

    Returns
    -------
    float
        Length of the circular arc [mm].

    Notes
    -----
    The half angle of an arc is 2 atan(2 f): plane geometry, checked against the limit 1 + 8 f^2 / 3.
    """
    half_angle = 2.0 * math.atan(2.0 * camber)
    return chord * (half_angle / math.sin(half_angle) if half_angle else 1.0)


@functools.lru_cache(maxsize=128)
def _sides(key):
    if len(key) == 4 and key.isdigit():
        camber, place, thickness = int(key[0]) / 100, int(key[1]) / 10 or 0.4, int(key[2:]) / 100
        if not thickness:
            raise InputError("airfoil", f"'{key}'", "a thickness in its last two digits", try_="4412 is 12 % thick")
        x, y = four_digit_coordinates(camber, place, thickness, count=_PANELS)
    else:
        known = [row.name for row in catalogue()]
        if key not in known:
            raise UnknownKey("airfoil", f"'{key}'", "an airfoil of the catalogue", try_=nearest(key, known))
        rows = tables.load(f"coordinates/{key}").rows
        x, y = np.array([row.x for row in rows]), np.array([row.y for row in rows])
    nose = len(x) // 2
    points = np.column_stack([x, y])
    return SectionSides(points[nose::-1], points[nose:])


def _thickened(sides, tail):
    """Sides moved apart behind ``THICKEN_FROM`` until the tail is at least this thick; all over chord."""
    missing = max(0.0, tail - (sides.upper[-1, 1] - sides.lower[-1, 1]))

    def moved(side, sign):
        way = np.clip((side[:, 0] - THICKEN_FROM) / (side[-1, 0] - THICKEN_FROM), 0.0, 1.0)
        return side + np.column_stack([np.zeros_like(way), sign * 0.5 * missing * way**2])

    return SectionSides(moved(sides.upper, 1.0), moved(sides.lower, -1.0))


def _sheet_points(section, chord):
    thickness = MM * section.thickness
    if thickness > 0.5 * chord:
        got = f"{chord:g} mm of chord and a sheet of {thickness:g} mm"
        raise InputError(
            "section > thickness", got, "a chord of at least twice the thickness", try_="use thinner sheet"
        )
    inset = 0.5 * thickness if section.edge == "rounded" else 0.0
    middle, normal = _middle_line(chord, section.camber, inset)
    half = 0.5 * thickness * normal
    nose = tail = np.empty((0, 2))
    if inset:  # half circles whose ends are the corners of a square edge
        turn = np.linspace(0.0, math.pi, _CAP_POINTS)[1:-1, None]
        nose = middle[0] + np.cos(turn) * half[0] + np.sin(turn) * _left_of(half[0])
        tail = middle[-1] - np.cos(turn) * half[-1] - np.sin(turn) * _left_of(half[-1])
    return np.concatenate([(middle + half)[::-1], nose, middle - half, tail])


def _left_of(vector):
    return np.array([-vector[1], vector[0]])


def _middle_line(chord, camber, inset):
    """Points of a flat or circular-arc middle line, both ends cut short, from nose to tail; unit normals upwards."""
    reach = 1.0 - 2.0 * inset / flat_width(chord, camber)
    way = reach * np.linspace(-1.0, 1.0, _ARC_POINTS)
    half_angle = 2.0 * math.atan(2.0 * camber)
    if half_angle < 1e-9:  # flat to less than a thousandth of an atom
        return np.column_stack([0.5 * chord * (way + 1.0), 0.0 * way]), np.column_stack([0.0 * way, 0.0 * way + 1.0])
    radius = 0.5 * chord / math.sin(half_angle)
    normal = np.column_stack([np.sin(way * half_angle), np.cos(way * half_angle)])
    return radius * normal + [0.5 * chord, -radius * math.cos(half_angle)], normal
