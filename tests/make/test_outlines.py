"""Blade plans, ribs, gauges, hubs, pulleys, bases and coil formers, true to size."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate
from turbines import BUILDS, example

from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.make.base_outline import base_drawing, tower_diameter
from whirlbench.make.blade_outline import balance_radius, blade_drawing, blade_polygon, blade_stations, station_at
from whirlbench.make.coil_outline import coil_former_drawings
from whirlbench.make.drawing import CUT, ENGRAVE, MARK, Circle, Drawing, Line, Outline, Text, combined, rectangle
from whirlbench.make.hub_outline import PIN, hub_drawings, hub_holes, pitch_gauge_drawing, rim_strip_drawing
from whirlbench.make.process import process
from whirlbench.make.pulley_outline import belt_width, pulley_drawings, pulley_profile, timing_teeth
from whirlbench.make.rib_outline import gauge_drawings, rib_drawing, rib_drawings
from whirlbench.make.section_outline import flat_width, section_polygon
from whirlbench.parts.belts import BeltStage
from whirlbench.parts.blade import Rod
from whirlbench.parts.hub import Hub
from whirlbench.parts.section import Airfoil, Sheet
from whirlbench.predict.blades import outline

STARTER, GEARED, ADVANCED = (example(name) for name in BUILDS)
CARVED = GEARED.rotor.model_copy(update={"section": Airfoil(name="4415"), "rod": Rod(diameter=0.004)})


def angle_of(line):
    (x1, y1), (x2, y2) = line.points[0], line.points[-1]
    return math.degrees(math.atan2(y2 - y1, x2 - x1))


@pytest.mark.parametrize("name", BUILDS)
def test_chord_and_angle_are_those_of_the_prediction(name):
    rotor = example(name).rotor
    for station in blade_stations(rotor, count=9):
        chord, twist = outline(rotor.shape, np.array([station.radius / 1000]))
        assert station.chord == pytest.approx(1000 * chord[0])
        assert station.angle == pytest.approx(rotor.pitch + twist[0])


def test_a_bent_sheet_is_cut_as_wide_as_its_arc():
    left, low, right, high = blade_polygon(GEARED.rotor).bounds
    assert (left, right) == pytest.approx((45.0, 250.0))
    assert high - low == pytest.approx(flat_width(65.0, 0.05))
    flat = GEARED.rotor.model_copy(update={"section": Sheet(thickness=0.002)})
    assert blade_polygon(flat).area == pytest.approx(205 * (65 + 40) / 2)
    assert blade_drawing(flat).area == pytest.approx(205 * (65 + 40) / 2)


def test_the_rod_line_runs_where_it_was_asked():
    polygon = blade_polygon(ADVANCED.rotor, rod_place=0.25)
    at_root = polygon.intersection(shapely.LineString([(40.0, -99), (40.0, 99)])).bounds
    assert at_root[1::2] == pytest.approx((-0.75 * 62, 0.25 * 62))
    with pytest.raises(OutOfRange, match="place of the rod"):
        blade_polygon(ADVANCED.rotor, rod_place=1.2)


def test_the_drawing_tells_stations_glue_and_balance():
    drawing = blade_drawing(GEARED.rotor, mass_radius=0.120)
    assert [text.words for text in drawing.texts][:1] == ["r 45  18.0°"]
    assert len(drawing.texts) == 6
    glue = next(line for line in drawing.lines if line.layer == ENGRAVE)
    assert np.ptp([y for _, y in glue.points]) == pytest.approx(6.0)
    assert drawing.circles[0].x == pytest.approx(120 - 45)
    inside = drawing.outlines[0].polygon
    assert all(inside.contains(shapely.Point(text.x, text.y)) for text in drawing.texts)


def test_the_balance_point_is_the_centroid_of_the_sheet():
    assert balance_radius(GEARED.rotor) == pytest.approx(blade_polygon(GEARED.rotor).centroid.x, abs=0.01)
    assert balance_radius(ADVANCED.rotor) == pytest.approx(118.0)  # as the team measured it


def test_a_rod_wider_than_the_blade_is_refused():
    fat = GEARED.rotor.model_copy(update={"rod": Rod(diameter=0.050)})
    with pytest.raises(InputError, match="rod > diameter"):
        blade_drawing(fat)


@settings(max_examples=40)
@given(st.integers(2, 24), st.floats(20.0, 200.0))
def test_holes_lie_evenly_on_their_circle(count, radius):
    rotor = STARTER.rotor.model_copy(update={"hub": Hub(holes=count, radius=radius / 1000), "holes": (1,)})
    for hole in hub_holes(rotor, radius):
        turn = 2 * math.pi * (hole.number - 1) / count
        assert (hole.x, hole.y) == pytest.approx((radius * math.sin(turn), radius * math.cos(turn)), abs=1e-9)
        assert hole.used == (hole.number == 1)


def test_five_blades_on_twelve_holes_and_twelve_on_a_larger_hub():
    five = GEARED.rotor.model_copy(update={"holes": (1, 3, 6, 8, 11)})
    face, middle = hub_drawings(five, 6.0)
    pins = [circle for circle in face.circles if circle.layer == CUT and circle.diameter == PIN]
    assert len(pins) == 12
    assert len([circle for circle in face.circles if circle.layer == MARK]) == 5
    assert "1, 3, 6, 8, 11" in face.notes[0]
    slots = math.pi * 25**2 - middle.outlines[0].polygon.area
    assert slots == pytest.approx(5 * 6.1 * 15, rel=0.02)
    hub = Hub(holes=12, radius=0.040)
    twelve = GEARED.rotor.model_copy(update={"holes": tuple(range(1, 13)), "hub": hub})
    assert len(hub_drawings(twelve, 6.0)) == 2
    with pytest.raises(InputError, match=r"hub > rod: got a hole 6\.1 mm wide, which"):
        hub_drawings(GEARED.rotor.model_copy(update={"holes": tuple(range(1, 13))}), 6.0)


def test_a_shaft_as_wide_as_the_hub_is_refused():
    with pytest.raises(InputError, match="hub > shaft"):
        hub_drawings(GEARED.rotor, 30.0)


def test_a_strip_closes_around_the_rim():
    strip = rim_strip_drawing(GEARED.rotor)
    assert strip.size[0] == pytest.approx(2 * math.pi * 25.05)
    crosses = sorted(line.points[0][0] for line in strip.lines if line.points[0][0] == line.points[1][0])
    gaps = [after - before for before, after in itertools.pairwise(crosses)]
    assert gaps == pytest.approx([strip.size[0] / 12] * 12)


@pytest.mark.parametrize("name", BUILDS)
@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_the_pitch_gauge_holds_the_angle_of_its_station(name, share):
    rotor = example(name).rotor
    radius = rotor.shape.inner_radius + share * (rotor.shape.tip_radius - rotor.shape.inner_radius)
    card = pitch_gauge_drawing(rotor, radius=radius)
    wanted = math.degrees(station_at(rotor, radius).angle)
    corners = np.array(card.outlines[0].polygon.exterior.coords)
    back = corners[corners[:, 1] < corners[:, 1].min() + 1e-9]
    assert np.ptp(back[:, 0]) == pytest.approx(card.size[0])  # the whole lower edge is straight and level
    assert angle_of(card.lines[0]) == pytest.approx(wanted, abs=0.3 if rotor.section.kind == "airfoil" else 1e-9)
    ends = np.array([corners[np.isclose(corners[:, 0], x)][:, 1].max() for x in (card.bounds[0], card.bounds[2])])
    # the edge in front of the nose and behind the tail runs along the chord
    rise = np.array([card.lines[0].points[0][1], card.lines[0].points[-1][1]]) - ends
    slope = 12 * math.sin(math.radians(wanted))
    assert rise == pytest.approx([slope, -slope], abs=1e-9)


def test_gauges_hold_the_section_between_them():
    gauges = gauge_drawings(CARVED, count=4)
    for station, upper, lower in zip(blade_stations(CARVED, count=4), gauges[::2], gauges[1::2], strict=True):
        section = section_polygon(Airfoil(name="4415"), station.chord, tail=process("laser").tail)
        section = rotate(section, math.degrees(station.angle), origin=(0, 0))
        assert upper.material.intersection(lower.material).area < 1e-6
        assert upper.material.union(lower.material).intersection(section).area < 1e-6
        edges = upper.material.boundary.union(lower.material.boundary)
        assert max(edges.distance(shapely.Point(corner)) for corner in section.exterior.coords) < 1e-6


def test_ribs_carry_spar_hole_tabs_and_the_section():
    plain = section_polygon(Airfoil(name="4415"), 60.0, tail=0.5)
    rib = rib_drawing(Airfoil(name="4415"), 60.0, 4.0)
    assert rib.circles[0].diameter == pytest.approx(4.1)
    tabs = rib.outlines[0].polygon.difference(plain)
    assert len(shapely.get_parts(tabs)) == 2
    assert all(part.bounds[1] == pytest.approx(plain.bounds[1] - 1.5) for part in shapely.get_parts(tabs))
    assert plain.difference(rib.outlines[0].polygon).area < 1e-6
    web = plain.exterior.distance(shapely.Point(rib.circles[0].x, rib.circles[0].y)) - 2.05
    assert web >= process("laser").least_wall
    ribs = rib_drawings(CARVED, count=5)
    assert [len(rib.circles) for rib in ribs] == [1, 1, 1, 0, 0]  # the rod ends halfway along the blade


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: rib_drawing(Airfoil(name="0006"), 40.0, 4.0), "spar: got a spar of 4 mm"),
        (lambda: rib_drawing(Airfoil(name="0006"), 0.0, 0.0), "chord: got 0 mm"),
        (lambda: rib_drawings(GEARED.rotor), "sheet blades need no ribs"),
        (lambda: gauge_drawings(GEARED.rotor), "pitch gauge"),
        (lambda: coil_former_drawings(GEARED.generator, 3.0), "wound by hand"),
        (lambda: coil_former_drawings(ADVANCED.generator, 12.0), "bolt: got a bolt of 12 mm"),
        (lambda: pulley_profile("timing", 20.0, 1.0), "belt: got a timing belt"),
        (lambda: pulley_profile("round", 20.0, 0.0), "belt thickness"),
        (lambda: base_drawing(ADVANCED, material="water", height=5.0), "ballast: got four loads"),
        (lambda: base_drawing(ADVANCED, height=0.0), "height of the ballast"),
        (lambda: Drawing("a/b", (Outline(rectangle(5, 5)),)), "name of the drawing: got 'a/b'"),
        (lambda: Drawing("..", (Outline(rectangle(5, 5)),)), "name of the drawing"),
        (lambda: Drawing("flat", (Outline(shapely.Polygon([(0, 0), (9, 0), (4, 0)])),)), "outline without area"),
        (lambda: Drawing("far", (Outline(rectangle(65000, 5)),)), "reaches 65000 mm"),
        (lambda: Drawing("lost", (Outline(rectangle(5, 5), "ETCH"),)), "a known layer"),
        (lambda: Drawing("dot", circles=(Circle(0, 0, 0.0),)), "a circle of 0 mm"),
        (lambda: Drawing("open", lines=(Line(((0, 0), (5, 0)), CUT),)), "cut must close"),
        (lambda: Drawing("words", texts=(Text(0, 0, "a\nb"),)), "one line"),
    ],
)
def test_what_cannot_be_made_is_refused(make, words):
    with pytest.raises(InputError, match=words):
        make()


def test_an_unknown_way_of_making_is_refused():
    with pytest.raises(UnknownKey, match="laser"):
        process("lasre")


def test_a_round_belt_lies_on_the_diameter_of_its_stage():
    profile = pulley_profile("round", 40.0, 3.0)
    across = profile.intersection(shapely.LineString([(0, 0), (0, 99)])).length
    assert across == pytest.approx(20.0, abs=0.01)
    assert profile.bounds[3] == pytest.approx(23.0)
    belt = shapely.Point(0, 21.5).buffer(1.5)
    assert belt.intersection(profile).area == pytest.approx(0.0, abs=0.02)  # the belt fits, and touches the bottom
    assert belt.distance(profile) < 0.01


def test_a_flat_belt_runs_between_two_rims():
    profile = pulley_profile("flat", 30.0, 1.0, width=8.0)
    bottom = profile.boundary.intersection(shapely.box(-4.0, 14.9, 4.0, 15.1))
    assert bottom.length == pytest.approx(8.0)
    assert profile.bounds == pytest.approx((-6.1, 0.0, 6.1, 16.0))


@pytest.mark.parametrize(("diameter", "degrees"), [(40.0, 34), (120.0, 38)])
def test_a_vee_belt_hangs_between_its_walls(diameter, degrees):
    profile = pulley_profile("vee", diameter, 6.0, width=10.0)
    right = np.array([point for point in profile.exterior.coords if point[0] > 0 and point[1] > 0.1])
    low, rim = sorted(right, key=lambda point: point[0])[:2]
    assert math.degrees(2 * math.atan2(*(rim - low))) == pytest.approx(degrees)
    inner = diameter / 2
    assert profile.bounds[3] == pytest.approx(inner + 6.0)  # the rim stands level with the belt's outside
    assert low[1] == pytest.approx(inner - 1.0)  # and the belt never touches the bottom
    at_middle = shapely.LineString([(-50, inner + 3.0), (50, inner + 3.0)]).difference(profile)
    gap = next(one for one in at_middle.geoms if abs(one.centroid.x) < 1e-9)
    assert gap.length == pytest.approx(10.0 - 6.0 * math.tan(math.radians(20)))  # as wide as the belt there


@pytest.mark.parametrize(("stage", "width"), [({"belt": "vee"}, 9.6), ({"belt": "flat"}, 6), ({"width": 0.013}, 13)])
def test_the_width_of_a_belt_is_its_own_or_the_usual_one(stage, width):
    stage = BeltStage(rotor_diameter=0.06, generator_diameter=0.05, thickness=0.006, **{"belt": "vee"} | stage)
    assert belt_width(stage) == pytest.approx(width)


def test_discs_have_no_slope_so_a_vee_pulley_is_a_profile():
    stage = BeltStage(belt="vee", rotor_diameter=0.1, generator_diameter=0.03, thickness=0.006, width=0.01)
    names = [drawing.name for drawing in pulley_drawings(stage, (6.0, 2.0))]
    assert names == ["pulley-rotor-profile", "pulley-generator-profile"]
    with pytest.raises(InputError, match="belt > width"):
        pulley_drawings(stage.changed(width=0.003), (6.0, 2.0))


def test_teeth_of_a_timing_pulley_that_can_be_bought():
    assert timing_teeth((25.46, 12.73)) == ((2.0, 40, 20),)  # 8 teeth at 5 mm would be too few
    assert timing_teeth((80 / math.pi * 3, 20 / math.pi * 3)) == ((2.0, 120, 30), (3.0, 80, 20), (5.0, 48, 12))
    assert timing_teeth((25.0, 12.0)) == ()


def test_pulley_discs_take_the_shaft():
    drawings = pulley_drawings(BeltStage(rotor_diameter=0.06, generator_diameter=0.02, thickness=0.003), (6.0, 2.0))
    assert [drawing.name.rsplit("-", 1)[1] for drawing in drawings] == ["profile", "face", "core"] * 2
    assert drawings[1].area == pytest.approx(math.pi / 4 * (66**2 - 6**2))
    with pytest.raises(InputError, match="generator shaft"):
        pulley_drawings(BeltStage(rotor_diameter=0.06, generator_diameter=0.02, thickness=0.003), (6.0, 19.0))


@pytest.mark.parametrize("name", BUILDS)
def test_the_base_carries_tower_and_ballast(name):
    turbine = example(name)
    drawing = base_drawing(turbine)
    assert drawing.size == pytest.approx((1000 * turbine.base.width,) * 2)
    loads = [outline.polygon for outline in drawing.outlines if outline.layer == MARK]
    volume = sum(load.area for load in loads) * 40.0
    assert volume * 1e-9 * 7850 == pytest.approx(turbine.base.ballast)
    tower = shapely.Point(0, 0).buffer(tower_diameter(turbine.tower) / 2)
    assert not any(load.intersects(tower) for load in loads)
    assert all(drawing.outlines[0].polygon.contains(load) for load in loads)


def test_a_coil_former_leaves_the_winding_window():
    generator = ADVANCED.generator
    cheek, core = coil_former_drawings(generator, 3.0)
    assert core.area == pytest.approx(math.pi * (5.0**2 - 1.5**2))
    assert cheek.size == pytest.approx((32.0, 32.0), abs=0.05)
    assert "stack core discs to 6.5 mm" in " ".join(core.notes)


def test_a_moved_drawing_keeps_its_size_and_area():
    drawing = hub_drawings(GEARED.rotor, 6.0)[0]
    moved = drawing.moved(100.0, -30.0, angle=30.0)
    assert moved.area == pytest.approx(drawing.area)
    back = moved.moved(-100.0, 30.0).moved(angle=-30.0)
    for before, after in zip(drawing.circles, back.circles, strict=True):
        assert (after.x, after.y, after.diameter) == pytest.approx((before.x, before.y, before.diameter), abs=1e-9)


def test_drawings_join_with_their_notes_once():
    drawing = hub_drawings(GEARED.rotor, 6.0)[0]
    both = combined("two", [drawing, drawing.moved(60.0)], notes=("first",))
    assert both.area == pytest.approx(2 * drawing.area)
    assert both.notes[0] == "first"
    assert len(both.notes) == len(set(both.notes))
