"""Nested sheets: nothing overlaps, nothing gets lost, what does not fit is told."""

import itertools
import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from turbines import example

from whirlbench.errors import InputError, OutOfRange
from whirlbench.make.blade_outline import blade_drawing
from whirlbench.make.cut_files import has_check_line
from whirlbench.make.drawing import Circle, Drawing, Outline, rectangle
from whirlbench.make.gear_outline import gear_drawing, gear_shape
from whirlbench.make.nesting import nest


def part(points, number):
    return Drawing(f"part-{number}", (Outline(Polygon(points)),))


def any_part(number):
    tapered = st.tuples(st.floats(10, 150), st.floats(5, 60), st.floats(5, 60)).map(
        lambda s: [(0, 0), (s[0], 0), (s[0], s[2]), (0, s[1])]
    )
    corner = st.tuples(st.floats(10, 80), st.floats(10, 80)).map(
        lambda s: [(0, 0), (s[0], 0), (s[0], 4), (4, 4), (4, s[1]), (0, s[1])]
    )
    disc = st.floats(5, 60).map(lambda d: Drawing(f"part-{number}", circles=(Circle(0, 0, d, hole=False),)))
    return st.one_of(tapered.map(lambda points: part(points, number)), corner.map(lambda p: part(p, number)), disc)


SEVERAL = st.integers(1, 7).flatmap(lambda count: st.tuples(*map(any_part, range(count))))


@settings(max_examples=60, deadline=None)
@given(SEVERAL, st.floats(60, 300), st.floats(60, 300), st.floats(0, 6), st.sampled_from([1, 2, 4, 8]))
def test_nested_parts_never_overlap_and_none_gets_lost(parts, width, height, clearance, steps):
    found = nest(parts, width, height, clearance=clearance, steps=steps, most_sheets=3)
    stock = shapely.box(0, 0, width, height).buffer(1e-6)
    for placed in found.placed:
        for one, other in itertools.combinations(placed, 2):
            assert one.material.distance(other.material) >= clearance - 1e-5
            assert one.material.intersection(other.material).area < 1e-9
        for drawing in placed:
            assert stock.contains(drawing.material)
            assert drawing.material.distance(stock.boundary) >= clearance - 1e-5
    kept = [drawing.name for placed in found.placed for drawing in placed]
    assert sorted(kept + list(found.left_over)) == sorted(drawing.name for drawing in parts)
    area = sum(drawing.area for placed in found.placed for drawing in placed)
    assert area == pytest.approx(sum(sheet.area for sheet in found.sheets))
    assert 0 <= found.used <= 1


def test_twelve_tapered_blades_fit_closer_than_their_boxes():
    blade = blade_drawing(example("geared").rotor)
    found = nest([blade] * 12, 600.0, 400.0)
    assert len(found.sheets) == 1
    assert not found.left_over
    boxes = math.floor(600 / (blade.size[0] + 2)) * math.floor(400 / (blade.size[1] + 2))
    assert len(found.placed[0]) > boxes
    assert has_check_line(found.sheets[0])
    assert found.sheets[0].bounds[1] >= 0


def test_the_rest_goes_on_more_sheets_and_then_is_told():
    plates = [part([(0, 0), (80, 0), (80, 80), (0, 80)], number) for number in range(4)]
    found = nest(plates, 100.0, 100.0, most_sheets=3)
    assert len(found.sheets) == 3
    assert len(found.left_over) == 1
    assert [sheet.name for sheet in found.sheets] == ["sheet-1", "sheet-2", "sheet-3"]


def test_what_is_larger_than_the_stock_is_told_and_the_rest_is_laid():
    long = part([(0, 0), (500, 0), (500, 10), (0, 10)], 1)
    found = nest([long, part([(0, 0), (20, 0), (20, 10)], 2)], 300.0, 200.0)
    assert found.left_over == ("part-1",)
    assert len(found.placed[0]) == 1


def test_grain_is_kept_with_half_turns():
    strip = part([(0, 0), (120, 0), (120, 10), (0, 10)], 1)
    assert nest([strip], 60.0, 200.0, steps=2).left_over == ("part-1",)
    assert not nest([strip], 60.0, 200.0, steps=4).left_over


def test_the_same_parts_give_the_same_sheet():
    gears = [gear_drawing(gear_shape(teeth, 1.0), 3.0, name=f"gear-{teeth}") for teeth in (12, 20, 40)]
    assert nest(gears, 150.0, 100.0) == nest(gears, 150.0, 100.0)


def test_windows_of_a_part_stay_free():
    ring = Drawing("ring", circles=(Circle(0, 0, 90, hole=False), Circle(0, 0, 80)))
    disc = Drawing("disc", circles=(Circle(0, 0, 20, hole=False),))
    found = nest([ring, disc], 94.0, 94.0, most_sheets=1)
    assert found.left_over == ("disc",)  # what falls out of a window would take it along


@pytest.mark.parametrize(
    ("parts", "stock", "error", "words"),
    [
        ([], (100, 100), InputError, "parts to lay out: got none"),
        ([Drawing("a", (Outline(rectangle(5, 5)),))], (0, 100), OutOfRange, "stock size: got 0 mm"),
        ([Drawing("a", (Outline(rectangle(5, 5)),))], (100, math.inf), OutOfRange, "stock size"),
    ],
)
def test_stock_that_is_none_is_refused(parts, stock, error, words):
    with pytest.raises(error, match=words):
        nest(parts, *stock)
