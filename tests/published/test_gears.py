"""Gear geometry against worked pairs, limits and calliper spans."""

import math
from dataclasses import replace

import pytest
from evidence import rows

from whirlbench.physics import gears

PAIRS = rows("gears/pairs")
SPANS = rows("gears/span_measurement")
STRAIGHT = 1.0  # modules of straight flank of the cutter, said in the table


def printed(number, digits=6):
    """The number give or take half a unit of its last printed digit."""
    unit = 10.0 ** (math.floor(math.log10(abs(number))) - digits + 1) if number else 10.0**-digits
    return pytest.approx(number, abs=0.5001 * unit)


def mesh_of(row):
    return gears.gear_mesh(int(row.z1), int(row.z2), row.module_mm / 1000, pinion_shift=row.x1, wheel_shift=row.x2)


@pytest.mark.parametrize("row", rows("gears/involute_function"), ids=str)
def test_involute_function(row):
    angle = math.radians(row.angle_deg)
    assert gears.involute(angle) == printed(row.inv_rad)
    assert gears.involute_inverse(row.inv_rad) == pytest.approx(angle, rel=5e-6)  # six digits of inv, cubed root


@pytest.mark.parametrize("row", PAIRS, ids=str)
def test_sizes_of_worked_pairs(row):
    mesh = mesh_of(row)
    assert mesh.centre_distance * 1000 == printed(row.centre_distance_mm)
    assert math.degrees(mesh.working_pressure_angle) == printed(row.working_pressure_angle_deg)
    assert mesh.base_pitch * 1000 == printed(row.base_pitch_mm)
    for gear, side in ((mesh.pinion, "1"), (mesh.wheel, "2")):
        assert gear.pitch_diameter * 1000 == printed(getattr(row, f"d{side}_mm"))
        assert gear.base_diameter * 1000 == printed(getattr(row, f"db{side}_mm"))
        assert gear.tip_diameter * 1000 == printed(getattr(row, f"da{side}_mm"))
        assert gear.root_diameter * 1000 == printed(getattr(row, f"df{side}_mm"))
    assert mesh.pinion.tip_thickness * 1000 == printed(row.tip_thickness_1_mm)
    assert mesh.contact_ratio == printed(row.contact_ratio_formula)


def test_the_published_pair_as_its_page_prints_it():
    mesh = mesh_of(PAIRS[0])
    assert mesh.centre_distance * 1000 == pytest.approx(56.500, abs=5e-4)
    assert math.degrees(mesh.working_pressure_angle) == pytest.approx(26.0888, abs=3e-4)  # the page rounds on the way
    assert mesh.pinion.tip_diameter * 1000 == pytest.approx(44.840, abs=5e-4)
    assert mesh.wheel.tip_diameter * 1000 == pytest.approx(79.400, abs=5e-4)
    assert mesh.contact_ratio == pytest.approx(1.202, abs=5e-4)


@pytest.mark.parametrize("row", PAIRS, ids=str)
def test_real_contact_ratio_of_worked_pairs(row):
    real = mesh_of(row).contact_ratio_real
    # The table followed the cutter's corner in steps of 0.001 module and kept the last point inside the tooth, so it
    # reads high by up to 0.002, and never low. The next test takes its steps.
    assert row.contact_ratio_real - 0.002 < real < row.contact_ratio_real + 5e-6


@pytest.mark.parametrize("row", PAIRS, ids=str)
def test_real_contact_ratio_in_the_steps_of_the_table(row):
    mesh = mesh_of(row)
    pinion, angle = mesh.pinion, mesh.pressure_angle
    if not pinion.undercut:
        assert mesh.contact_ratio_real == printed(row.contact_ratio_real)
        return
    radius, depth = pinion.pitch_diameter / 2 / mesh.module, STRAIGHT - pinion.shift
    across = math.sqrt((pinion.involute_start_diameter / 2 / mesh.module) ** 2 - (radius - depth) ** 2)
    rack_travel = across + depth * math.tan(angle)
    stepped = math.floor(rack_travel * 1000) / 1000 - depth * math.tan(angle)
    start = math.hypot(stepped, radius - depth)
    base = radius * math.cos(angle)
    usable = base * math.tan(mesh.working_pressure_angle) - math.sqrt(max(0.0, start**2 - base**2))
    approach = min(mesh.approach, usable * mesh.module / mesh.base_pitch)
    assert mesh.recess + approach == printed(row.contact_ratio_real)


@pytest.mark.parametrize("row", rows("gears/undercut_limits"), ids=str)
def test_limits_of_the_profile_shift(row):
    teeth = int(row.z)
    least = gears.smallest_shift_without_undercut(teeth)
    assert least == printed(row.x_min_no_undercut)
    assert gears.practical_shift(teeth) == printed(row.x_min_practical)
    tips = [gears.largest_shift_for_tip(teeth, thickness) for thickness in (0.0, 0.1, 0.2)]
    assert tips == [printed(row.x_tip_pointed), printed(row.x_tip_0p1m), printed(row.x_tip_0p2m)]
    assert (least <= tips[2]) == (row.both_ok == "yes")


@pytest.mark.parametrize("row", SPANS, ids=str)
def test_spans(row):
    span = gears.span_length(int(row.z), row.module_mm / 1000, shift=row.x, spanned_teeth=int(row.k_teeth))
    assert span * 1000 == printed(row.span_mm)


@pytest.mark.parametrize("row", [row for row in SPANS if row.x == 0], ids=str)
def test_usual_number_of_spanned_teeth(row):
    usual = gears.span_length(int(row.z), row.module_mm / 1000)
    assert usual * 1000 == printed(row.span_mm)


def test_seventeen_teeth_is_the_limit_of_the_unshifted_gear():
    assert gears.smallest_shift_without_undercut(17) > 0 > gears.smallest_shift_without_undercut(18)
    steep = gears.smallest_shift_without_undercut(12, pressure_angle=math.radians(25))
    shallow = gears.smallest_shift_without_undercut(31, pressure_angle=math.radians(14.5))
    assert steep < 0 < shallow  # 11.2 teeth at 25°, 31.9 at 14.5°


def test_shafts_as_far_apart_as_the_table_says_change_nothing():
    row = PAIRS[3]
    tight = mesh_of(row)
    placed = gears.gear_mesh(8, 64, 1e-3, pinion_shift=0.45, centre_distance=tight.centre_distance)
    assert placed == replace(tight, backlash=placed.backlash)
    assert placed.backlash == pytest.approx(0, abs=1e-12)
