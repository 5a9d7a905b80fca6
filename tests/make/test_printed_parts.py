"""Hub, gears, pulleys, gauge, former and tower cap: closed, the size that their parts say, and refused when absurd."""

import math

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon
from turbines import example

from whirlbench.errors import InputError, InputErrors, OutOfRange, UnknownKey
from whirlbench.make.gear_outline import gear_pair, gear_polygon
from whirlbench.make.hub_outline import hub_holes
from whirlbench.make.mesh import is_closed, level
from whirlbench.make.printed_hub import printed_hub
from whirlbench.make.printed_jigs import printed_former, printed_gauge, tower_adapter
from whirlbench.make.printed_wheels import printed_gears, printed_pulleys
from whirlbench.make.pulley_outline import pulley_profile
from whirlbench.parts.belts import BeltStage
from whirlbench.parts.gears import GearStage
from whirlbench.parts.part import build

ADVANCED = example("advanced")
PINION = {"rotor_teeth": 64, "generator_teeth": 8, "module": 0.0015, "rotor_shift": -0.35, "generator_shift": 0.35}


def with_rotor(**fields):
    return ADVANCED.changed(rotor=ADVANCED.rotor.changed(weighed=(), **fields))


def roomy(holes, used):
    hub = ADVANCED.rotor.hub.changed(holes=holes, radius=0.04)
    return with_rotor(hub=hub, holes=used, rod=ADVANCED.rotor.rod.changed(diameter=0.006, socket_depth=0.015))


def every_solid():
    turbine = roomy(12, tuple(range(1, 13)))
    belt = BeltStage(rotor_diameter=0.06, generator_diameter=0.02, thickness=0.003)
    return [
        printed_hub(turbine),
        *printed_gears(ADVANCED.drivetrain[0], (8.0, 5.0)),
        *printed_gears(build(GearStage, PINION), (6.0, 2.0)),
        *printed_pulleys(belt, (6.0, 2.0)),
        *printed_pulleys(belt.changed(belt="flat", thickness=0.001), (6.0, 2.0)),
        printed_gauge(ADVANCED.rotor),
        *printed_former(ADVANCED.generator),
        tower_adapter(ADVANCED.tower),
    ]


def test_all_close_and_say_how_to_print_them():
    for part in every_solid():
        mesh = trimesh.Trimesh(part.mesh.vertices, part.mesh.triangles, process=False)
        assert is_closed(part.mesh), part.name
        assert mesh.is_volume, part.name
        assert mesh.body_count == 1, part.name
        assert part.volume == pytest.approx(mesh.volume)
        assert part.mesh.vertices[:, 2].min() == pytest.approx(0, abs=1e-9), "it stands on the bed"
        assert part.orientation
        assert any("common practice" in note for note in part.notes) or part.name == "pitch-gauge"


@pytest.mark.parametrize(("holes", "used"), [(12, (1, 3, 5, 8, 10)), (12, tuple(range(1, 13))), (2, (1, 2)), (3, (1,))])
def test_rod_holes_stand_at_the_pattern(holes, used):
    turbine = roomy(holes, used)
    hub = printed_hub(turbine)
    middle = level(hub.mesh, 0.5 * (6.2 + 6.4))
    outside = Point(0, 0).buffer(39.5).exterior
    gaps = outside.difference(middle)
    found = np.array([(piece.centroid.x, piece.centroid.y) for piece in _joined(gaps)])
    assert len(found) == holes
    for hole in hub_holes(turbine.rotor, 1.0):
        ways = found @ (-hole.x, hole.y) / np.linalg.norm(found, axis=1)
        assert 39.5 * math.acos(min(1.0, ways.max())) < 0.05
    assert hub.notes[1].startswith(f"{holes} rod holes")


def _joined(gaps):
    """Arcs, those that meet where a circle begins made one."""
    merged = gaps.buffer(1e-6)
    return list(getattr(merged, "geoms", [merged]))


def test_the_bore_is_real_and_goes_through():
    hub = printed_hub(ADVANCED)
    hole = min(level(hub.mesh, 1.0).interiors, key=lambda ring: Polygon(ring).area)
    assert Polygon(hole).area == pytest.approx(math.pi * 8.1**2 / 4, rel=1e-3)


def test_holes_that_run_into_each_other_leave_those_in_use():
    hub = printed_hub(ADVANCED)
    assert hub.notes[1].startswith("3 rod holes")
    assert "only those in use" in " ".join(hub.notes)
    with pytest.raises(InputError, match=r"holes of 8\.2 mm"):
        printed_hub(with_rotor(holes=tuple(range(1, 13))))


def test_a_hub_smaller_than_its_shaft_is_refused():
    with pytest.raises(InputError, match="radius of"):
        printed_hub(ADVANCED.changed(bearing=ADVANCED.bearing.changed(shaft_diameter=0.05)))
    with pytest.raises(InputError, match="without rods"):
        printed_hub(with_rotor(rod=None))


@pytest.mark.parametrize("stage", [build(GearStage, PINION), ADVANCED.drivetrain[0]], ids=["64-8", "60-20"])
def test_gear_teeth_are_those_of_the_outline(stage):
    pair = gear_pair(stage, backlash=0.1)
    for part, shape in zip(printed_gears(stage, (3.0, 2.0), width=5.0), (pair.rotor, pair.generator), strict=True):
        outline = gear_polygon(shape)
        section = level(part.mesh, 2.5)
        bore = Polygon(section.interiors[0])
        assert Polygon(section.exterior).symmetric_difference(outline).area < 1e-4 * outline.area
        assert bore.area == pytest.approx(math.pi * round(math.sqrt(4 * bore.area / math.pi), 1) ** 2 / 4, rel=1e-3)
        assert part.volume >= 5 * section.area * (1 - 1e-4)


def test_a_pinion_too_small_for_a_screw_says_so():
    wheel, pinion = printed_gears(build(GearStage, PINION), (6.0, 2.0))
    assert "set screw" in " ".join(pinion.notes)
    assert pinion.volume == pytest.approx(6 * level(pinion.mesh, 3).area, rel=1e-5)
    assert wheel.mesh.size[2] == pytest.approx(15)
    assert "nozzle" in " ".join(printed_gears(example("geared").drivetrain[0], (6.0, 2.0))[0].notes)


@pytest.mark.parametrize("teeth", [3, 500])
def test_absurd_tooth_counts_are_refused(teeth):
    with pytest.raises(InputErrors, match="teeth"):
        printed_gears(build(GearStage, PINION | {"rotor_teeth": teeth}), (6.0, 2.0))


def test_a_shaft_thicker_than_its_wheel_is_refused():
    with pytest.raises(InputError, match="bore"):
        printed_gears(build(GearStage, PINION), (6.0, 12.0))
    with pytest.raises(InputError, match="pulley"):
        printed_pulleys(BeltStage(rotor_diameter=0.06, generator_diameter=0.008, thickness=0.003), (6.0, 6.0))
    with pytest.raises(InputError, match="timing"):
        printed_pulleys(ADVANCED.drivetrain[1], (6.0, 2.0))
    with pytest.raises(OutOfRange, match="shaft"):
        printed_gears(build(GearStage, PINION), (0.006, 0.002))


def test_a_pulley_has_the_volume_of_its_turned_profile():
    belt = BeltStage(rotor_diameter=0.06, generator_diameter=0.02, thickness=0.003)
    _, small = printed_pulleys(belt.changed(generator_diameter=0.01), (6.0, 2.0))
    profile = pulley_profile("round", 10, 3)
    left, _, right, _ = profile.bounds
    bore = math.pi * 2.1**2 / 4 * (right - left)
    turned = 2 * math.pi * profile.centroid.y * profile.area
    assert small.volume == pytest.approx(turned - bore, rel=1e-4)


@pytest.mark.parametrize("belt", ["round", "flat", "vee"])
def test_every_belt_that_can_be_made_has_watertight_pulleys(belt):
    stage = BeltStage(belt=belt, rotor_diameter=0.06, generator_diameter=0.009, thickness=0.004, width=0.008)
    shape = {"round": {}, "flat": {"width": 8.0}, "vee": {"width": 8.0}}[belt]
    for part, diameter, shaft in zip(printed_pulleys(stage, (6.0, 2.0)), (60, 9), (6.1, 2.1), strict=True):
        assert is_closed(part.mesh)
        profile = pulley_profile(belt, diameter, 4, **shape)
        left, _, right, outside = profile.bounds
        turned = 2 * math.pi * profile.centroid.y * profile.area - math.pi * shaft**2 / 4 * (right - left)
        assert part.volume >= turned * (1 - 1e-4)  # a boss comes on top of the larger one
        assert part.mesh.size[0] == pytest.approx(2 * outside, rel=1e-3)


def test_the_gauge_has_the_angle():
    gauge = printed_gauge(example("starter").rotor)
    corners = np.array(level(gauge.mesh, 2).exterior.coords)
    sides = np.diff(corners, axis=0)
    longest = sides[np.linalg.norm(sides, axis=1).argsort()[-3:]]
    angles = np.degrees(np.arctan2(longest[:, 1], longest[:, 0])) % 180
    assert min(abs(angles - 35), default=9) < 0.1 or min(abs(angles - 145), default=9) < 0.1


def test_the_former_has_the_window():
    core, cheek = printed_former(ADVANCED.generator)
    wide = 1000 * (ADVANCED.generator.distance_far - ADVANCED.generator.distance_near)
    assert core.mesh.size[2] - cheek.mesh.size[2] == pytest.approx(wide)
    section = Polygon(level(core.mesh, 5).exterior)
    assert section.area == pytest.approx(math.pi * 5**2, rel=1e-3)
    with pytest.raises(InputError, match="by hand"):
        printed_former(example("starter").generator)
    with pytest.raises(InputError, match="bolt"):
        printed_former(ADVANCED.generator, bolt=10.0)


def test_the_adapter_passes_over_the_widest_pipe():
    cap = tower_adapter(ADVANCED.tower)
    hole = Polygon(level(cap.mesh, 10).interiors[0])
    assert hole.area == pytest.approx(math.pi * (48.41 + 0.4) ** 2 / 4, rel=1e-3)
    with pytest.raises(InputError, match="plate"):
        tower_adapter(ADVANCED.tower, plate=(20.0, 20.0))
    with pytest.raises(UnknownKey, match="nominal"):
        tower_adapter(ADVANCED.tower.changed(tube={"kind": "pvc pipe", "nominal": "7 in"}))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(2, 24), st.floats(0.01, 0.08), st.floats(0.002, 0.01), st.floats(0.004, 0.03), st.data())
def test_any_legal_hub_closes_or_is_refused(holes, radius, rod, depth, data):
    used = tuple(sorted(data.draw(st.sets(st.integers(1, holes), min_size=1, max_size=min(holes, 12)))))
    rotor = ADVANCED.rotor
    assume(radius < rotor.shape.inner_radius)
    fields = {"hub": rotor.hub.changed(holes=holes, radius=radius), "holes": used, "weighed": ()}
    fields["rod"] = rotor.rod.changed(diameter=rod, socket_depth=depth)
    try:
        hub = printed_hub(ADVANCED.changed(rotor=rotor.changed(**fields)))
    except InputError:
        return
    assert is_closed(hub.mesh)
    assert 0 < hub.volume < math.pi * (1000 * radius + 20) ** 2 * hub.mesh.size[2]
