"""Plan of the base: where the tower stands and where the ballast lies."""

import math

from shapely.geometry import box
from shapely.geometry.polygon import orient

from whirlbench import tables
from whirlbench.errors import InputError
from whirlbench.make.drawing import CUT, MARK, MM, Circle, Drawing, Line, Outline, Text
from whirlbench.physics.base import ballast_volume

_EDGE = 5.0  # [mm] kept free outside the ballast
_ARROW = 8.0  # [mm] half width of the arrow head


def tower_diameter(tower):
    """Outer diameter of a tower's tube.

    Parameters
    ----------
    tower : Tower
        The tower as a part.

    Returns
    -------
    float
        [mm].

    Raises
    ------
    UnknownKey
        A pipe that the table does not know.
    """
    if tower.tube.kind == "tube":
        return MM * tower.tube.outer_diameter
    return tables.load("tower/pvc_pipe").find("tower > tube > nominal", nominal=tower.tube.nominal).OD_mm


def base_drawing(turbine, *, material="steel", height=40.0, name="base"):
    """Drawing of the base from above, the wind coming from the left.

    Parameters
    ----------
    turbine : Turbine
        The whole turbine: base, ballast and tower.
    material : str
        Of the ballast, a row of the table ``base/ballast``.
    height : float
        To which the ballast is piled [mm].
    name : str
        What to call it.

    Returns
    -------
    Drawing
        A square as wide as the base, its middle at the origin. CUT: the outline. MARK: the tower, four equal loads of
        ballast in the corners, where they help most against tipping, and the wind.

    Raises
    ------
    InputError
        Ballast that does not fit, or no height.
    UnknownKey
        A material or pipe that no table knows.
    """
    if not height > 0.0:
        raise InputError("height of the ballast", f"{height:g} mm", "more than 0", try_="measure one layer of it")
    half, tower = MM * turbine.base.width / 2, tower_diameter(turbine.tower)
    each = turbine.base.ballast / 4
    side = math.sqrt(1e9 * float(ballast_volume(each, material)) / height)
    room = half - _EDGE - tower / 2 if each else side
    if side > room:
        got, needs = f"four loads {side:.0f} mm square", f"{max(0.0, room):.0f} mm or less beside the tower"
        raise InputError("ballast", got, needs, try_="pile it higher, use a denser material or a wider base")
    corners = [(x * (half - _EDGE - side / 2), y * (half - _EDGE - side / 2)) for x in (-1, 1) for y in (-1, 1)]
    loads = [orient(box(x - side / 2, y - side / 2, x + side / 2, y + side / 2)) for x, y in corners] if each else []
    words = f"{1000 * each:.0f} g {material}"
    lines, arrow = _wind(half, tower)
    return Drawing(
        name,
        outlines=(
            Outline(orient(box(-half, -half, half, half)), CUT),
            *(Outline(load, MARK) for load in loads),
        ),
        circles=(Circle(0.0, 0.0, tower, MARK, hole=False),),
        lines=lines,
        texts=(arrow, *(Text(x, y, words, min(5.0, side / 12)) for x, y in (corners if each else []))),
        notes=_notes(turbine, words),
    )


def _wind(half, tower):
    """Cross at the tower and an arrow with the wind."""
    reach = tower / 2 + 5.0
    start, tip = -0.9 * half, -max(0.45 * half, reach + 5.0)
    lines = (
        Line(((-reach, 0.0), (reach, 0.0)), MARK),
        Line(((0.0, -reach), (0.0, reach)), MARK),
        Line(((start, 0.0), (tip, 0.0), (tip - _ARROW, _ARROW / 2)), MARK),
        Line(((tip, 0.0), (tip - _ARROW, -_ARROW / 2)), MARK),
    )
    return lines, Text((start + tip) / 2, 6.0, "wind", 5.0)


def _notes(turbine, words):
    told = [f"{MM * turbine.base.width:.0f} mm along the wind; across it at least as much"]
    if turbine.base.ballast:
        told.append(f"ballast: four loads of {words}, fixed so that they cannot slide")
    if turbine.base.held:
        told.append("clamped or screwed to the table")
    return tuple(told)
