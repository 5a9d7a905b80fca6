"""Pulleys for round and flat belts: the profile to turn or print, and discs to cut and stack."""

import math

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError, within
from whirlbench.make.drawing import CUT, MARK, MM, Circle, Drawing, Line, Outline
from whirlbench.make.process import process

_WIDER = 0.2  # [mm] of a groove over its belt: a round belt settles in, a flat one runs free: common practice
_LIP = 2.0  # [mm] of rim beyond a flat belt on either side
_ROUND_LIP = 1.0  # [mm] of shoulder on either side of a round groove
_ARC_POINTS = 33


def pulley_profile(belt, diameter, thickness, *, width=6.0):
    """Half of a pulley's cross-section from its axis outwards.

    Parameters
    ----------
    belt : str
        ``round`` or ``flat``.
    diameter : float
        Where the belt's inner side lies: the bottom of the groove [mm].
    thickness : float
        Of the belt [mm]: diameter of a round one.
    width : float
        Of a flat belt [mm].

    Returns
    -------
    shapely Polygon
        x along the axis, centred on the belt; y is the distance from the axis, from 0 [mm].

    Raises
    ------
    InputError
        A belt that needs teeth or flanks of its own.
    OutOfRange
        Sizes that no bench belt has.

    Notes
    -----
    The groove of a round belt is half a circle as deep as the belt is thick, so the rim stands level with its outside.
    A flat belt runs between two rims that stand one belt thickness higher, but at least 1 mm.
    """
    _check(belt, diameter, thickness)
    bottom = diameter / 2
    if belt == "round":
        half = (thickness + _WIDER) / 2
        turn = np.linspace(0.0, math.pi, _ARC_POINTS)
        groove = np.column_stack([half * np.cos(turn), bottom + half - half * np.sin(turn)])
        outside, shoulder = bottom + thickness, half + _ROUND_LIP
        walls = [(half, outside), *groove, (-half, outside)]
    else:
        half = (width + _WIDER) / 2
        outside, shoulder = bottom + max(1.0, thickness), half + _LIP
        walls = [(half, outside), (half, bottom), (-half, bottom), (-half, outside)]
    return orient(Polygon([(-shoulder, 0.0), (shoulder, 0.0), (shoulder, outside), *walls, (-shoulder, outside)]))


def pulley_drawings(stage, shafts, *, way="laser", width=6.0, name="pulley"):
    """Drawings of both pulleys of a stage: profile, face disc and core disc of each.

    Parameters
    ----------
    stage : BeltStage
        The stage as a part.
    shafts : tuple of float
        Shaft diameters on the rotor's and on the generator's side [mm].
    way : str
        ``printed``, ``laser`` or ``hand``: fit of the bore.
    width : float
        Of a flat belt [mm].
    name : str
        Stem of their names.

    Returns
    -------
    tuple of Drawing
        Rotor's side, then generator's side. The profile's MARK line is the axis. Face discs are made twice; as many
        core discs between them as fill the width of the belt.

    Raises
    ------
    InputError
        A belt with teeth or a V, or a bore that leaves too little.
    OutOfRange
        Sizes that no bench belt has.
    """
    allowed = process(way)
    ends = (("rotor", stage.rotor_diameter, shafts[0]), ("generator", stage.generator_diameter, shafts[1]))
    made = []
    for end, diameter, shaft in ends:
        bore = shaft + allowed.bore_fit
        if bore + 2 * allowed.least_wall > MM * diameter:
            got, needs = (
                f"a bore of {bore:g} mm",
                f"at most {MM * diameter - 2 * allowed.least_wall:.1f} mm in this pulley",
            )
            raise InputError(f"{end} shaft", got, needs, try_="take a larger pulley or a thinner shaft")
        made += _pulley(stage, diameter, bore, (f"{name}-{end}", width, allowed.note))
    return tuple(made)


def _pulley(stage, diameter, bore, named):
    name, width, note = named
    thickness = MM * stage.thickness
    profile = pulley_profile(stage.belt, MM * diameter, thickness, width=width)
    left, _, right, outside = profile.bounds
    hole = Circle(0.0, 0.0, bore, CUT)
    between = thickness if stage.belt == "round" else width
    told = (f"belt lies on {MM * diameter:.1f} mm, rim {2 * outside:.1f} mm", note)
    axis = Line(((left, 0.0), (right, 0.0)), MARK)
    return [
        Drawing(f"{name}-profile", (Outline(profile, MARK),), lines=(axis,), notes=told),
        Drawing(f"{name}-face", circles=(Circle(0.0, 0.0, 2 * outside, CUT, hole=False), hole), notes=told),
        Drawing(
            f"{name}-core",
            circles=(Circle(0.0, 0.0, MM * diameter, CUT, hole=False), hole),
            notes=(f"stack to {between + _WIDER:.1f} mm between two faces", *told),
        ),
    ]


def _check(belt, diameter, thickness):
    if belt not in ("round", "flat"):
        got, needs = f"a {belt} belt", "a round or a flat belt"
        raise InputError("belt", got, needs, try_="buy pulleys for V and timing belts, their shape is a standard's")
    within("pulley diameter", diameter, low=3.0, high=600.0, unit="mm", try_="measure where the belt's inner side lies")
    within("belt thickness", thickness, low=0.2, high=20.0, unit="mm", try_="measure the belt and put it in the stage")
