"""Jigs and fittings to print: pitch gauge, coil former, tower cap for the nacelle."""

import numpy as np
from shapely import box

from whirlbench import tables
from whirlbench.errors import InputError
from whirlbench.make.base_outline import tower_diameter
from whirlbench.make.coil_outline import coil_former_drawings
from whirlbench.make.drawing import CUT, MM
from whirlbench.make.features import Prism, Rod, add, cut
from whirlbench.make.hub_outline import pitch_gauge_drawing
from whirlbench.make.process import process
from whirlbench.make.solid import fit, solid

_CARD = 4.0  # [mm] thickness of a gauge
_CHEEK = 2.0  # [mm] thickness of a former's cheek
_PLATE = 5.0  # [mm]
_SLEEVE = 30.0  # [mm] least depth
_RIM = 10.0  # [mm] of plate around the sleeve


def printed_gauge(rotor, *, radius=None, name="pitch-gauge"):
    """Gauge that sets a blade's angle, as thick as it has to be to stand.

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
    Solid
        The card of ``pitch_gauge_drawing``, 4 mm thick.

    Raises
    ------
    OutOfRange
        A radius off the blade, or an angle outside -60 to 80 degrees.
    InputError
        A section without a known shape.
    """
    drawing = pitch_gauge_drawing(rotor, radius=radius, name=name)
    orientation = "Lay it flat: the angle is then as true as the printer's axes."
    return solid(name, _raised(drawing, 0.0, _CARD), orientation=orientation, notes=drawing.notes)


def printed_former(generator, *, bolt=4.0, name="coil-former"):
    """Former of a hand-wound coil: a cheek with the core, and a loose cheek.

    Parameters
    ----------
    generator : WoundGenerator
        Its winding window is the former's.
    bolt : float
        Diameter of the bolt or spindle through the middle [mm].
    name : str
        Stem of both names.

    Returns
    -------
    tuple of Solid
        Core on its cheek, loose cheek; one pair winds all coils.

    Raises
    ------
    InputError
        Another kind of generator, a bolt too thick for the core, or a window without width or depth.
    """
    cheek, core = coil_former_drawings(generator, bolt, way="printed", name=name)
    width = MM * (generator.distance_far - generator.distance_near)
    rim, middle = _raised(cheek, 0.0, _CHEEK), _raised(core, 0.0, _CHEEK + width)
    told = (
        f"{generator.turns} turns into a window {width:.1f} mm wide; paper on the core lets the coil slide off",
        "tape or glue the coil before the loose cheek comes off",
    )
    kept = {"orientation": "Lay the cheek on the bed, core up.", "notes": (*told, process("printed").note)}
    return (
        solid(f"{name}-core", [rim[0], middle[0], *rim[1:], *middle[1:]], **kept),
        solid(f"{name}-cheek", rim, **kept | {"orientation": "Lay it flat."}),
    )


def tower_adapter(tower, *, plate=None, material="PETG", name="tower-adapter"):
    """Cap that slides over the real tower and carries the nacelle on a plate.

    Parameters
    ----------
    tower : Tower
        Its tube gives the outside diameter, a pipe the greatest that its standard allows.
    plate : tuple of float, optional
        Length and width of the plate [mm]; by default 10 mm wider than the sleeve all around.
    material : str
        ``PLA``, ``PETG`` or ``ABS``.
    name : str
        What to call it.

    Returns
    -------
    Solid
        Plate down on the bed, sleeve up.

    Raises
    ------
    InputError
        A plate too small for its screws beside the sleeve.
    """
    outside = _greatest_outside(tower)
    bore, depth = outside + fit("pipe sleeve"), max(_SLEEVE, outside)
    sleeve = bore + 4 * fit("wall")
    long, wide = plate or (sleeve + 2 * _RIM, sleeve + 2 * _RIM)
    corner = fit("screw clearance") / 2 + fit("wall")
    x, y = long / 2 - corner, wide / 2 - corner
    if not (min(long, wide) >= sleeve and np.hypot(x, y) >= sleeve / 2 + corner):
        got, needs = f"a plate of {long:.1f} x {wide:.1f} mm", f"{sleeve + 2 * _RIM:.0f} mm or so each way"
        raise InputError("plate", got, needs, try_="leave the plate out for one that fits")
    screws = [(sx * x, sy * y) for sx in (-1, 1) for sy in (-1, 1)]
    steps = [
        add(Prism(box(-long / 2, -wide / 2, long / 2, wide / 2), 0.0, _PLATE)),
        add(Rod((0, 0, 0), (0, 0, _PLATE + depth), sleeve)),
        cut(Rod((0, 0, _PLATE), (0, 0, _PLATE + depth + 1), bore)),
        cut(Rod((0, 0, _PLATE + depth / 2), (sleeve, 0, _PLATE + depth / 2), fit("screw hole"))),
        *(cut(Rod((*place, -1), (*place, _PLATE + 1), fit("screw clearance"))) for place in screws),
    ]
    notes = (
        f"bore {bore:.2f} mm, {depth:.0f} mm deep, for a tube of up to {outside:.2f} mm: {bore - outside:.1f} mm loose",
        "one M3 screw through the sleeve keeps it from turning; four more hold the nacelle",
        process("printed").note,
    )
    orientation = "Lay the plate on the bed, sleeve up, without supports."
    return solid(name, steps, material=material, orientation=orientation, notes=notes)


def _greatest_outside(tower):
    """Outside diameter that the sleeve has to pass over [mm]."""
    if tower.tube.kind == "tube":
        return tower_diameter(tower)
    return tables.load("tower/pvc_pipe").find("tower > tube > nominal", nominal=tower.tube.nominal).OD_max_mm


def _raised(drawing, bottom, top):
    """Steps that pull a drawing's parts up, and drill its holes through."""
    plates = [Prism(each.polygon, bottom, top) for each in drawing.outlines if each.layer == CUT]
    circles = [each for each in drawing.circles if each.layer == CUT]
    plates += [Rod((each.x, each.y, bottom), (each.x, each.y, top), each.diameter) for each in circles if not each.hole]
    holes = [
        Rod((each.x, each.y, bottom - 1), (each.x, each.y, top + 1), each.diameter) for each in circles if each.hole
    ]
    return [*map(add, plates), *map(cut, holes)]
