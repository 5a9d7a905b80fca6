"""The drawing of a turbine: to scale, each part in its colour, its dimensions written in the reader's unit."""

import math
import re

import pytest
from turbines import BUILDS, example

from whirlbench.actions.figure import figure
from whirlbench.charts import look
from whirlbench.charts.turbine import front_view, side_view
from whirlbench.parts import edit


def attributes(svg, tag, group=None):
    """Attributes of all elements of a kind, of one part group."""
    for found in re.findall(rf"<{tag} ([^>]*)/?>", svg):
        pairs = dict(re.findall(r'([\w-]+)="([^"]*)"', found))
        if group is None or pairs.get("fill") == look.colour(group):
            yield pairs


def blades(svg):
    """Corners of every blade [mm]."""
    for one in attributes(svg, "polygon", "rotor"):
        yield [tuple(map(float, pair.split(","))) for pair in one["points"].split()]


@pytest.mark.parametrize("name", BUILDS)
def test_blades_in_front_reach_as_far_and_are_as_wide_as_they_are(name):
    turbine = example(name)
    drawn = list(blades(front_view(figure(turbine))))
    assert len(drawn) == turbine.rotor.blade_count
    tip_chord, tip_tilt = figure(turbine).stations[-1][1:]
    for corners in drawn:
        assert max(-y for _, y in corners) == pytest.approx(1000 * turbine.rotor.radius, abs=0.01)
        assert min(-y for _, y in corners) == pytest.approx(1000 * turbine.rotor.shape.inner_radius, abs=0.01)
        tip = [x for x, y in corners if -y > 1000 * turbine.rotor.radius - 0.01]
        assert max(tip) - min(tip) == pytest.approx(1000 * tip_chord * math.cos(tip_tilt), abs=0.02)


def test_from_the_side_a_blade_stands_out_of_the_plane_by_its_pitch():
    flat = edit.changed(example("starter"), {"rotor.pitch": "0 deg"})
    steep = edit.changed(example("starter"), {"rotor.pitch": "90 deg"})
    for turbine, deep in ((flat, 0.0), (steep, 50.0)):
        (corners, *_) = blades(side_view(figure(turbine)))
        assert max(x for x, _ in corners) - min(x for x, _ in corners) == pytest.approx(deep, abs=0.02)


@pytest.mark.parametrize("name", BUILDS)
@pytest.mark.parametrize("view", [front_view, side_view])
def test_tower_and_base_are_to_scale(name, view):
    turbine = example(name)
    numbers = figure(turbine)
    tower, base = list(attributes(view(numbers), "rect", "tower"))[:2]
    assert float(tower["height"]) == pytest.approx(1000 * turbine.tower.height, abs=0.01)
    assert float(base["width"]) == pytest.approx(1000 * turbine.base.width, abs=0.01)
    assert float(tower["width"]) == pytest.approx(1000 * numbers.tower_diameter_m, abs=0.01)


def test_wheels_have_the_pitch_diameter_of_their_teeth():
    (large, small) = attributes(front_view(figure(example("geared"))), "circle", "drivetrain")
    assert {float(large["r"]), float(small["r"])} == {64 * 0.5 / 2, 16 * 0.5 / 2}
    apart = abs(float(large["cy"]) - float(small["cy"]))
    assert apart == pytest.approx((64 + 16) * 0.5 / 2, abs=0.01)


@pytest.mark.parametrize(("inches", "text"), [(False, "508 mm"), (True, "20 in")])
def test_dimensions_are_written_in_the_readers_unit(inches, text):
    assert f">{text}</text>" in front_view(figure(example("starter")), inches=inches)


@pytest.mark.parametrize("name", BUILDS)
def test_all_of_it_lies_inside_the_picture_and_both_views_have_one_scale(name):
    numbers = figure(example(name))
    boxes = []
    for view in (front_view, side_view):
        svg = view(numbers)
        left, top, wide, tall = map(float, re.search(r'viewBox="([^"]*)"', svg)[1].split())
        boxes.append((top, tall))
        for one in attributes(svg, "rect"):
            if "x" in one and "transform" not in one:
                assert left <= float(one["x"])
                assert float(one["x"]) + float(one["width"]) <= left + wide
        floor = max(float(one["y2"]) for one in attributes(svg, "line"))
        assert floor <= tall
        assert "nan" not in svg
    assert boxes[0] == boxes[1]


@pytest.mark.parametrize("name", BUILDS)
def test_the_section_runs_from_nose_to_tail(name):
    points = figure(example(name)).section
    assert min(x for x, _ in points) == pytest.approx(0.0, abs=0.02)
    assert max(x for x, _ in points) == pytest.approx(1.0, abs=0.02)
    assert 0 < max(y for _, y in points) - min(y for _, y in points) < 0.4
