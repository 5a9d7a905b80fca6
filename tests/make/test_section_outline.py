"""The section that is made is the section that the aerodynamics reckons with."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from whirlbench import tables
from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.make.section_outline import airfoil_sides, flat_width, section_points, section_polygon
from whirlbench.parts.section import Airfoil, OwnPolar, Sheet
from whirlbench.physics.airfoil import catalogue, four_digit_coordinates

SHIPPED = catalogue()
FROM_LIBRARY = [row for row in SHIPPED if row.coordinates == "library"]


def thickness_and_camber(name):
    """Greatest thickness square to x, and greatest camber above the line from nose to tail, over chord."""
    sides = airfoil_sides(name)
    x = np.linspace(0.005, 0.995, 400)
    upper, lower = np.interp(x, *sides.upper.T), np.interp(x, *sides.lower.T)
    tail = 0.5 * (sides.upper[-1, 1] + sides.lower[-1, 1])
    return (upper - lower).max(), abs(0.5 * (upper + lower) - tail * x).max()


@pytest.mark.parametrize("row", SHIPPED, ids=lambda row: row.name)
def test_thickness_and_camber_are_those_of_the_catalogue(row):
    thickness, camber = thickness_and_camber(row.name)
    # the catalogue measures after the chord line is laid along x: up to 1.6 degrees of turn
    assert thickness == pytest.approx(row.thickness_ratio, abs=0.0012)
    assert camber == pytest.approx(row.camber_ratio, abs=0.0012)


@pytest.mark.parametrize(
    ("name", "thickness"), [("e387", 0.0907), ("s1223", 0.1214), ("sg6043", 0.1), ("fx63137", 0.137), ("clarky", 0.117)]
)
def test_thickness_is_the_published_one(name, thickness):
    """As the sections are published: E387 9.1, S1223 12.1, SG6043 10, FX 63-137 13.7, Clark-Y 11.7 %."""
    assert thickness_and_camber(name)[0] == pytest.approx(thickness, abs=0.0007)


@pytest.mark.parametrize("row", FROM_LIBRARY, ids=lambda row: row.name)
def test_the_outline_is_that_of_the_coordinate_library(row):
    library = pytest.importorskip("aerosandbox", reason="extra 'airfoils'").Airfoil(row.name)
    points = 100 * library.coordinates
    points = points - [0.0, points[np.argmin(points[:, 0]), 1]]
    outline = section_polygon(Airfoil(name=row.name), 100.0).exterior
    assert max(shapely.distance(shapely.points(points), outline)) < 0.1
    assert shapely.Polygon(outline).area == pytest.approx(1e4 * library.area(), rel=0.006)


@pytest.mark.parametrize("row", SHIPPED, ids=lambda row: row.name)
@pytest.mark.parametrize(("chord", "tail"), [(100.0, 0.0), (25.0, 0.8)])
def test_every_shipped_section_can_be_drawn(row, chord, tail):
    polygon = section_polygon(Airfoil(name=row.name), chord, tail=tail)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert polygon.bounds[2] == pytest.approx(
        chord, rel=5e-4
    )  # the open tail of a 4-digit section stands square to its camber


@pytest.mark.parametrize("digits", ["0012", "4412", "2415", "6409"])
def test_four_digits_are_the_formula(digits):
    camber, place, thickness = int(digits[0]) / 100, int(digits[1]) / 10 or 0.4, int(digits[2:]) / 100
    fine = 100 * np.column_stack(four_digit_coordinates(camber, place, thickness, count=400))
    outline = section_polygon(Airfoil(name=digits), 100.0).exterior
    assert max(shapely.distance(shapely.points(fine), outline)) < 0.05
    assert shapely.Polygon(outline).area == pytest.approx(shapely.Polygon(fine).area, rel=2e-3)
    assert shapely.Polygon(outline).area == pytest.approx(0.685 * thickness * 1e4, rel=0.01)


@pytest.mark.parametrize("name", ["4412", "e387", "s1223"])
def test_a_thicker_tail_leaves_the_front_alone(name):
    thin, thick = (section_points(Airfoil(name=name), 60.0, tail=tail) for tail in (0.0, 0.8))
    front = thin[:, 0] < 0.7 * 60
    assert np.array_equal(thin[front], thick[front])
    assert np.ptp(thick[[0, -1], 1]) == pytest.approx(max(0.8, np.ptp(thin[[0, -1], 1])))
    assert not np.array_equal(thin, thick)


@given(st.floats(0.0, 0.12), st.floats(10.0, 200.0), st.floats(0.005, 0.1), st.sampled_from(["square", "rounded"]))
def test_a_bent_sheet_has_its_camber_thickness_and_area(camber, chord, thickness_ratio, edge):
    thickness = thickness_ratio * chord
    polygon = section_polygon(Sheet(thickness=thickness / 1000, camber=camber, edge=edge), chord)
    assert polygon.is_valid
    assert polygon.bounds[3] == pytest.approx(camber * chord + thickness / 2, abs=1e-6)
    lost = (1 - math.pi / 4) * thickness**2 if edge == "rounded" else 0.0
    assert polygon.area == pytest.approx(flat_width(chord, camber) * thickness - lost, rel=3e-3)
    # where the middle line is, half the sheet is above and half below
    assert polygon.exterior.distance(shapely.Point(chord / 2, camber * chord)) == pytest.approx(thickness / 2, rel=0.01)


@given(st.floats(0.0, 0.12))
def test_the_flat_width_is_the_arc(camber):
    assert flat_width(1.0, camber) == pytest.approx(1 + 8 / 3 * camber**2, abs=5 * camber**4)


def test_points_keep_their_count_along_a_blade():
    for section in (Airfoil(name="e387"), Airfoil(name="4412"), Sheet(thickness=0.002, camber=0.05, edge="rounded")):
        assert len({len(section_points(section, chord)) for chord in (20.0, 33.3, 80.0)}) == 1


def test_coordinates_are_shipped_for_what_no_formula_draws():
    for row in SHIPPED:
        if row.coordinates != "formula":
            assert tables.load(f"coordinates/{row.name}").seen == "computed"


@pytest.mark.parametrize(
    ("section", "chord", "error", "words"),
    [
        (Airfoil(name="4412"), 0.0, OutOfRange, "chord: got 0 mm, needs 3 to 500 mm"),
        (Airfoil(name="4412"), 65000.0, OutOfRange, "chord"),
        (Airfoil(name="4412"), math.nan, OutOfRange, "chord"),
        (Airfoil(name="4400"), 50.0, InputError, "a thickness in its last two digits"),
        (Airfoil(name="e378"), 50.0, UnknownKey, "e387"),
        (Airfoil(name="../../secret"), 50.0, UnknownKey, "an airfoil of the catalogue"),
        (OwnPolar(file="mine.csv"), 50.0, InputError, "a sheet or an airfoil"),
        (Sheet(thickness=0.01), 15.0, InputError, "at least twice the thickness"),
    ],
)
def test_what_cannot_be_drawn_is_refused(section, chord, error, words):
    with pytest.raises(error, match=words):
        section_polygon(section, chord)
