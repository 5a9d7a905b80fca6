"""Gears: cut by a rolled rack, measured over teeth, rolled against each other."""

import itertools
import math

import numpy as np
import pytest
import shapely
from evidence import rows
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate
from shapely.geometry import Polygon

from whirlbench.errors import InputError, OutOfRange
from whirlbench.make.gear_outline import gear_drawing, gear_drawings, gear_pair, gear_polygon, gear_shape
from whirlbench.parts.gears import GearStage
from whirlbench.physics.gears import gear_mesh

PAIRS = rows("gears/pairs")
SPANS = rows("gears/span_measurement")
CLOSE = 0.003  # [mm] chords of flanks of module 1, twice


def stage(rotor_teeth, generator_teeth, rotor_shift=0.0, generator_shift=0.0, module=0.001):
    return GearStage(
        rotor_teeth=rotor_teeth,
        generator_teeth=generator_teeth,
        module=module,
        rotor_shift=rotor_shift,
        generator_shift=generator_shift,
    )


def span(polygon, teeth, spanned, pitch_circle):
    """Calliper over some teeth of a drawn gear; its jaws do not reach the roots."""
    pitch = 2 * math.pi / teeth
    corners = np.array(polygon.exterior.coords)
    corners = corners[np.hypot(*corners.T) > pitch_circle * (1 - 1 / teeth)]
    at = (np.arctan2(corners[:, 1], corners[:, 0]) + pitch / 2) % (2 * math.pi)
    middle = (spanned - 1) * pitch / 2
    across = corners[at < spanned * pitch] @ np.array([-math.sin(middle), math.cos(middle)])
    return np.ptp(across)


def cut_by_a_rack(teeth, shift, tip):
    """A gear of module 1 cut out by a rolled rack with round corners, polygon by polygon."""
    slope, radius = math.tan(math.radians(20)), teeth / 2
    foot, top = math.pi / 4 - 1.25 * slope, math.pi / 4 + 1.5 * slope
    sharp = Polygon([(-top, 1.5), (-foot, -1.25), (foot, -1.25), (top, 1.5)])
    tool = sharp.buffer(-0.38, join_style="mitre", mitre_limit=50).buffer(0.38, quad_segs=32)
    tool = tool.union(sharp.intersection(shapely.box(-9, -0.5, 9, 9)))
    space = shapely.union_all(
        [
            rotate(translate(tool, way, radius + shift), way / radius, origin=(0, 0), use_radians=True)
            for way in np.linspace(-3.2, 3.2, 240)
        ]
    )
    spaces = [rotate(space, 360 * number / teeth - 90 + 180 / teeth, origin=(0, 0)) for number in range(teeth)]
    return shapely.Point(0, 0).buffer(tip, quad_segs=500).difference(shapely.union_all(spaces))


def meshed(pair):
    """Both gears, a tooth of the first in a space of the second."""
    first, second = gear_polygon(pair.rotor), gear_polygon(pair.generator)
    return first, rotate(second, 180 + 180 / pair.generator.teeth, origin=(0, 0))


def rolled(pair, first, second, phase, turn=0.0):
    """Area of overlap after the first gear has turned by a share of a pitch, the second by a little more [rad]."""
    one = rotate(first, 360 * phase / pair.rotor.teeth, origin=(0, 0))
    other = rotate(second, -360 * phase / pair.generator.teeth + math.degrees(turn), origin=(0, 0))
    return one.intersection(translate(other, pair.centre_distance, 0.0)).area


def free_turn(pair, first, second, phase, side, least=3e-4):
    """How far the second gear turns to one side until its teeth bite [rad]."""
    low, high = 0.0, side * 0.2 * math.pi / pair.generator.teeth
    for _ in range(22):
        middle = (low + high) / 2
        low, high = (low, middle) if rolled(pair, first, second, phase, middle) > least else (middle, high)
    return low


@pytest.mark.parametrize("row", SPANS, ids=str)
def test_the_calliper_reads_the_span_of_the_table(row):
    polygon = gear_polygon(gear_shape(int(row.z), row.module_mm, shift=row.x))
    middle_of_teeth = row.module_mm * (row.z / 2 + row.x)
    assert span(polygon, int(row.z), int(row.k_teeth), middle_of_teeth) == pytest.approx(
        row.span_mm, abs=0.002 * row.module_mm
    )


@pytest.mark.parametrize(
    ("teeth", "shift", "share"),
    # below an eighth of the tip's flank: rack of 240 steps; 8 teeth have their tips nearly pointed
    [(8, 0.0, 1e-3), (8, 0.35, 1e-3), (12, 0.3, 1e-3), (17, 0.0, 1e-3), (40, -0.3, 1e-3)],
)
def test_a_gear_is_what_a_rack_cuts(teeth, shift, share):
    shape = gear_shape(teeth, 1.0, shift=shift)
    polygon, cut = gear_polygon(shape), cut_by_a_rack(teeth, shift, shape.tip_diameter / 2)
    assert polygon.symmetric_difference(cut).area < share * cut.area
    assert shape.undercut == (shift < 1 - teeth * math.sin(math.radians(20)) ** 2 / 2)


def test_the_rack_check_can_fail():
    shape = gear_shape(17, 1.0, shift=0.05)
    assert gear_polygon(shape).symmetric_difference(cut_by_a_rack(17, 0.0, shape.tip_diameter / 2)).area > 0.5


@pytest.mark.parametrize("row", PAIRS, ids=str)
def test_circles_and_contact_ratio_are_those_of_the_physics(row):
    pair = gear_pair(stage(int(row.z1), int(row.z2), row.x1, row.x2, row.module_mm / 1000))
    assert pair.centre_distance == pytest.approx(row.centre_distance_mm, rel=1e-5)
    assert pair.rotor.root_diameter == pytest.approx(row.df1_mm, abs=1e-3)
    assert pair.rotor.tip_diameter == pytest.approx(row.da1_mm, abs=1e-3 * (1 + row.module_mm))
    if not (pair.rotor.tip_cut or pair.generator.tip_cut):
        assert pair.contact_ratio == pytest.approx(row.contact_ratio_real, rel=2e-3)
    corners = np.hypot(*np.array(gear_polygon(pair.rotor).exterior.coords).T)
    assert corners.max() == pytest.approx(pair.rotor.tip_diameter / 2)
    assert corners.min() == pytest.approx(pair.rotor.root_diameter / 2)


ROLLED = [(64, 8, -0.35, 0.35), (64, 8, 0.0, 0.45), (32, 8, 0.0, 0.45), (64, 10, 0.0, 0.3), (60, 20, 0.0, 0.0)]


@pytest.mark.parametrize("teeth_and_shifts", [*ROLLED, (64, 8, 0.0, 0.0)], ids=str)
@pytest.mark.parametrize("backlash", [0.0, 0.1])
def test_a_pair_rolls_through_a_mesh_without_interference(teeth_and_shifts, backlash):
    pair = gear_pair(stage(*teeth_and_shifts), backlash=backlash)
    first, second = meshed(pair)
    worst = max(rolled(pair, first, second, phase) for phase in np.linspace(0.0, 1.0, 12, endpoint=False))
    assert worst < (1e-3 if backlash == 0.0 else 1e-9)  # tight teeth touch: chords and rounding only


@pytest.mark.parametrize("shorter", [0.05, 0.1])
def test_the_rolling_check_can_fail(shorter):
    pair = gear_pair(stage(*ROLLED[0]))
    near = type(pair)(pair.rotor, pair.generator, pair.centre_distance - shorter, 0.0, 0.0)
    first, second = meshed(near)
    assert max(rolled(near, first, second, phase) for phase in np.linspace(0.0, 1.0, 8)) > 0.01


@pytest.mark.parametrize("teeth_and_shifts", [ROLLED[0], ROLLED[4]], ids=str)
@pytest.mark.parametrize("backlash", [0.1, 0.2])
def test_the_backlash_is_the_one_asked(teeth_and_shifts, backlash):
    pair = gear_pair(stage(*teeth_and_shifts), backlash=backlash)
    assert pair.backlash == pytest.approx(backlash)
    first, second = meshed(pair)
    working = pair.centre_distance * pair.generator.teeth / (pair.generator.teeth + pair.rotor.teeth)
    play = [sum(abs(free_turn(pair, first, second, phase, side)) for side in (-1, 1)) for phase in (0.0, 0.3, 0.6)]
    # teeth bite by 3e-4 mm2 over about 0.1 mm of flank before it is noticed
    assert working * max(play) == pytest.approx(backlash, abs=2 * CLOSE + 0.004)


@pytest.mark.parametrize(
    ("teeth_and_shifts", "longer"),
    # the undercut of 8 teeth with a shift of 0.35 begins so flat that it stays within a micrometre for 0.18 of a pitch
    [(ROLLED[0], 0.2), (ROLLED[2], 0.08), (ROLLED[4], 0.08), ((64, 8, 0.0, 0.0), 0.08)],
    ids=str,
)
def test_one_tooth_drives_as_long_as_the_contact_ratio_says(teeth_and_shifts, longer):
    pair = gear_pair(stage(*teeth_and_shifts), backlash=0.1)
    first, second = meshed(pair)
    half = math.pi / pair.rotor.teeth
    tooth = first.intersection(Polygon([(0, 0), (99, -99 * math.tan(half)), (99, 99 * math.tan(half))]))
    working = pair.centre_distance * pair.generator.teeth / (pair.generator.teeth + pair.rotor.teeth)
    phases = np.linspace(-1.2, 1.2, 121)
    play = np.array([working * free_turn(pair, tooth, second, phase, 1, least=2e-6) for phase in phases])
    driving = np.mean(play < play.min() + 0.0012) * 2.4
    # where the flanks end, corners still touch within a micrometre for about 0.06 of a pitch
    assert pair.contact_ratio - 0.03 < driving < pair.contact_ratio + longer


def test_backlash_of_a_wider_centre_distance_counts():
    wide = stage(60, 20).model_copy(update={"centre_distance": 0.0403})
    free = gear_mesh(60, 20, 0.001, centre_distance=0.0403).backlash * 1000
    assert gear_pair(wide).backlash == pytest.approx(free)
    assert gear_pair(wide).rotor.thinning == 0.0
    assert gear_pair(wide, backlash=free + 0.1).backlash == pytest.approx(free + 0.1)
    assert gear_pair(wide, backlash=free + 0.1).rotor.thinning > 0.0


def test_tips_that_would_break_are_cut_down_and_told():
    shape = gear_shape(8, 1.5, shift=0.5)
    assert shape.tip_cut
    assert "cut down" in " ".join(gear_drawing(shape, 2.0).notes)
    thinned = gear_pair(stage(64, 8, -0.5, 0.5), backlash=0.1)
    assert gear_polygon(thinned.generator).is_valid
    physics = gear_mesh(64, 8, 0.001, pinion_shift=-0.5, wheel_shift=0.5).contact_ratio_real
    assert 1.0 < thinned.contact_ratio < physics


def test_a_compound_train_of_1_to_32_is_drawn():
    train = (stage(64, 8, -0.35, 0.35), stage(32, 8, -0.35, 0.35))
    drawings = [drawing for one in train for drawing in gear_drawings(one, (3.0, 2.0), backlash=0.1)]
    assert [drawing.name for drawing in drawings] == [
        "gear-rotor-64",
        "gear-generator-8",
        "gear-rotor-32",
        "gear-generator-8",
    ]
    assert math.prod(one.step_up for one in train) == 32
    assert all("set the shafts" in " ".join(drawing.notes) for drawing in drawings)


@settings(max_examples=60)
@given(st.integers(6, 120), st.floats(-0.5, 0.8), st.floats(0.3, 4.0))
def test_any_gear_is_whole_or_refused(teeth, shift, module):
    try:
        polygon = gear_polygon(gear_shape(teeth, module, shift=shift))
    except InputError:
        assert teeth < 17
        return
    assert polygon.is_valid
    pitch = rotate(polygon, 360 / teeth, origin=(0, 0))
    assert pitch.symmetric_difference(polygon).area < 2e-3 * module**2 * teeth  # every tooth is the same


@pytest.mark.parametrize("teeth", [3, 500])
def test_gears_that_nobody_can_cut_are_refused(teeth):
    with pytest.raises(OutOfRange, match=rf"teeth: got {teeth}, needs 6 to 400"):
        gear_shape(teeth, 1.0)


def test_a_bore_needs_a_rim():
    with pytest.raises(InputError, match=r"bore: got a bore of 6 mm, needs 0 to"):
        gear_drawing(gear_shape(8, 1.0, shift=0.35), 6.0)


def test_the_same_gear_is_drawn_the_same_way():
    first, second = (gear_polygon(gear_shape(12, 1.0, shift=0.3)) for _ in range(2))
    assert all(one == other for one, other in itertools.zip_longest(first.exterior.coords, second.exterior.coords))
