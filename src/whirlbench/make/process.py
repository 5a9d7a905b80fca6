"""What a way of making does to sizes, and the cut path that makes up for the width of the tool."""

from dataclasses import dataclass, replace

import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from whirlbench import tables
from whirlbench.errors import InputError, within
from whirlbench.make.drawing import CUT

_CORNER = 0.1  # kerfs: a round tool leaves a square corner unfinished by 0.09
_MITRE = 2.0  # a corner runs out at most this many half kerfs


@dataclass(frozen=True)
class Process:
    """Allowances of one way of making, all common practice.

    Attributes
    ----------
    name : str
        ``printed``, ``laser`` or ``hand``.
    kerf : float
        Width that the tool takes away [mm].
    rod_fit, bore_fit : float
        Added to the diameter of a rod's hole and of a shaft's bore [mm].
    backlash : float
        Play for gear teeth [mm].
    tolerance : float
        How true a size comes out [mm].
    least_wall, tail : float
        Thinnest web and thinnest trailing edge that survive [mm].
    """

    name: str
    kerf: float
    rod_fit: float
    bore_fit: float
    backlash: float
    tolerance: float
    least_wall: float
    tail: float

    @property
    def note(self):
        """Sentence for the drawing that says what was applied."""
        return (
            f"{self.name}: {self.rod_fit:g} mm added to rod holes, {self.bore_fit:g} mm to bores, sizes come out "
            f"within {self.tolerance:g} mm (common practice: make one test piece first)"
        )


def process(name):
    """Allowances of a way of making.

    Parameters
    ----------
    name : str
        ``printed``, ``laser`` or ``hand``.

    Returns
    -------
    Process
        From the table ``make/processes``.

    Raises
    ------
    UnknownKey
        No such process.
    """
    row = tables.load("make/processes").find("process", process=name)
    return Process(
        row.process,
        row.kerf_mm,
        row.rod_mm,
        row.bore_mm,
        row.backlash_mm,
        row.tolerance_mm,
        row.least_wall_mm,
        row.tail_mm,
    )


def with_kerf(drawing, kerf):
    """Drawing of the tool's path instead of the part.

    Parameters
    ----------
    drawing : Drawing
        The part, true to size.
    kerf : float
        Width of the cut [mm]; above 0 the path runs outside, so the part that falls out is true; below 0 it runs
        inside, so the window left in the sheet is true.

    Returns
    -------
    Drawing
        Outlines and circles on CUT moved by half a kerf, everything else as it was; the notes say so.

    Raises
    ------
    OutOfRange
        A kerf wider than 5 mm.
    InputError
        A kerf wider than a web of the part, than one of its holes or than a gap in its outline.
    """
    within("kerf", kerf, low=-5.0, high=5.0, unit="mm", try_="a laser takes 0.1 to 0.2 mm, a saw about 1 mm")
    if not kerf:
        return drawing
    outlines = tuple(
        replace(each, polygon=grown(each.polygon, kerf / 2, drawing.name)) if each.layer == CUT else each
        for each in drawing.outlines
    )
    circles = tuple(_moved(each, kerf, drawing.name) if each.layer == CUT else each for each in drawing.circles)
    side = "outside" if kerf > 0 else "inside"
    note = f"cut path {abs(kerf) / 2:g} mm {side} the part for a kerf of {abs(kerf):g} mm"
    material = drawing.material
    if _parts_and_holes(material.buffer(-abs(kerf) / 2)) != _parts_and_holes(material) or _left_uncut(material, kerf):
        raise _too_wide(drawing.name, kerf)
    return replace(drawing, outlines=outlines, circles=circles, notes=(*drawing.notes, note))


def grown(polygon, distance, name="part"):
    """Polygon moved outwards by a distance, holes inwards, corners kept sharp.

    Parameters
    ----------
    polygon : shapely Polygon
        [mm].
    distance : float
        Below 0 moves inwards [mm].
    name : str
        What it is, for the error.

    Returns
    -------
    shapely Polygon
        One polygon with as many holes as before [mm].

    Raises
    ------
    InputError
        Nothing left, several pieces, or a hole closed.
    """
    made = polygon.buffer(distance, join_style="mitre", mitre_limit=_MITRE)
    if not isinstance(made, Polygon) or made.is_empty or len(made.interiors) != len(polygon.interiors):
        raise _too_wide(name, 2 * abs(distance))
    return orient(made)


def _moved(circle, kerf, name):
    diameter = circle.diameter - kerf if circle.hole else circle.diameter + kerf
    if diameter <= 0.0:
        raise _too_wide(name, kerf)
    return replace(circle, diameter=diameter)


def _left_uncut(material, kerf):
    """Whether a path outside the part misses a gap, such as the one between two teeth."""
    if kerf < 0.0:
        return False
    back = material.buffer(kerf / 2).buffer(-kerf / 2)  # what a round tool really leaves
    return not back.difference(material).buffer(-_CORNER * kerf).is_empty


def _parts_and_holes(shape):
    parts = [part for part in shapely.get_parts(shape) if not part.is_empty]
    return len(parts), sum(len(part.interiors) for part in parts)


def _too_wide(name, kerf):
    needs = "a kerf narrower than every web and hole of the part"
    return InputError(name, f"a kerf of {abs(kerf):g} mm", needs, try_="use a thinner tool or widen the part")
