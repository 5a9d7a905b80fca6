"""Gear geometry: round trips, limits, and the tooth cut by brute force."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange
from whirlbench.physics import gears

TEETH = st.integers(6, 400)
PINIONS = st.integers(6, 30)
SHIFTS = st.floats(-0.05, 0.8)  # two gears of six teeth cannot mesh far below zero
MILLIMETRE = 1e-3


@settings(deadline=None)
@given(st.floats(1e-4, 1.45))
def test_involute_round_trip(angle):
    assert gears.involute_inverse(gears.involute(angle)) == pytest.approx(angle, rel=1e-6)


def test_involute_takes_arrays_and_zero():
    angles = np.linspace(0, 1.4, 7)
    assert gears.involute_inverse(gears.involute(angles)) == pytest.approx(angles, abs=1e-8)


@pytest.mark.parametrize("angle", [20.0, -0.1, math.nan])
def test_involute_refuses_degrees_and_nonsense(angle):
    with pytest.raises(OutOfRange, match="radians"):
        gears.involute(angle)


@settings(deadline=None)
@given(TEETH, TEETH, st.floats(2e-4, 5e-3), st.floats(0, 0.6))
def test_standard_pair_and_scaling(pinion_teeth, wheel_teeth, module, shift):
    mesh = gears.gear_mesh(pinion_teeth, wheel_teeth, module, pinion_shift=shift, wheel_shift=-shift)
    assert mesh.centre_distance == pytest.approx(module * (pinion_teeth + wheel_teeth) / 2)
    assert mesh.working_pressure_angle == pytest.approx(mesh.pressure_angle)
    twice = gears.gear_mesh(pinion_teeth, wheel_teeth, 2 * module, pinion_shift=shift, wheel_shift=-shift)
    assert twice.contact_ratio == pytest.approx(mesh.contact_ratio)
    assert twice.contact_ratio_real == pytest.approx(mesh.contact_ratio_real, abs=1e-9)
    assert twice.pinion.tip_diameter == pytest.approx(2 * mesh.pinion.tip_diameter)


@settings(deadline=None)
@given(TEETH, TEETH, SHIFTS, SHIFTS)
def test_pinion_and_wheel_may_change_places(one, other, shift, other_shift):
    mesh = gears.gear_mesh(one, other, MILLIMETRE, pinion_shift=shift, wheel_shift=other_shift)
    swapped = gears.gear_mesh(other, one, MILLIMETRE, pinion_shift=other_shift, wheel_shift=shift)
    assert swapped.pinion == mesh.wheel
    assert swapped.contact_ratio_real == pytest.approx(mesh.contact_ratio_real, abs=1e-9)
    assert swapped.recess == pytest.approx(mesh.approach)
    assert swapped.ratio == pytest.approx(1 / mesh.ratio)


@settings(deadline=None)
@given(TEETH, TEETH, SHIFTS, SHIFTS)
def test_sizes_hang_together(one, other, shift, other_shift):
    mesh = gears.gear_mesh(one, other, MILLIMETRE, pinion_shift=shift, wheel_shift=other_shift)
    clearance = mesh.centre_distance - (mesh.pinion.tip_diameter + mesh.wheel.root_diameter) / 2
    assert clearance == pytest.approx(0.25 * MILLIMETRE)
    assert 0 <= mesh.contact_ratio_real <= mesh.contact_ratio + 1e-12
    working_radii = [g.base_diameter / 2 / math.cos(mesh.working_pressure_angle) for g in (mesh.pinion, mesh.wheel)]
    assert sum(working_radii) == pytest.approx(mesh.centre_distance)
    thickness = sum(thickness_at(2 * r, g, mesh) for r, g in zip(working_radii, (mesh.pinion, mesh.wheel), strict=True))
    assert thickness == pytest.approx(2 * math.pi * working_radii[0] / one)  # teeth fill the working pitch: no play


def thickness_at(diameter, gear, mesh):
    half = (math.pi / 2 + 2 * gear.shift * math.tan(mesh.pressure_angle)) / gear.teeth
    angle = math.acos(min(1.0, gear.base_diameter / diameter))
    return diameter * (half + gears.involute(mesh.pressure_angle) - gears.involute(angle))


@settings(deadline=None)
@given(PINIONS, TEETH, st.floats(0, 0.5), st.floats(0.01, 0.99))
def test_shafts_further_apart_lose_contact_and_gain_play(pinion_teeth, wheel_teeth, shift, share):
    tight = gears.gear_mesh(pinion_teeth, wheel_teeth, MILLIMETRE, pinion_shift=shift)
    reach = (tight.pinion.tip_diameter + tight.wheel.tip_diameter) / 2
    apart = tight.centre_distance + share * (reach - tight.centre_distance)
    loose = gears.gear_mesh(pinion_teeth, wheel_teeth, MILLIMETRE, pinion_shift=shift, centre_distance=apart)
    assert loose.contact_ratio < tight.contact_ratio
    assert loose.backlash > tight.backlash >= 0
    assert loose.pinion == tight.pinion
    # for a small step the play is the step times 2 tan of the working angle
    step = 1e-7
    near = gears.gear_mesh(
        pinion_teeth, wheel_teeth, MILLIMETRE, pinion_shift=shift, centre_distance=tight.centre_distance + step
    )
    assert near.backlash == pytest.approx(2 * step * math.tan(tight.working_pressure_angle), rel=0.01)


def test_contact_ends_where_the_tips_part():
    tight = gears.gear_mesh(20, 60, MILLIMETRE)
    reach = (tight.pinion.tip_diameter + tight.wheel.tip_diameter) / 2
    apart = gears.gear_mesh(20, 60, MILLIMETRE, centre_distance=reach)
    assert apart.contact_ratio == pytest.approx(0, abs=0.1)
    assert apart.contact_ratio_real >= 0


@pytest.mark.parametrize("distance", [0.0399, 0.0421])
def test_shafts_that_jam_or_miss_are_refused(distance):
    with pytest.raises(OutOfRange, match="jam below"):
        gears.gear_mesh(20, 60, MILLIMETRE, centre_distance=distance)


def cut_start_by_brute_force(teeth, shift):
    """Radius, in modules, above which no place of the cutter's corner lies inside the tooth: a fine raster."""
    angle = math.radians(20)
    radius, depth = teeth / 2, 1 - shift
    base = radius * math.cos(angle)
    roll = np.linspace(-0.2, 1.5, 400_001)  # gear turned by roll while the rack moves radius * roll
    across = radius * roll - depth * math.tan(angle)
    reach = np.hypot(across, radius - depth)
    polar = np.arctan2(across, radius - depth) - roll
    outside = reach > base
    pressure = np.arccos(base / reach[outside])
    flank = np.tan(pressure) - pressure - math.tan(angle) + angle
    inside = polar[outside] > flank + 1e-12
    return reach[outside][inside].max() if inside.any() else base


@pytest.mark.parametrize(
    ("teeth", "shift"), [(6, 0.2), (8, 0.0), (8, 0.45), (10, 0.1), (12, 0.0), (16, 0.0), (17, -0.3)]
)
def test_undercut_agrees_with_a_raster_of_the_cutter(teeth, shift):
    gear = gears.gear_mesh(teeth, 64, MILLIMETRE, pinion_shift=shift).pinion
    assert gear.undercut
    expected = cut_start_by_brute_force(teeth, shift)
    assert gear.involute_start_diameter / 2 / MILLIMETRE == pytest.approx(expected, abs=2e-5)  # the raster's step


@settings(max_examples=40, deadline=None)
@given(PINIONS, st.floats(0.001, 0.3))
def test_undercut_begins_smoothly_at_the_smallest_shift(teeth, beyond):
    least = float(gears.smallest_shift_without_undercut(teeth))
    if not -0.5 < least + beyond < 1.4:
        return
    # beside a rack-like wheel, as the limit is that of a rack
    at, above, below = (
        gears.gear_mesh(teeth, 400, MILLIMETRE, pinion_shift=max(-1.0, least + step)).pinion
        for step in (0, beyond, -1e-4)
    )
    assert at.involute_start_diameter == pytest.approx(at.base_diameter, rel=1e-3)
    assert not above.undercut
    assert above.involute_start_diameter > above.base_diameter
    if least - 1e-4 > -1:
        assert below.undercut
        assert below.involute_start_diameter == pytest.approx(below.base_diameter, rel=1e-3)


def test_eight_unshifted_teeth_do_not_drive():
    mesh = gears.gear_mesh(8, 64, MILLIMETRE)
    assert mesh.contact_ratio > 1.5 > 1 > mesh.contact_ratio_real


def test_a_pointed_tooth_ends_where_its_flanks_meet():
    blunt = gears.gear_mesh(8, 64, MILLIMETRE, pinion_shift=0.55, wheel_shift=-0.55)
    pointed = gears.gear_mesh(8, 64, MILLIMETRE, pinion_shift=0.75, wheel_shift=-0.75)
    assert blunt.pinion.tip_thickness > 0 > pointed.pinion.tip_thickness
    # walk inwards from the tip until the tooth has a thickness
    pinion = pointed.pinion
    diameters = np.linspace(pinion.tip_diameter, pinion.pitch_diameter, 20_001)
    sharp = next(d for d in diameters if thickness_at(d, pinion, pointed) >= 0)
    lost = [math.sqrt(d**2 - pinion.base_diameter**2) / 2 for d in (pinion.tip_diameter, sharp)]
    expected = pointed.contact_ratio - (lost[0] - lost[1]) / pointed.base_pitch
    assert pointed.contact_ratio_real == pytest.approx(expected, abs=1e-4)  # the step of the walk


@settings(deadline=None)
@given(TEETH, st.floats(0, 0.6))
def test_tip_has_the_thickness_asked_for(teeth, thickness):
    shift = gears.largest_shift_for_tip(teeth, thickness)
    if not -0.9 < shift < 0.9:
        return
    # mate shifted the other way: no cut-down of the tip
    gear = gears.gear_mesh(teeth, 400, MILLIMETRE, pinion_shift=shift, wheel_shift=-shift).pinion
    assert gear.tip_thickness / MILLIMETRE == pytest.approx(thickness, abs=1e-9)


@settings(deadline=None)
@given(st.integers(8, 400), st.floats(2e-4, 5e-3), st.floats(-0.5, 0.8))
def test_two_spans_give_module_and_shift(teeth, module, shift):
    spanned = max(2, teeth // 9)
    spans = [gears.span_length(teeth, module, shift=shift, spanned_teeth=k) for k in (spanned, spanned + 1)]
    assert gears.module_and_shift_from_spans(teeth, spanned, *spans) == pytest.approx((module, shift), abs=1e-9)


@pytest.mark.parametrize("teeth", [3, 500, 8.5, math.nan])
def test_teeth_out_of_range_are_refused(teeth):
    with pytest.raises(OutOfRange, match="pinion teeth"):
        gears.gear_mesh(teeth, 64, MILLIMETRE)
    with pytest.raises(OutOfRange, match="teeth"):
        gears.span_length(teeth, MILLIMETRE)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"module": 1.0}, "gear module"),
        ({"pinion_shift": 3.0}, "profile shift"),
        ({"pressure_angle": 20.0}, "pressure angle"),
        ({"wheel_teeth": 6, "pinion_shift": -0.5, "wheel_shift": -0.5}, "sum of the profile shifts"),
    ],
)
def test_other_sizes_out_of_range_are_refused(change, message):
    with pytest.raises(OutOfRange, match=message):
        gears.gear_mesh(**{"pinion_teeth": 8, "wheel_teeth": 64, "module": MILLIMETRE} | change)


def test_spans_that_fit_no_module_are_refused():
    with pytest.raises(OutOfRange, match="gear module"):
        gears.module_and_shift_from_spans(20, 3, 0.0153, 0.0153)
    with pytest.raises(OutOfRange, match="spanned teeth"):
        gears.span_length(8, MILLIMETRE, spanned_teeth=7)
