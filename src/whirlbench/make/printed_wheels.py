"""Gears and pulleys to print, with a bore and a boss for the set screw."""

import numpy as np

from whirlbench.errors import within
from whirlbench.make.drawing import CUT, MM
from whirlbench.make.features import Prism, Rod, Turned, add, cut
from whirlbench.make.gear_outline import gear_drawings
from whirlbench.make.process import process
from whirlbench.make.pulley_outline import belt_width, check_bore, ends, pulley_profile, vee_note
from whirlbench.make.solid import fit, solid

_FLAT = "Lay it flat, boss up: the teeth then lie in the layers."

_LEAST_MODULE = 0.8  # [mm] common practice with a 0.4 mm nozzle
_FINE = f"teeth below module {_LEAST_MODULE:g} mm are too fine for a 0.4 mm nozzle: cut them by laser or buy them"

_GROOVE = {
    "round": "the groove's upper wall prints without supports",
    "flat": "the upper rim is short and bridges without supports",
    "vee": "the groove's upper wall hangs over: support it and pull the supports out clean, or the belt slips",
}


def printed_gears(stage, shafts, *, width=6.0, material="PETG", name="gear"):
    """Both gears of a stage as solids to print.

    Parameters
    ----------
    stage : GearStage
        The stage.
    shafts : tuple of float
        Diameter of the shaft on the rotor's and on the generator's side [mm].
    width : float
        Of the teeth [mm].
    material : str
        ``PLA``, ``PETG`` or ``ABS``.
    name : str
        Stem of both names.

    Returns
    -------
    tuple of Solid
        Rotor's side, generator's side.

    Raises
    ------
    InputError
        A bore too large for its gear, or a tooth cut off at its foot.
    OutOfRange
        Gears that cannot be made or cannot mesh, a width outside 1 to 50 mm.
    """
    within("width of the teeth", width, low=1.0, high=50.0, unit="mm", try_="6 to 10 mm suit a print")
    made = process("printed")
    bores = _bores(shafts)
    drawings = gear_drawings(stage, bores, backlash=made.backlash, name=name)
    solids = []
    for drawing, bore in zip(drawings, bores, strict=True):
        outline = next(each.polygon for each in drawing.outlines if each.layer == CUT)
        root = 2 * float(np.hypot(*np.array(outline.exterior.coords).T).min())
        steps, told = _mounted([add(Prism(outline, 0.0, width))], root, width, bore)
        fine = (_FINE,) if MM * stage.module < _LEAST_MODULE else ()
        notes = (made.note, *drawing.notes, *told, *fine)
        solids.append(solid(drawing.name, steps, material=material, orientation=_FLAT, notes=notes))
    return tuple(solids)


def printed_pulleys(stage, shafts, *, material="PETG", name="pulley"):
    """Both pulleys of a belt stage as solids to print.

    Parameters
    ----------
    stage : BeltStage
        ``round``, ``flat`` or ``vee``; the wheels of a timing belt have to fit its maker's teeth.
    shafts : tuple of float
        Diameter of the shaft on the rotor's and on the generator's side [mm].
    material : str
        ``PLA``, ``PETG`` or ``ABS``.
    name : str
        Stem of both names.

    Returns
    -------
    tuple of Solid
        Rotor's side, generator's side.

    Raises
    ------
    InputError
        A timing belt, or a bore too large for its pulley.
    OutOfRange
        Sizes that no bench belt has.
    """
    solids, width, bores = [], belt_width(stage), _bores(shafts)
    for (side, floor, _), bore in zip(ends(stage, shafts), bores, strict=True):
        outline = pulley_profile(stage.belt, floor, MM * stage.thickness, width=width)
        profile = np.array(outline.exterior.coords)[:-1, ::-1] - (0.0, outline.bounds[0])
        high = float(profile[:, 1].max())
        check_bore(stage, floor, bore, least=fit("wall"), end=side)
        steps, told = _mounted([add(Turned(profile))], floor, high, bore)
        groove = f"{stage.belt} belt: its inner side lies on {floor:.2f} mm"
        angle = (vee_note(floor, width),) if stage.belt == "vee" else ()
        notes = (process("printed").note, groove, *angle, *told)
        orientation = f"Lay it flat, boss up; {_GROOVE[stage.belt]}."
        solids.append(solid(f"{name}-{side}", steps, material=material, orientation=orientation, notes=notes))
    return tuple(solids)


def _bores(shafts):
    for shaft in shafts:
        within("shaft", shaft, low=0.5, high=50, unit="mm", try_="measure the shaft across")
    return tuple(shaft + process("printed").bore_fit for shaft in shafts)


def _mounted(steps, room, width, bore):
    """Steps with bore, and with boss and set screw where the wheel is large enough to carry them."""
    boss, top = bore + 2 * fit("screw grip"), width
    told = f"bore {bore:.2f} mm: too small a wheel for a set screw; press it on, a drop of glue"
    if boss <= room:
        top = width + fit("collar")
        steps = [*steps, add(Rod((0, 0, 0), (0, 0, top), boss))]
        told = f"bore {bore:.2f} mm; an M3 screw in the boss cuts its own thread"
    steps = [*steps, cut(Rod((0, 0, -1), (0, 0, top + 1), bore))]
    if boss <= room:
        z = width + fit("collar") / 2
        steps.append(cut(Rod((0, 0, z), (boss, 0, z), fit("screw hole"))))
    return steps, (told,)
