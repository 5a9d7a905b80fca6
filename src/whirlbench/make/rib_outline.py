"""Ribs of a built-up airfoil blade, and the gauges a carver holds against the wood."""

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError, within
from whirlbench.make.blade_outline import GLUED, station_at
from whirlbench.make.drawing import CUT, ENGRAVE, MARK, MM, Circle, Drawing, Line, Outline, Text
from whirlbench.make.process import process
from whirlbench.make.section_outline import section_points

SPAR_PLACE = 0.3  # of the chord: about where the section is thickest
_TAB = (4.0, 1.5)  # [mm] width and height of a tab that stands the rib on a flat board
_FRAME = 12.0  # [mm] of card around the edge of a gauge
_TEXT_SHARE = 0.25  # of the section's height


def rib_drawing(section, chord, spar, *, way="laser", name="rib", words=""):
    """Drawing of one rib with its spar hole and two tabs.

    Parameters
    ----------
    section : Airfoil
        The blade's section.
    chord : float
        [mm].
    spar : float
        Diameter of the spar rod, 0 for none [mm].
    way : str
        ``printed``, ``laser`` or ``hand``: fit of the hole, least web, thickness of the tail.
    name : str
        What to call it.
    words : str
        Written on it.

    Returns
    -------
    Drawing
        Nose at the origin, tail at x = chord. CUT: outline with tabs, spar hole. ENGRAVE: chord line.

    Raises
    ------
    InputError
        A spar that leaves less than the least web above or below, or a section without a known shape.
    OutOfRange
        Chord outside 3 to 500 mm.

    Notes
    -----
    The tabs hang from the lower side down to one level, 1.5 mm under its lowest point, so that all ribs of a blade can
    stand on a board while the glue sets; they are cut off afterwards.
    """
    allowed = process(way)
    points = section_points(section, chord, tail=min(allowed.tail, 0.1 * chord))
    outline = orient(Polygon(points))
    hole, centre = spar + allowed.rod_fit if spar else 0.0, _middle_at(outline, SPAR_PLACE * chord)
    web = outline.exterior.distance(shapely.Point(centre)) - hole / 2
    if spar and web < allowed.least_wall:
        got = f"a spar of {spar:g} mm in a rib {2 * (web + hole / 2):.1f} mm thick there"
        needs = f"{allowed.least_wall:g} mm left above and below"
        raise InputError("spar", got, needs, try_="take a thinner spar, a wider chord or a thicker section")
    tabbed = orient(shapely.union_all([outline, *_tabs(outline, chord)]))
    return Drawing(
        name,
        outlines=(Outline(tabbed, CUT),),
        circles=(Circle(*centre, hole, CUT),) if spar else (),
        lines=(Line(((0.02 * chord, 0.0), (0.98 * chord, 0.0)), ENGRAVE),),
        texts=_words(outline, words, 0.5 * chord),
        notes=(allowed.note, "cut the tabs off when the glue has set"),
    )


def rib_drawings(rotor, *, count=6, way="laser", name="rib"):
    """Drawings of all ribs of one blade, inner end first.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades; its rod is the spar.
    count : int
        Ribs, evenly spread.
    way : str
        ``printed``, ``laser`` or ``hand``.
    name : str
        Stem of their names.

    Returns
    -------
    tuple of Drawing
        One a station; the note tells radius and angle. The spar ends halfway along the blade, as the rod does.

    Raises
    ------
    InputError
        A sheet blade, or a spar too thick for a rib.
    OutOfRange
        A chord outside 3 to 500 mm, or fewer than 2 or more than 200 ribs.
    """
    if rotor.section.kind != "airfoil":
        needs = "an airfoil by name or digits"
        raise InputError(
            "section", f"a blade of the kind '{rotor.section.kind}'", needs, try_="sheet blades need no ribs"
        )
    spar = MM * rotor.rod.diameter if rotor.rod is not None else 0.0
    end = MM * (rotor.shape.inner_radius + GLUED * (rotor.shape.tip_radius - rotor.shape.inner_radius))
    return tuple(
        _noted(
            rib_drawing(
                rotor.section, s.chord, spar * (s.radius <= end), way=way, name=f"{name}-{i}", words=_label(i, s)
            ),
            s,
        )
        for i, s in enumerate(_spread(rotor, count), 1)
    )


def gauge_drawings(rotor, *, count=6, way="laser", name="gauge"):
    """Drawings of an upper and a lower gauge for each station of a carved blade.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades with an airfoil section.
    count : int
        Stations, evenly spread.
    way : str
        Says the least thickness of the trailing edge.
    name : str
        Stem of their names.

    Returns
    -------
    tuple of Drawing
        Upper and lower gauge, station by station, inner end first. CUT: a card whose edge is the section's side.
        MARK: the chord line. The two cards of a station meet in front of the nose and behind the tail.

    Raises
    ------
    InputError
        A sheet blade.
    OutOfRange
        A chord outside 3 to 500 mm, or fewer than 2 or more than 200 stations.

    Notes
    -----
    Each card is turned by the angle of its station, so its straight back stays square to the rotor axis: with every
    back on one flat board the wood has the right twist.
    """
    if rotor.section.kind != "airfoil":
        got = f"a blade of the kind '{rotor.section.kind}'"
        raise InputError("section", got, "an airfoil by name or digits", try_="a sheet is checked with the pitch gauge")
    tail = process(way).tail
    return tuple(
        _noted(_gauge(rotor.section, s, tail, (side, f"{name}-{i}-{side}", _label(i, s))), s)
        for i, s in enumerate(_spread(rotor, count), 1)
        for side in ("upper", "lower")
    )


def turned_card(edge, angle, *, above):
    """Card with a straight back and a given edge, turned so that a chord along x makes an angle with the back.

    Parameters
    ----------
    edge : array, shape (n, 2)
        From nose to tail; nose at the origin [mm].
    angle : float
        Between chord and back; the tail rises for angles above 0 [rad].
    above : bool
        The card lies above the edge, with its back on top; else below.

    Returns
    -------
    tuple of shapely Polygon and array, shape (n, 2)
        The card with its back level [mm], and the turned edge.

    Notes
    -----
    At both ends the edge runs on along the chord, so that an upper and a lower card meet there.
    """
    c, s = math.cos(angle), math.sin(angle)
    beyond = _FRAME * np.array([c, s])
    turned = edge @ np.array([[c, s], [-s, c]])
    path = np.concatenate([[turned[0] - beyond], turned, [turned[-1] + beyond]])
    back = path[:, 1].max() + _FRAME if above else path[:, 1].min() - _FRAME
    return orient(Polygon([*path, (path[-1, 0], back), (path[0, 0], back)])), turned


def _gauge(section, station, tail, named):
    side, name, words = named
    points = section_points(section, station.chord, tail=min(tail, 0.1 * station.chord))
    nose, upper = len(points) // 2, side == "upper"
    edge = points[nose::-1] if upper else points[nose:]
    card, turned = turned_card(edge, station.angle, above=upper)
    back = card.bounds[3] - 4.0 if upper else card.bounds[1] + 4.0
    return Drawing(
        name,
        outlines=(Outline(card, CUT),),
        lines=(Line((tuple(turned[0]), tuple(turned[-1])), MARK),),
        texts=(Text((card.bounds[0] + card.bounds[2]) / 2, back, f"{words} {side}", 2.5),),
    )


def _spread(rotor, count):
    within("count of stations", count, low=2, high=200, unit="", try_="6 to 12 are useful")
    radii = np.linspace(rotor.shape.inner_radius, rotor.shape.tip_radius, int(count))
    return [station_at(rotor, radius) for radius in radii]


def _label(number, station):
    return f"{number} r{station.radius:.0f} {math.degrees(station.angle):.1f}°"


def _noted(drawing, station):
    angle = f"{math.degrees(station.angle):.1f}°"
    note = f"{drawing.name}: radius {station.radius:.1f} mm, chord {station.chord:.1f} mm, angle {angle}"
    return replace(drawing, notes=(note, *drawing.notes))


def _middle_at(outline, x):
    """Point halfway between lower and upper side."""
    low, high = _span_at(outline, x)
    return x, 0.5 * (low + high)


def _span_at(outline, x):
    _, bottom, _, top = outline.bounds
    return outline.intersection(shapely.LineString([(x, bottom - 1.0), (x, top + 1.0)])).bounds[1::2]


def _tabs(outline, chord):
    width, height = min(_TAB[0], 0.1 * chord), _TAB[1]
    ground = outline.bounds[1] - height
    for place in (0.15, 0.75):
        x = place * chord
        yield box(x - width / 2, ground, x + width / 2, _middle_at(outline, x)[1])


def _words(outline, words, x):
    if not words:
        return ()
    low, high = _span_at(outline, x)
    height = min(2.5, _TEXT_SHARE * (high - low))
    return (Text(x, high / 2, words, height),)  # between the chord line and the upper side
