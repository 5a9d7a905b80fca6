"""Outline of a spur gear as a rack with rounded corners would cut it, undercut and all."""

import math
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from whirlbench.errors import InputError, within
from whirlbench.make.drawing import CUT, MARK, MM, Circle, Drawing, Line, Outline
from whirlbench.physics.gears import gear_mesh

# ISO 53 basic rack, in modules: the cutter's tooth is 1.25 deep with corners of 0.38, so its flank is straight to 1.0.
_DEPTH, _CORNER, _STRAIGHT = 1.25, 0.38, 1.0
_PRESSURE = math.radians(20)
_FLANK_POINTS, _FILLET_POINTS, _ARC_POINTS = 24, 24, 5
_CLOSE = 0.0005  # modules: points that change the outline by less are left out
_LEAST_TIP = 0.1  # modules of arc; 0.2 is the usual least, below 0.1 nothing is left of it (common practice)
_LEAST_RIM = 1.0  # modules of material between bore and root


@dataclass(frozen=True)
class GearShape:
    """One gear, ready to draw.

    Attributes
    ----------
    teeth : int
        Number of teeth.
    module : float
        [mm].
    shift : float
        Profile shift in modules [-].
    tip_diameter : float
        As drawn: cut down for clearance, and where the tip would be thinner than 0.1 modules [mm].
    root_diameter : float
        [mm].
    thinning : float
        Angle by which each tooth is narrower than a tight one [rad].
    undercut : bool
        The cutter takes away part of the flank.
    tip_cut : bool
        The tip was cut down because it would be too thin.
    """

    teeth: int
    module: float
    shift: float
    tip_diameter: float
    root_diameter: float
    thinning: float
    undercut: bool
    tip_cut: bool


@dataclass(frozen=True)
class GearPair:
    """Both gears of a stage.

    Attributes
    ----------
    rotor, generator : GearShape
        The gear on the rotor's and on the generator's side.
    centre_distance : float
        To be built [mm].
    backlash : float
        Play along the working pitch circle that the drawing gives [mm].
    contact_ratio : float
        On the flanks that exist [-]; below 1 the pair does not drive evenly.
    """

    rotor: GearShape
    generator: GearShape
    centre_distance: float
    backlash: float
    contact_ratio: float


def gear_pair(stage, *, backlash=0.0):
    """Gears of a stage, teeth thinned evenly for the backlash asked.

    Parameters
    ----------
    stage : GearStage
        The stage as a part; its centre distance, if told, already gives some backlash.
    backlash : float
        Play along the working pitch circle [mm].

    Returns
    -------
    GearPair
        What to draw and how far apart to set it.

    Raises
    ------
    OutOfRange
        Teeth, module, shifts or shafts that cannot mesh, more than 400 teeth, or backlash outside 0 to half a module.
    """
    within("teeth", (stage.rotor_teeth, stage.generator_teeth), low=6, high=400, unit="", try_="use two stages instead")
    module = MM * stage.module
    within("backlash", backlash, low=0.0, high=0.5 * module, unit="mm", try_="0.1 mm suits a print of module 1")
    mesh = gear_mesh(
        stage.rotor_teeth,
        stage.generator_teeth,
        stage.module,
        pinion_shift=stage.rotor_shift,
        wheel_shift=stage.generator_shift,
        centre_distance=stage.centre_distance,
    )
    distance, free = MM * mesh.centre_distance, MM * mesh.backlash
    missing = max(0.0, backlash - free)
    share = missing / 2 / distance  # half of it on each working pitch circle
    whole = stage.rotor_teeth + stage.generator_teeth
    shapes = [
        gear_shape(
            gear.teeth,
            module,
            shift=gear.shift,
            tip_diameter=MM * gear.tip_diameter,
            thinning=share * whole / gear.teeth,
        )
        for gear in (mesh.pinion, mesh.wheel)
    ]
    return GearPair(*shapes, distance, free + missing, _contact_ratio(mesh, shapes))


def gear_shape(teeth, module, *, shift=0.0, tip_diameter=None, thinning=0.0):
    """One gear checked and with its tip cut down to where it is thick enough to live.

    Parameters
    ----------
    teeth : int
        Number of teeth, 6 to 400.
    module : float
        [mm].
    shift : float
        Profile shift in modules, -0.8 to 0.8 [-].
    tip_diameter : float, optional
        [mm]; by default one module outside the shifted pitch circle.
    thinning : float
        Angle by which each tooth is narrower than a tight one [rad].

    Returns
    -------
    GearShape
        What to draw.

    Raises
    ------
    OutOfRange
        Teeth, module or shift outside what can be cut.
    InputError
        A tooth that the cutter would cut off at its foot.
    """
    within("teeth", teeth, low=6, high=400, unit="", try_="below 6 use a belt, above 400 use two stages")
    within("module", module, low=0.3, high=10.0, unit="mm", try_="0.5 to 2 mm suit a bench-top turbine")
    within("profile shift", shift, low=-0.8, high=0.8, unit="modules", try_="0.35 on 8 teeth is usual")
    wanted = module * (teeth + 2 + 2 * shift) if tip_diameter is None else tip_diameter
    shape = GearShape(
        teeth=int(teeth),
        module=float(module),
        shift=float(shift),
        tip_diameter=float(wanted),
        root_diameter=module * (teeth - 2 * (_DEPTH - shift)),
        thinning=float(thinning),
        undercut=shift < _STRAIGHT - teeth * math.sin(_PRESSURE) ** 2 / 2,
        tip_cut=False,
    )
    if _arc_at(shape, wanted) >= _LEAST_TIP * module:
        return shape
    return replace(shape, tip_diameter=_living_tip(shape), tip_cut=True)


def gear_polygon(shape):
    """Outline of a gear's teeth, without its bore.

    Parameters
    ----------
    shape : GearShape
        From ``gear_shape`` or ``gear_pair``.

    Returns
    -------
    shapely Polygon
        Axis at the origin, the middle of a tooth on the x axis [mm].

    Raises
    ------
    InputError
        A tooth that the cutter would cut off at its foot.

    Notes
    -----
    Each flank is the narrower of two curves: the involute that the cutter's straight flank leaves, and the trochoid
    that its round corner leaves. Where they cross above the base circle the tooth is undercut. Points lie on the
    curves; chords leave at most 0.001 modules.

    References
    ----------
    .. [1] ISO 53 basic rack, recalled. Areas were compared with gears cut out by a rolled rack polygon.
    """
    radius, half = _flank(shape)
    pitch = 2.0 * math.pi / shape.teeth
    tip = np.linspace(-half[-1], half[-1], _ARC_POINTS)[1:-1]
    root = np.linspace(half[0], pitch - half[0], _ARC_POINTS)[1:-1]
    angles = np.concatenate([-half, tip, half[::-1], root])
    radii = np.concatenate([radius, np.full_like(tip, radius[-1]), radius[::-1], np.full_like(root, radius[0])])
    turned = angles + pitch * np.arange(shape.teeth)[:, None]
    corners = np.stack([radii * np.cos(turned), radii * np.sin(turned)], axis=-1).reshape(-1, 2)
    polygon = Polygon(corners).simplify(_CLOSE * shape.module)
    if not polygon.is_valid:
        got = f"{shape.teeth} teeth with a shift of {shape.shift:g}"
        raise InputError("gear", got, "teeth that stand on a foot", try_="give a small gear a shift of 0.3 or more")
    return polygon


def gear_drawing(shape, bore, *, name="gear"):
    """Drawing of a gear with its bore and what to check it by.

    Parameters
    ----------
    shape : GearShape
        From ``gear_shape`` or ``gear_pair``.
    bore : float
        Diameter of the hole [mm], tolerance already in it; 0 for none.
    name : str
        What to call it.

    Returns
    -------
    Drawing
        Axis at the origin. CUT: teeth and bore. MARK: pitch circle, a dash on tooth 1, its name. The notes tell teeth,
        module, shift and the span to measure.

    Raises
    ------
    InputError
        A bore that leaves less than a module below the teeth, or a tooth cut off at its foot.
    """
    room = shape.root_diameter - 2 * _LEAST_RIM * shape.module
    if not 0.0 <= bore <= room:
        got, needs = f"a bore of {bore:g} mm", f"0 to {max(0.0, room):.2f} mm in this gear"
        raise InputError("bore", got, needs, try_="take a thinner shaft, a larger module or more teeth")
    reach = shape.root_diameter / 2
    return Drawing(
        name,
        outlines=(Outline(gear_polygon(shape), CUT),),
        circles=(
            *((Circle(0.0, 0.0, bore, CUT),) if bore else ()),
            Circle(0.0, 0.0, shape.module * shape.teeth, MARK, hole=False),
        ),
        lines=(Line(((0.8 * reach, 0.0), (reach, 0.0)), MARK),),
        notes=_notes(shape),
    )


def gear_drawings(stage, bores, *, backlash=0.0, name="gear"):
    """Drawings of both gears of a stage.

    Parameters
    ----------
    stage : GearStage
        The stage as a part.
    bores : tuple of float
        Bore of the gear on the rotor's and on the generator's side [mm].
    backlash : float
        Play along the working pitch circle [mm].
    name : str
        Stem of both names.

    Returns
    -------
    tuple of Drawing
        Rotor's side, generator's side.

    Raises
    ------
    OutOfRange
        Gears that cannot be made or cannot mesh.
    InputError
        A bore too large, or a tooth cut off at its foot.
    """
    pair = gear_pair(stage, backlash=backlash)
    told = (
        f"set the shafts {pair.centre_distance:.2f} mm apart: {pair.backlash:.2f} mm of play between the teeth",
        *(
            (f"real contact ratio {pair.contact_ratio:.2f}: it will not drive evenly",)
            if pair.contact_ratio < 1
            else ()
        ),
    )
    ends = ((pair.rotor, bores[0], "rotor"), (pair.generator, bores[1], "generator"))
    made = (gear_drawing(shape, bore, name=f"{name}-{end}-{shape.teeth}") for shape, bore, end in ends)
    return tuple(replace(drawing, notes=drawing.notes + told) for drawing in made)


def _contact_ratio(mesh, shapes):
    """Contact ratio on the flanks that exist, with the tips as drawn."""
    slope, path = math.tan(mesh.working_pressure_angle), 0.0
    for gear, mate, shape in ((mesh.pinion, mesh.wheel, shapes[0]), (mesh.wheel, mesh.pinion, shapes[1])):
        tip = math.sqrt(max(0.0, (shape.tip_diameter / MM) ** 2 - gear.base_diameter**2)) - gear.base_diameter * slope
        start = math.sqrt(max(0.0, mate.involute_start_diameter**2 - mate.base_diameter**2))
        path += min(tip, mate.base_diameter * slope - start) / 2
    return max(0.0, path / mesh.base_pitch)


def _half_angle(shape, diameter):
    """Half of a tooth's angle where its flank is an involute [rad]."""
    upright = (math.pi / 2 + 2 * shape.shift * math.tan(_PRESSURE)) / shape.teeth + _inv(_PRESSURE)
    base = shape.module * shape.teeth * math.cos(_PRESSURE)
    return upright - _inv(np.arccos(np.minimum(1.0, base / diameter))) - shape.thinning / 2


def _inv(angle):
    return np.tan(angle) - angle


def _arc_at(shape, diameter):
    return float(diameter * _half_angle(shape, diameter))


def _living_tip(shape):
    """Largest tip diameter that keeps the tip thick enough [mm]."""
    low, high = shape.module * shape.teeth * math.cos(_PRESSURE), shape.tip_diameter
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _arc_at(shape, middle) > _LEAST_TIP * shape.module else (low, middle)
    return low


def _flank(shape):
    """Radius [mm] and half angle [rad] of a tooth from its root to its tip."""
    foot_radius, foot_half = _trochoid(shape)
    base = shape.module * shape.teeth * math.cos(_PRESSURE) / 2
    tip = shape.tip_diameter / 2
    start = _involute_start(shape)
    if start >= tip:
        got = f"{shape.teeth} teeth with a shift of {shape.shift:g}"
        raise InputError("gear", got, "a flank left by the cutter", try_="give a small gear a shift of 0.3 or more")
    below = foot_radius < start - 1e-9
    roll = np.linspace(math.sqrt(start**2 - base**2), math.sqrt(tip**2 - base**2), _FLANK_POINTS)
    radius = np.concatenate([foot_radius[below], np.hypot(base, roll)])
    return radius, np.concatenate([foot_half[below], _half_angle(shape, 2 * np.hypot(base, roll))])


def _trochoid(shape, points=_FILLET_POINTS):
    """What the cutter's round corner leaves: radius [mm] and half angle of the tooth [rad], root first.

    The corner touches where the normal of its arc passes through the rolling point, for every direction of the normal
    from straight down to that of the flank.
    """
    normal = np.linspace(0.0, math.pi / 2 - _PRESSURE, points)
    pitch_radius, depth = shape.teeth / 2, _DEPTH - _CORNER - shape.shift
    across = math.pi / 4 - _STRAIGHT * math.tan(_PRESSURE) - _CORNER * math.cos(_PRESSURE)
    rolled = across - depth * np.tan(normal)
    x = across + _CORNER * np.sin(normal) - rolled
    y = pitch_radius - depth - _CORNER * np.cos(normal)
    space = np.arctan2(x, y) + rolled / pitch_radius
    return shape.module * np.hypot(x, y), math.pi / shape.teeth - space - shape.thinning / 2


def _involute_start(shape):
    """Radius where the involute takes over from the trochoid [mm]."""
    radius, half = _trochoid(shape, points=2001)
    base = shape.module * shape.teeth * math.cos(_PRESSURE) / 2
    if not shape.undercut:
        return float(radius[-1])
    outside = radius > base
    inside_tooth = half[outside] < _half_angle(shape, 2 * radius[outside])
    last = int(np.flatnonzero(inside_tooth)[-1]) if inside_tooth.any() else 0
    return float(radius[outside][min(last + 1, outside.sum() - 1)])


def _notes(shape):
    told = [f"{shape.teeth} teeth, module {shape.module:g} mm, shift {shape.shift:g}"]
    told.append(f"tip circle {shape.tip_diameter:.2f} mm, root circle {shape.root_diameter:.2f} mm")
    if shape.undercut:
        told.append("the foot is undercut: a shift makes it stronger")
    if shape.tip_cut:
        told.append(f"tips cut down to stay {_LEAST_TIP * shape.module:.2f} mm thick")
    return tuple(told)
