"""Hub discs, the drilling pattern of their rim, and the gauge that sets the pitch of a blade."""

import math
from dataclasses import dataclass

import numpy as np
from shapely.affinity import rotate
from shapely.geometry import Point, box
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError, within
from whirlbench.make.blade_outline import station_at
from whirlbench.make.drawing import CUT, ENGRAVE, MARK, MM, Circle, Drawing, Line, Outline, Text, rectangle
from whirlbench.make.process import process
from whirlbench.make.rib_outline import turned_card
from whirlbench.make.section_outline import section_points

PIN = 2.0  # [mm] holes for pins or screws that lock the rods: common practice
_STRIP = 20.0  # [mm] width of the strip around the rim
_INSIDE = 3.5  # [mm] from the rim, and from a rod, to the middle of a number
_FINE = 128  # chords of a quarter circle where slots cut into a disc


@dataclass(frozen=True)
class HubHole:
    """One hole of a hub, seen from the front, where the wind comes from.

    Attributes
    ----------
    number : int
        1 at the top, then with the clock.
    angle : float
        From the top with the clock [deg].
    x, y : float
        Point on the asked circle, axis at the origin [mm].
    used : bool
        A blade goes in.
    """

    number: int
    angle: float
    x: float
    y: float
    used: bool


def hub_holes(rotor, circle_radius):
    """Holes of a hub on a circle.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    circle_radius : float
        [mm].

    Returns
    -------
    tuple of HubHole
        In the order of their numbers.
    """
    count = rotor.hub.holes
    turns = [2.0 * math.pi * number / count for number in range(count)]
    return tuple(
        HubHole(i + 1, math.degrees(a), circle_radius * math.sin(a), circle_radius * math.cos(a), i + 1 in rotor.holes)
        for i, a in enumerate(turns)
    )


def hub_drawings(rotor, shaft, *, way="laser", name="hub"):
    """Drawings of the discs of a hub: two faces, and a slotted middle as thick as the rods.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    shaft : float
        Diameter of the rotor shaft [mm].
    way : str
        ``printed``, ``laser`` or ``hand``: fit of bore and rods, least web.
    name : str
        Stem of their names.

    Returns
    -------
    tuple of Drawing
        Face (make two) and, for blades on rods, middle. Axis at the origin, hole 1 on top. CUT: rim, bore, a pin hole
        across each rod in the face, a slot for each rod in use in the middle. ENGRAVE: middle line of each rod. MARK:
        hole numbers, those in use ringed.

    Raises
    ------
    InputError
        Rods or bore that leave less than the least web between them.

    Notes
    -----
    For a hub drilled from the rim, the face alone is the pattern: carry the engraved lines over the edge, or wrap
    the strip of ``rim_strip_drawing`` around it.
    """
    allowed = process(way)
    radius, bore = MM * rotor.hub.radius, shaft + allowed.bore_fit
    depth = MM * rotor.rod.socket_depth if rotor.rod is not None else 0.3 * radius
    _check_web("shaft", bore, radius - depth - bore / 2, allowed.least_wall)
    pins = hub_holes(rotor, radius - depth / 2)
    discs = (Circle(0.0, 0.0, 2 * radius, CUT, hole=False), Circle(0.0, 0.0, bore, CUT))
    lines, used = _spokes(rotor, radius, depth)
    face = Drawing(
        f"{name}-face",
        circles=(*discs, *(Circle(p.x, p.y, PIN, CUT) for p in pins if rotor.rod is not None), *used),
        lines=lines,
        texts=_numbers(rotor),
        notes=(f"make two; holes in use: {', '.join(map(str, rotor.holes))}, seen from the front", allowed.note),
    )
    if rotor.rod is None:
        return (face,)
    return face, _middle(rotor, bore, allowed, f"{name}-middle")


def rim_strip_drawing(rotor, *, thickness=0.1, name="rim-strip"):
    """Drawing of a strip to wrap around a hub's rim: a cross where each rod hole is drilled.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    thickness : float
        Of the paper [mm]: its middle is what keeps its length.
    name : str
        What to call it.

    Returns
    -------
    Drawing
        Both ends meet at hole 1. CUT: the strip. MARK: crosses and numbers.
    """
    count = rotor.hub.holes
    length = 2.0 * math.pi * (MM * rotor.hub.radius + thickness / 2)
    lines, texts = [], []
    for number in range(count + 1):
        x = length * number / count
        lines += [Line(((x, 0.0), (x, _STRIP)), MARK)]
        if number < count:
            words = f"{number + 1}" + (" use" if number + 1 in rotor.holes else "")
            texts.append(Text(x + min(6.0, 0.4 * length / count), 0.25 * _STRIP, words, 2.5))
    lines.append(Line(((0.0, _STRIP / 2), (length, _STRIP / 2)), MARK))
    return Drawing(
        name,
        outlines=(Outline(rectangle(length, _STRIP), CUT),),
        lines=tuple(lines),
        texts=tuple(texts),
        notes=(f"{length:.1f} mm long: it must just close around a rim of {2 * MM * rotor.hub.radius:.1f} mm",),
    )


def pitch_gauge_drawing(rotor, *, radius=None, name="pitch-gauge"):
    """Drawing of a card that sets a blade's angle: its back lies in the rotor plane, its edge under the blade.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    radius : float, optional
        Where on the blade it is held [m]; by default the inner end.
    name : str
        What to call it.

    Returns
    -------
    Drawing
        CUT: the card; its edge is straight for a sheet, and the lower side of an airfoil. MARK: the chord line.

    Raises
    ------
    OutOfRange
        A radius off the blade, or an angle outside -60° to 80°.
    InputError
        A section without a known shape.
    """
    station = station_at(rotor, rotor.shape.inner_radius if radius is None else radius)
    low, high = math.radians(-60), math.radians(80)
    within("blade angle", station.angle, low=low, high=high, unit="rad", try_="count it from the rotor plane")
    if rotor.section.kind == "sheet":
        edge = np.array([[0.0, 0.0], [station.chord, 0.0]])
    else:
        points = section_points(rotor.section, station.chord)
        edge = points[len(points) // 2 :]
    card, turned = turned_card(edge, station.angle, above=False)
    degrees = math.degrees(station.angle)
    return Drawing(
        name,
        outlines=(Outline(card, CUT),),
        lines=(Line((tuple(turned[0]), tuple(turned[-1])), MARK),),
        texts=(Text((card.bounds[0] + card.bounds[2]) / 2, card.bounds[1] + 4.0, f"{degrees:.1f}°", 3.0),),
        notes=(
            f"{name}: {degrees:.1f}° at radius {station.radius:.0f} mm, "
            f"{station.radius - MM * rotor.hub.radius:.0f} mm from the rim of the hub",
            "stand the card and the hub's front face on one flat board, the blade's nose at the low end",
        ),
    )


def _middle(rotor, bore, allowed, name):
    radius, depth = MM * rotor.hub.radius, MM * rotor.rod.socket_depth
    width = MM * rotor.rod.diameter + allowed.rod_fit
    used = [hole.angle for hole in hub_holes(rotor, radius) if hole.used]
    nearest = min(np.diff([*used, used[0] + 360.0]))
    web = 2.0 * (radius - depth) * math.sin(math.radians(min(nearest, 180.0)) / 2) - width
    _check_web("rod", width, web, allowed.least_wall)
    disc = Point(0.0, 0.0).buffer(radius, quad_segs=_FINE)
    slot = box(-width / 2, radius - depth, width / 2, radius + 1.0)
    for angle in used:
        disc = disc.difference(rotate(slot, -angle, origin=(0.0, 0.0)))
    return Drawing(
        name,
        outlines=(Outline(orient(disc), CUT),),
        circles=(Circle(0.0, 0.0, bore, CUT),),
        texts=_numbers(rotor),
        notes=(f"from sheet as thick as the rods: {MM * rotor.rod.diameter:g} mm", allowed.note),
    )


def _check_web(what, width, web, least):
    if not web >= least:
        left = f"leaves {web:.2f} mm" if web > 0.0 else f"runs {-web:.1f} mm into what lies beside it"
        got, needs = f"a hole {width:g} mm wide, which {left}", f"{least:g} mm or more of material beside it"
        raise InputError(f"hub > {what}", got, needs, try_="use a larger hub, fewer holes or shorter sockets")


def _spokes(rotor, radius, depth):
    """Middle line of each rod, and a ring around the number of each hole in use."""
    outer, inner = (hub_holes(rotor, r) for r in (radius, radius - depth))
    lines = tuple(Line(((o.x, o.y), (i.x, i.y)), ENGRAVE) for o, i in zip(outer, inner, strict=True))
    spots = zip(outer, _numbers(rotor), strict=True)
    return lines, tuple(Circle(text.x, text.y, 5.0, MARK, hole=False) for hole, text in spots if hole.used)


def _numbers(rotor):
    """Number of each hole near the rim, beside its rod."""
    radius = MM * rotor.hub.radius - _INSIDE
    beside = (MM * rotor.rod.diameter / 2 if rotor.rod is not None else 0.0) + _INSIDE
    turn = min(beside / radius, math.pi / rotor.hub.holes)
    height = min(2.5, 1.5 * radius / rotor.hub.holes)
    return tuple(
        Text(radius * math.sin(angle), radius * math.cos(angle), str(hole.number), height)
        for hole in hub_holes(rotor, radius)
        for angle in [math.radians(hole.angle) + turn]
    )
