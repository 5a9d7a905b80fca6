"""Geometry of a pair of involute spur gears: where the teeth really touch."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import OutOfRange, within

# ISO 53 basic rack, in modules.
_ADDENDUM = 1.0
_DEDENDUM = 1.25
_STRAIGHT = 1.0  # the straight flank of the cutter ends here; below it the 0.38 m fillet begins

_STANDARD = math.radians(20)
_COUNT_TEETH = (
    "count the teeth of the gear; with fewer than 6 use a belt, with more than 400 check for a slip of the pen"
)
_CALLIPER = "measure the span over several teeth and use module_and_shift_from_spans"
_ANGLE = "hobby gears have 20°, old ones 14.5°; the angle is wanted in radians here"
_SHIFT = "a shift is a number of modules, usually 0 to 0.6 on the small gear"


@dataclass(frozen=True)
class Gear:
    """One gear of a pair.

    Attributes
    ----------
    teeth : int
        Number of teeth.
    shift : float
        Profile shift in modules [-].
    pitch_diameter, base_diameter, tip_diameter, root_diameter : float
        The four circles [m].
    involute_start_diameter : float
        Circle on which the usable involute begins, above the fillet or the undercut [m].
    tip_thickness : float
        Arc thickness of the tooth at its tip [m]; below zero the tooth comes to a point before the tip circle.
    undercut : bool
        Whether the cutter takes away part of the involute.
    """

    teeth: int
    shift: float
    pitch_diameter: float
    base_diameter: float
    tip_diameter: float
    root_diameter: float
    involute_start_diameter: float
    tip_thickness: float
    undercut: bool


@dataclass(frozen=True)
class GearMesh:
    """A pinion and a wheel in mesh.

    Attributes
    ----------
    pinion, wheel : Gear
        The small and the large gear.
    module : float
        Pitch diameter per tooth [m].
    pressure_angle : float
        Of the basic rack [rad].
    centre_distance : float
        Working centre distance [m].
    working_pressure_angle : float
        At that distance [rad].
    base_pitch : float
        Distance of two neighbouring flanks along the line of action [m].
    backlash : float
        Arc play on the working pitch circle, 0 when no centre distance was given [m].
    contact_ratio : float
        Mean number of tooth pairs in contact by the textbook formula, blind to undercut [-].
    contact_ratio_real : float
        The same on the involute that really exists [-]; below 1 the pair does not drive continuously.
    recess, approach : float
        Parts of ``contact_ratio`` from the pitch point to the pinion tip and to the wheel tip [-].
        They are called so for a driving pinion; when the wheel drives, the two change places.
    """

    pinion: Gear
    wheel: Gear
    module: float
    pressure_angle: float
    centre_distance: float
    working_pressure_angle: float
    base_pitch: float
    backlash: float
    contact_ratio: float
    contact_ratio_real: float
    recess: float
    approach: float

    @property
    def ratio(self):
        """Pinion turns per wheel turn [-]."""
        return self.wheel.teeth / self.pinion.teeth


def involute(angle):
    """Involute function inv(a) = tan a - a.

    Parameters
    ----------
    angle : float or array
        Pressure angle [rad].

    Returns
    -------
    float or array, shape of ``angle``
        Angle between the start of the involute and the point [rad].

    Raises
    ------
    OutOfRange
        Below 0 or above 1.5 rad: no tooth is there; most often degrees were passed.

    References
    ----------
    .. [1] ISO 21771, formulas recalled; same set read in D. Bolsover, profile shifted external spur gears.
    """
    within("pressure angle", angle, low=0, high=1.5, unit="rad", try_=_ANGLE)
    return np.tan(angle) - angle


def involute_inverse(value):
    """Pressure angle whose involute function has this value.

    Parameters
    ----------
    value : float or array
        inv(a) [rad].

    Returns
    -------
    float or array, shape of ``value``
        Pressure angle [rad].

    Raises
    ------
    OutOfRange
        Below 0 or above 12: outside ``involute``.

    Notes
    -----
    Newton from an upper bound. The function is convex, so every step stays above the answer and none is wasted.

    References
    ----------
    .. [1] Inverse of [1] in ``involute``; checked on its table and by the round trip.
    """
    within(
        "involute function", value, low=0, high=12, unit="rad", try_="inv(20°) is 0.0149: check the shifts and teeth"
    )
    angle = np.minimum(np.cbrt(3 * np.asarray(value, dtype=float)), np.arctan(np.add(value, math.pi / 2)))
    for _ in range(12):
        slope = np.maximum(np.tan(angle) ** 2, 1e-30)  # flat at zero, where the start is already exact
        angle = angle - (np.tan(angle) - angle - value) / slope
    return angle


def gear_mesh(
    pinion_teeth,
    wheel_teeth,
    module,
    *,
    pinion_shift=0.0,
    wheel_shift=0.0,
    pressure_angle=_STANDARD,
    centre_distance=None,
):
    """Geometry and contact ratios of two external spur gears.

    Parameters
    ----------
    pinion_teeth, wheel_teeth : int
        Teeth of the two gears; the pinion is the smaller one by habit only.
    module : float
        Pitch diameter per tooth [m].
    pinion_shift, wheel_shift : float
        Profile shifts in modules [-].
    pressure_angle : float
        Of the basic rack [rad].
    centre_distance : float, optional
        Distance of the shafts as built [m]; without it the pair runs free of backlash.

    Returns
    -------
    GearMesh
        All sizes and ratios of the pair.

    Raises
    ------
    OutOfRange
        Teeth outside 6 to 400, module outside 0.1 to 10 mm, shifts outside -1 to 1.5, an angle outside 14° to 30°,
        shafts so near that the teeth jam or so far that they miss.

    Notes
    -----
    The tips are cut down so that the bottom clearance stays 0.25 modules without backlash. Gears set further apart
    keep their size and lose contact ratio. ``contact_ratio_real`` ends the path where the usable involute of either
    gear ends (trochoid of the cutter's corner crossing the involute), at the interference points, and at a pointed tip.
    The corner is taken sharp at the end of its straight flank; its fillet takes at most 0.003 more (8 teeth, computed).

    References
    ----------
    .. [1] ISO 53 basic rack and ISO 21771 formulas, recalled; same set read in D. Bolsover, profile shifted external
       spur gears, whose 12/24 example is reproduced.
    """
    teeth, shift = (pinion_teeth, wheel_teeth), (pinion_shift, wheel_shift)
    _check_pair(teeth, shift, module, pressure_angle)
    standard_distance = module * sum(teeth) / 2
    tight_angle = _tight_angle(sum(teeth), sum(shift), pressure_angle)
    tight = standard_distance * math.cos(pressure_angle) / math.cos(tight_angle)
    spread = (tight - standard_distance) / module
    pinion, wheel = (
        _gear(teeth[i], shift[i], module, pressure_angle, addendum=_ADDENDUM + spread - shift[1 - i]) for i in (0, 1)
    )
    distance = tight if centre_distance is None else _checked_distance(centre_distance, tight, pinion, wheel)
    angle = math.acos(min(1.0, standard_distance * math.cos(pressure_angle) / distance))
    base_pitch = math.pi * module * math.cos(pressure_angle)
    recess, approach = (path / base_pitch for path in _formula_path(pinion, wheel, angle))
    return GearMesh(
        pinion=pinion,
        wheel=wheel,
        module=module,
        pressure_angle=pressure_angle,
        centre_distance=distance,
        working_pressure_angle=angle,
        base_pitch=base_pitch,
        backlash=max(0.0, 2 * distance * (_inv(angle) - _inv(tight_angle))),
        contact_ratio=recess + approach,
        contact_ratio_real=_real_path(pinion, wheel, angle) / base_pitch,
        recess=recess,
        approach=approach,
    )


def smallest_shift_without_undercut(teeth, *, pressure_angle=_STANDARD):
    """Smallest profile shift that leaves the whole involute standing.

    Parameters
    ----------
    teeth : int or array
        Teeth of the gear.
    pressure_angle : float
        Of the basic rack [rad].

    Returns
    -------
    float or array, shape of ``teeth``
        Shift in modules [-]; negative where the gear may even be shifted inwards.

    Raises
    ------
    OutOfRange
        Teeth outside 6 to 400 or an angle outside 14° to 30°.

    References
    ----------
    .. [1] ISO 21771, x = 1 - z sin²a / 2, recalled; the 17-tooth limit it gives was read in two gear manuals.
    """
    _check_teeth("teeth", teeth)
    _check_angle(pressure_angle)
    return _STRAIGHT - np.asarray(teeth) * math.sin(pressure_angle) ** 2 / 2


def practical_shift(teeth):
    """Profile shift by the workshop rule (14 - z) / 17, which accepts a slight undercut at 20°.

    Parameters
    ----------
    teeth : int or array
        Teeth of the gear.

    Returns
    -------
    float or array, shape of ``teeth``
        Shift in modules [-].

    Raises
    ------
    OutOfRange
        Teeth outside 6 to 400.

    References
    ----------
    .. [1] Common practice; the 14-tooth limit was read in a gear manual.
    """
    _check_teeth("teeth", teeth)
    return (14 - np.asarray(teeth)) / 17


def largest_shift_for_tip(teeth, thickness_modules=0.2, *, pressure_angle=_STANDARD):
    """Largest profile shift that leaves the uncut tip this thick.

    Parameters
    ----------
    teeth : int
        Teeth of the gear.
    thickness_modules : float
        Wanted arc thickness of the tip in modules [-]; 0 is a pointed tooth, 0.2 the usual least (common practice).
    pressure_angle : float
        Of the basic rack [rad].

    Returns
    -------
    float
        Shift in modules [-].

    Raises
    ------
    OutOfRange
        Teeth outside 6 to 400, thickness outside 0 to 0.6 modules or an angle outside 14° to 25°, above which
        such a tip may not exist.

    References
    ----------
    .. [1] ISO 21771 tooth thickness formula, recalled. No published check of the solved shifts was found.
    """
    _check_teeth("teeth", teeth)
    within(
        "tip thickness", thickness_modules, low=0, high=0.6, unit="modules", try_="0.2 is usual, 0 is a pointed tooth"
    )
    within("pressure angle", pressure_angle, low=math.radians(14), high=math.radians(25), unit="rad", try_=_ANGLE)

    def spare(shift):
        tip = teeth + 2 * (_ADDENDUM + shift)
        return _thickness(tip, teeth, shift, pressure_angle) - thickness_modules

    return _crossing(spare, -1.0, teeth / 2)


def span_length(teeth, module, *, shift=0.0, spanned_teeth=None, pressure_angle=_STANDARD):
    """Calliper reading over several teeth (base tangent length).

    Parameters
    ----------
    teeth : int
        Teeth of the gear.
    module : float
        Pitch diameter per tooth [m].
    shift : float
        Profile shift in modules [-].
    spanned_teeth : int, optional
        Teeth between the jaws; without it about a ninth of all and a half, at least two.
    pressure_angle : float
        Of the basic rack [rad].

    Returns
    -------
    float
        Span [m].

    Raises
    ------
    OutOfRange
        Teeth outside 6 to 400, module outside 0.1 to 10 mm, or more teeth spanned than half of the gear has.

    References
    ----------
    .. [1] Span formula read on a gear calculation page with its example 15.321 mm, reproduced.
    """
    _check_teeth("teeth", teeth)
    _check_module(module)
    _check_angle(pressure_angle)
    if spanned_teeth is None:
        spanned_teeth = max(2, round(teeth / 9 + 0.5))
    within(
        "spanned teeth", spanned_teeth, low=1, high=teeth / 2, unit="", try_="span about one tooth in nine, plus one"
    )
    turned = math.pi * (spanned_teeth - 0.5) + teeth * _inv(pressure_angle)
    return module * (math.cos(pressure_angle) * turned + 2 * shift * math.sin(pressure_angle))


def module_and_shift_from_spans(teeth, spanned_teeth, span, span_one_more, *, pressure_angle=_STANDARD):
    """Module and profile shift of an unknown gear from two calliper readings.

    Parameters
    ----------
    teeth : int
        Teeth of the gear.
    spanned_teeth : int
        Teeth between the jaws for the first reading.
    span, span_one_more : float
        Readings over ``spanned_teeth`` and over one tooth more [m].
    pressure_angle : float
        Of the basic rack [rad].

    Returns
    -------
    tuple of float
        Module [m] and shift in modules [-].

    Raises
    ------
    OutOfRange
        The two readings differ by no base pitch of a module from 0.1 to 10 mm.

    Notes
    -----
    The difference of the readings is the base pitch whatever the shift is. The shift carries the doubt of a difference:
    round the module to a standard one and repeat before trusting it.

    References
    ----------
    .. [1] Same as ``span_length``; checked by the round trip.
    """
    _check_angle(pressure_angle)
    module = (span_one_more - span) / (math.pi * math.cos(pressure_angle))
    _check_module(module)
    unshifted = span_length(teeth, module, spanned_teeth=spanned_teeth, pressure_angle=pressure_angle)
    return module, (span - unshifted) / (2 * module * math.sin(pressure_angle))


def _inv(angle):
    """``involute`` of one angle known to be in range, for the inner loops."""
    return math.tan(angle) - angle


def _check_teeth(what, teeth):
    within(what, teeth, low=6, high=400, unit="teeth", try_=_COUNT_TEETH)
    if np.any(np.asarray(teeth) % 1):
        raise OutOfRange(what, f"{teeth}", "a whole number of teeth", try_=_COUNT_TEETH)


def _check_module(module):
    within("gear module", module, low=1e-4, high=1e-2, unit="m", try_=_CALLIPER)


def _check_angle(pressure_angle):
    within("pressure angle", pressure_angle, low=math.radians(14), high=math.radians(30), unit="rad", try_=_ANGLE)


def _check_pair(teeth, shifts, module, pressure_angle):
    _check_teeth("pinion teeth", teeth[0])
    _check_teeth("wheel teeth", teeth[1])
    _check_module(module)
    _check_angle(pressure_angle)
    within("profile shift", shifts, low=-1, high=1.5, unit="modules", try_=_SHIFT)


def _checked_distance(centre_distance, tight, pinion, wheel):
    reach = (pinion.tip_diameter + wheel.tip_diameter) / 2
    advice = f"the teeth jam below {tight * 1000:.3f} mm and miss each other above {reach * 1000:.3f} mm"
    # A nanometre of grace: a distance typed from our own rounded answer is not a jam.
    within("centre distance", centre_distance, low=tight - 1e-9, high=reach, unit="m", try_=advice)
    return float(centre_distance)


def _tight_angle(teeth_sum, shift_sum, pressure_angle):
    """Working pressure angle without backlash [rad]."""
    value = _inv(pressure_angle) + 2 * math.tan(pressure_angle) * shift_sum / teeth_sum
    if value <= 0:
        raise OutOfRange("sum of the profile shifts", f"{shift_sum:g}", "shifts that can mesh", try_=_SHIFT)
    return float(involute_inverse(value))


def _gear(teeth, shift, module, pressure_angle, *, addendum):
    pitch = module * teeth
    base = pitch * math.cos(pressure_angle)
    tip = pitch + 2 * module * addendum
    start = _involute_start(teeth, shift, pressure_angle, tip=tip / module)
    return Gear(
        teeth=int(teeth),
        shift=shift,
        pitch_diameter=pitch,
        base_diameter=base,
        tip_diameter=tip,
        root_diameter=pitch - 2 * module * (_DEDENDUM - shift),
        involute_start_diameter=module * start,
        tip_thickness=module * _thickness(tip / module, teeth, shift, pressure_angle),
        undercut=bool(shift < smallest_shift_without_undercut(teeth, pressure_angle=pressure_angle)),
    )


def _thickness(diameter, teeth, shift, pressure_angle):
    """Arc thickness of a tooth at a diameter; both in modules."""
    angle = math.acos(min(1.0, teeth * math.cos(pressure_angle) / diameter))
    half = (math.pi / 2 + 2 * shift * math.tan(pressure_angle)) / teeth
    return diameter * (half + _inv(pressure_angle) - _inv(angle))


def _involute_start(teeth, shift, pressure_angle, *, tip):
    """Diameter, in modules, on which the involute left by a straight-flanked cutter begins."""
    radius, depth = teeth / 2, _STRAIGHT - shift
    base = radius * math.cos(pressure_angle)
    left_over = radius * math.sin(pressure_angle) - depth / math.sin(pressure_angle)
    if left_over >= 0:  # the cutter's corner stops short of the base tangent point: no undercut
        return 2 * math.hypot(base, left_over)

    def cut_into_tooth(across):
        """Angle by which the corner's trochoid lies inside the tooth, ``across`` from the line of centres."""
        reach = math.hypot(across, radius - depth)
        trochoid = math.atan2(across, radius - depth) - (across + depth * math.tan(pressure_angle)) / radius
        return trochoid - _inv(math.acos(min(1.0, base / reach))) + _inv(pressure_angle)

    def across_at(reach):
        return math.sqrt(reach**2 - (radius - depth) ** 2)

    if cut_into_tooth(across_at(tip / 2)) > 0:
        return tip  # nothing of the flank is left
    return 2 * math.hypot(_crossing(cut_into_tooth, across_at(base), across_at(tip / 2)), radius - depth)


def _crossing(function, low, high):
    """Where a function that is positive at ``low`` and negative at ``high`` goes through zero."""
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if function(middle) > 0 else (low, middle)
    return (low + high) / 2


def _from_tangent_point(diameter, gear):
    """Distance along the line of action from the base tangent point to a circle of the gear [m]."""
    return math.sqrt(max(0.0, diameter**2 - gear.base_diameter**2)) / 2


def _to_pitch_point(gear, working_angle):
    return gear.base_diameter / 2 * math.tan(working_angle)


def _formula_path(pinion, wheel, working_angle):
    """Lengths of action on the pinion's and on the wheel's tip side by the textbook [m]."""
    return tuple(_from_tangent_point(g.tip_diameter, g) - _to_pitch_point(g, working_angle) for g in (pinion, wheel))


def _real_path(pinion, wheel, working_angle):
    """Length of action on the flanks that exist [m]."""
    sides = []
    for gear, mate in ((pinion, wheel), (wheel, pinion)):
        tip = _from_tangent_point(_sharp_tip(gear), gear) - _to_pitch_point(gear, working_angle)
        root = _to_pitch_point(mate, working_angle) - _from_tangent_point(mate.involute_start_diameter, mate)
        sides.append(min(tip, root))
    return max(0.0, sum(sides))


def _sharp_tip(gear):
    """Tip diameter, or the one on which the flanks meet if that comes first [m]."""
    if gear.tip_thickness >= 0:
        return gear.tip_diameter
    angle_0 = math.acos(gear.base_diameter / gear.pitch_diameter)
    half = (math.pi / 2 + 2 * gear.shift * math.tan(angle_0)) / gear.teeth
    return gear.base_diameter / math.cos(float(involute_inverse(half + _inv(angle_0))))
