"""Former of a hand-wound coil: a core between two cheeks."""

import math

from shapely.geometry import Point, box
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError, within
from whirlbench.make.drawing import CUT, ENGRAVE, MM, Circle, Drawing, Outline
from whirlbench.make.process import process

_RIM = 3.0  # [mm] of cheek beyond the winding: common practice
_SLOT = 2.0  # [mm] for the ends of the wire
_FINE = 128  # chords of a quarter circle where the slot cuts into the cheek


def coil_former_drawings(generator, bolt, *, way="laser", name="coil-former"):
    """Drawings of the discs of a coil former: cheek (make two) and core.

    Parameters
    ----------
    generator : WoundGenerator
        The generator as a part: its winding window is the former's.
    bolt : float
        Diameter of the bolt or spindle through the middle [mm].
    way : str
        ``printed``, ``laser`` or ``hand``: fit of the hole, least web.
    name : str
        Stem of their names.

    Returns
    -------
    tuple of Drawing
        Cheek, core. CUT: rim, bolt hole, a slot from the rim to the core for the ends of the wire. ENGRAVE: the
        winding's outside.

    Raises
    ------
    InputError
        Another kind of generator, a bolt too thick for the core, or a window without width or depth.
    """
    if generator.kind != "wound":
        got = f"a generator of the kind '{generator.kind}'"
        raise InputError("generator", got, "one that is wound by hand", try_="set kind = 'wound'")
    allowed = process(way)
    inner, outer = MM * generator.coil_inner_radius, MM * generator.coil_outer_radius
    width = MM * (generator.distance_far - generator.distance_near)
    window = f"a window {width:.1f} mm wide and {outer - inner:.1f} mm deep"
    if min(width, outer - inner) < 0.5:
        raise InputError("winding window", window, "0.5 mm or more each way", try_="check near, far and both radii")
    within("outside of the coil", outer, low=1.0, high=250.0, unit="mm", try_="check coil_outer_radius")
    hole = bolt + allowed.bore_fit
    if hole / 2 + allowed.least_wall > inner:
        got, needs = f"a bolt of {bolt:g} mm", f"a core of {inner:g} mm radius with {allowed.least_wall:g} mm left"
        raise InputError("bolt", got, needs, try_="wind on a thinner bolt")
    rim = outer + _RIM
    slot = box(inner, -_SLOT / 2, rim + 1.0, _SLOT / 2)
    cheek = orient(Point(0.0, 0.0).buffer(rim, quad_segs=_FINE).difference(slot))
    centre = Circle(0.0, 0.0, hole, CUT)
    stack = f"stack core discs to {width:.1f} mm between the cheeks"
    return (
        Drawing(
            f"{name}-cheek",
            (Outline(cheek, CUT),),
            (centre, Circle(0.0, 0.0, 2 * outer, ENGRAVE, hole=False)),
            notes=("make two", stack, allowed.note),
        ),
        Drawing(
            f"{name}-core",
            circles=(Circle(0.0, 0.0, 2 * inner, CUT, hole=False), centre),
            notes=(stack, f"area of the window {math.floor(width * (outer - inner))} mm²", allowed.note),
        ),
    )
