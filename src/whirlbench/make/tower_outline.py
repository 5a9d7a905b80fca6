"""The tower on paper: what to saw, and a strip around the tube that makes the saw cut square."""

import math

from whirlbench import tables
from whirlbench.errors import within
from whirlbench.make.base_outline import tower_diameter
from whirlbench.make.drawing import CUT, MARK, MM, Drawing, Line, Outline, Text, rectangle

_STRIP = 40.0  # [mm] high: a wide strip lies straight by itself
_TAB = 15.0  # [mm] on which the strip laps over itself
_PAPER = 0.1  # [mm] thick; its middle keeps its length


def tower_wrap_drawing(tower, *, name="tower-wrap"):
    """Drawing of a strip to wrap around the tower's tube: its edge shows where to saw square.

    Parameters
    ----------
    tower : Tower
        The tower as a part.
    name : str
        What to call it.

    Returns
    -------
    Drawing
        CUT: the strip. MARK: where it meets itself, and four lines along the tube a quarter turn apart.

    Raises
    ------
    OutOfRange
        A tube outside 3 to 200 mm.
    UnknownKey
        A pipe that the table does not know.
    """
    outside = tower_diameter(tower)
    within("outer diameter of the tower", outside, low=3.0, high=200.0, unit="mm", try_="check the tube")
    around = math.pi * (outside + _PAPER)
    quarters = [Line(((around * i / 4, 0.0), (around * i / 4, _STRIP)), MARK) for i in range(1, 5)]
    return Drawing(
        name,
        outlines=(Outline(rectangle(around + _TAB, _STRIP), CUT),),
        lines=tuple(quarters),
        texts=(Text(around * 3 / 8, 4.0, "saw here", min(3.0, around / 40)),),
        notes=(
            f"wrap it tight around the tube of {outside:.1f} mm: where its lower edge meets itself the cut is square",
            "the four lines are a quarter turn apart: front, sides and back",
        ),
    )


def tower_cuts(turbine, *, nacelle_height=0.0):
    """Cut list of the tower.

    Parameters
    ----------
    turbine : Turbine
        Tower and base.
    nacelle_height : float
        Top of the tube to the rotor axis [m].

    Returns
    -------
    tuple of tuple of str
        What, and how much.

    Raises
    ------
    OutOfRange
        A rotor axis below the top of the tube, or as high as the whole tower.
    UnknownKey
        A pipe that the table does not know.
    """
    tower, axis = turbine.tower, MM * (turbine.tower.height + turbine.base.height)
    most = 0.9 * tower.height
    within("nacelle height", nacelle_height, low=0.0, high=most, unit="m", try_="measure tube top to shaft middle")
    length = MM * (tower.height - nacelle_height)
    told = f"{MM * tower.height:.0f} mm to the rotor axis less {MM * nacelle_height:.0f} mm of nacelle"
    return (
        ("tube", _tube(tower)),
        ("saw", f"1 piece of {length:.0f} mm from the foot joint's stop to the top, {told}"),
        ("add", "as much as the tube goes into the foot joint: measure the joint, then saw"),
        ("rotor axis", f"{axis:.0f} mm above table or floor when it stands"),
        ("foot joint", {"dry": "pushed in dry", "glued": "glued", "clamped": "clamped"}[tower.joint]),
        ("carries", f"{1000 * tower.top_mass:.0f} g: nacelle, generator and rotor; weigh them"),
        ("blade tips", f"{axis - MM * turbine.rotor.radius:.0f} mm above it at their lowest"),
    )


def _tube(tower):
    if tower.tube.kind == "tube":
        inside = f", {MM * tower.tube.inner_diameter:g} mm inside" if tower.tube.inner_diameter else ", solid"
        return f"{MM * tower.tube.outer_diameter:g} mm outside{inside}"
    row = tables.load("tower/pvc_pipe").find("tower > tube > nominal", nominal=tower.tube.nominal)
    return f"PVC pipe {tower.tube.nominal}: {row.OD_min_mm:g} to {row.OD_max_mm:g} mm outside"
