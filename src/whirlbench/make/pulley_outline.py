"""Pulleys for round, flat and vee belts: the profile to turn or print, and discs to cut and stack."""

import math

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError, within
from whirlbench.make.drawing import CUT, MARK, MM, Circle, Drawing, Line, Outline
from whirlbench.make.process import process

MADE = ("round", "flat", "vee")  # a timing belt needs the teeth of its own standard
_WIDER = 0.2  # [mm] of a groove over its belt: a round belt settles in, a flat one runs free: common practice
_LIP = 2.0  # [mm] of rim beyond a flat belt on either side
_ROUND_LIP = 1.0  # [mm] of shoulder on either side of a groove
_ARC_POINTS = 33
_FLAT_WIDTH = 6.0  # [mm] common practice
_VEE_WIDTH = 1.6  # thicknesses: common practice, a belt of 10 mm is 6 mm thick
_VEE_BELT = math.radians(40)  # between the sides of a vee belt, from memory
_VEE_GROOVE = ((80.0, math.radians(34)), (math.inf, math.radians(38)))  # up to which diameter [mm]: from memory
_VEE_AIR = 1.0  # [mm] below a vee belt: it hangs between the walls and must not touch the bottom
_LEAST_BOTTOM = 0.5  # [mm]
_PITCHES = (2.0, 3.0, 5.0)  # [mm] of timing belts that a school meets: common practice
_LEAST_TEETH, _WHOLE = 10, 0.04  # and how far from a whole number a count may be


def belt_width(stage):
    """Width of a stage's belt.

    Parameters
    ----------
    stage : BeltStage
        The stage as a part.

    Returns
    -------
    float
        Its own, or the usual one: 6 mm of a flat belt, 1.6 thicknesses of a vee one, a round one's thickness [mm].
    """
    if stage.width is not None:
        return MM * stage.width
    thick = MM * stage.thickness
    return {"flat": _FLAT_WIDTH, "vee": _VEE_WIDTH * thick}.get(stage.belt, thick)


def groove_angle(diameter):
    """Whole angle between the walls of a groove for a vee belt.

    Parameters
    ----------
    diameter : float
        Where the belt's inner side lies [mm].

    Returns
    -------
    float
        34° up to 80 mm, as a belt bent sharply gets narrower sides, else 38° [rad].

    References
    ----------
    .. [1] From memory of the groove tables for classical vee belts; no published check found.
    """
    return next(angle for most, angle in _VEE_GROOVE if diameter <= most)


def pulley_profile(belt, diameter, thickness, *, width=_FLAT_WIDTH):
    """Half of a pulley's cross-section from its axis outwards.

    Parameters
    ----------
    belt : str
        ``round``, ``flat`` or ``vee``.
    diameter : float
        Where the belt's inner side lies: the bottom of the groove of a round or flat belt [mm].
    thickness : float
        Of the belt [mm]: diameter of a round one.
    width : float
        Of a flat belt, or of a vee belt on its outer side [mm].

    Returns
    -------
    shapely Polygon
        x along the axis, centred on the belt; y is the distance from the axis, from 0 [mm].

    Raises
    ------
    InputError
        A belt with teeth, or a vee belt too narrow for its thickness.
    OutOfRange
        Sizes that no bench belt has.

    Notes
    -----
    The groove of a round belt is half a circle as deep as the belt is thick, so the rim stands level with its outside.
    A flat belt runs between two rims that stand one belt thickness higher, but at least 1 mm. A vee belt hangs between
    its walls: they are as far apart as the belt is wide at half its thickness, and the rim stands level with its
    outside.
    """
    _check(belt, diameter, thickness, width)
    bottom = diameter / 2
    if belt == "round":
        half = (thickness + _WIDER) / 2
        turn = np.linspace(0.0, math.pi, _ARC_POINTS)
        groove = np.column_stack([half * np.cos(turn), bottom + half - half * np.sin(turn)])
        outside, shoulder = bottom + thickness, half + _ROUND_LIP
        walls = [(half, outside), *groove, (-half, outside)]
    elif belt == "flat":
        half = (width + _WIDER) / 2
        outside, shoulder = bottom + max(1.0, thickness), half + _LIP
        walls = [(half, outside), (half, bottom), (-half, bottom), (-half, outside)]
    else:
        outside, walls = bottom + thickness, _vee(diameter, thickness, width)
        shoulder = walls[0][0] + _ROUND_LIP
    return orient(Polygon([(-shoulder, 0.0), (shoulder, 0.0), (shoulder, outside), *walls, (-shoulder, outside)]))


def pulley_drawings(stage, shafts, *, way="laser", name="pulley"):
    """Drawings of both pulleys of a stage: profile, face disc and core disc of each.

    Parameters
    ----------
    stage : BeltStage
        The stage as a part.
    shafts : tuple of float
        Shaft diameters on the rotor's and on the generator's side [mm].
    way : str
        ``printed``, ``laser`` or ``hand``: fit of the bore.
    name : str
        Stem of their names.

    Returns
    -------
    tuple of Drawing
        Rotor's side, then generator's side. The profile's MARK line is the axis. Face discs are made twice; as many
        core discs between them as fill the width of the belt. For a vee belt the profile alone: discs have no slope.

    Raises
    ------
    InputError
        A belt with teeth, or a bore that leaves too little.
    OutOfRange
        Sizes that no bench belt has.
    """
    allowed = process(way)
    made = []
    for end, diameter, shaft in ends(stage, shafts):
        bore = shaft + allowed.bore_fit
        check_bore(stage, diameter, bore, least=allowed.least_wall, end=end)
        made += _pulley(stage, diameter, bore, (f"{name}-{end}", allowed.note))
    return tuple(made)


def ends(stage, shafts):
    """Both ends of a stage.

    Parameters
    ----------
    stage : BeltStage
        The stage as a part.
    shafts : tuple of float
        Shaft diameters [mm].

    Returns
    -------
    tuple of tuple
        Name, where the belt's inner side lies [mm] and shaft [mm]: rotor's side, then generator's side.
    """
    return (
        ("rotor", MM * stage.rotor_diameter, shafts[0]),
        ("generator", MM * stage.generator_diameter, shafts[1]),
    )


def check_bore(stage, diameter, bore, *, least, end):
    """Refuse a bore that leaves too little below the belt.

    Parameters
    ----------
    stage : BeltStage
        The stage as a part.
    diameter, bore : float
        Where the belt's inner side lies, and the bore [mm].
    least : float
        Thinnest ring that survives [mm].
    end : str
        Whose shaft it is.

    Raises
    ------
    InputError
        Less is left.
    """
    room = diameter - 2 * least - (2 * _VEE_AIR if stage.belt == "vee" else 0.0)
    if bore > room:
        got, needs = f"a bore of {bore:g} mm", f"at most {room:.1f} mm in this pulley"
        raise InputError(f"{end} shaft", got, needs, try_="take a larger pulley or a thinner shaft")


def timing_teeth(diameters):
    """Tooth counts that a pair of timing pulleys may have.

    Parameters
    ----------
    diameters : sequence of float
        Pitch diameters [mm].

    Returns
    -------
    tuple of tuple
        Pitch of the belt [mm] and a count for each diameter, the finest pitch first; empty where no usual pitch fits.
    """
    found = []
    for pitch in _PITCHES:
        counts = [math.pi * diameter / pitch for diameter in diameters]
        if all(round(one) >= _LEAST_TEETH and abs(one - round(one)) <= _WHOLE for one in counts):
            found.append((pitch, *map(round, counts)))
    return tuple(found)


def _vee(diameter, thickness, width):
    """Corners of a groove for a vee belt, from the right rim to the left one."""
    slope = math.tan(groove_angle(diameter) / 2)
    middle = (width - thickness * math.tan(_VEE_BELT / 2)) / 2  # half the belt at half its thickness
    rim, low = middle + thickness / 2 * slope, middle - (thickness / 2 + _VEE_AIR) * slope
    if low < _LEAST_BOTTOM / 2:
        got, needs = f"a vee belt {width:.1f} mm wide and {thickness:g} mm thick", "a belt wider than it is thick"
        raise InputError("belt > width", got, needs, try_="measure the belt across its outer side")
    outside, bottom = diameter / 2 + thickness, diameter / 2 - _VEE_AIR
    return [(rim, outside), (low, bottom), (-low, bottom), (-rim, outside)]


def _pulley(stage, diameter, bore, named):
    name, note = named
    thickness, width = MM * stage.thickness, belt_width(stage)
    profile = pulley_profile(stage.belt, diameter, thickness, width=width)
    left, _, right, outside = profile.bounds
    told = (f"belt lies on {diameter:.1f} mm, rim {2 * outside:.1f} mm, bore {bore:g} mm", note)
    axis = Line(((left, 0.0), (right, 0.0)), MARK)
    if stage.belt == "vee":
        told = (*told, vee_note(diameter, width))
        return [Drawing(f"{name}-profile", (Outline(profile, MARK),), lines=(axis,), notes=told)]
    hole = Circle(0.0, 0.0, bore, CUT)
    return [
        Drawing(f"{name}-profile", (Outline(profile, MARK),), lines=(axis,), notes=told),
        Drawing(f"{name}-face", circles=(Circle(0.0, 0.0, 2 * outside, CUT, hole=False), hole), notes=told),
        Drawing(
            f"{name}-core",
            circles=(Circle(0.0, 0.0, diameter, CUT, hole=False), hole),
            notes=(f"stack to {width + _WIDER:.1f} mm between two faces", *told),
        ),
    ]


def vee_note(diameter, width):
    """Sentence about the groove of a vee belt.

    Parameters
    ----------
    diameter : float
        Where the belt's inner side lies [mm].
    width : float
        Of the belt on its outer side [mm].

    Returns
    -------
    str
        With the angle, and what to check.
    """
    angle = math.degrees(groove_angle(diameter))
    return (
        f"groove of {angle:.0f}° for a vee belt {width:.1f} mm wide outside (angle from memory of the usual ones): the "
        "belt must sit level with the rim and not touch the bottom"
    )


def _check(belt, diameter, thickness, width):
    if belt not in MADE:
        got, needs = f"a {belt} belt", "a round, flat or vee belt"
        raise InputError("belt", got, needs, try_="buy pulleys for a timing belt: their teeth are a standard's")
    within("pulley diameter", diameter, low=3.0, high=600.0, unit="mm", try_="measure where the belt's inner side lies")
    within("belt thickness", thickness, low=0.2, high=20.0, unit="mm", try_="measure the belt and put it in the stage")
    if belt != "round":
        within("belt width", width, low=0.3, high=50.0, unit="mm", try_="measure the belt across its outer side")
