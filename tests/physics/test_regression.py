"""Fits of lines and curves: what they find again, what their doubt means, and what they refuse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import InputError
from whirlbench.measure.regression import curve, linear, proportional, straight_line

PLACES = np.array([0.0, 1.0, 2.0, 4.0, 5.0])
NUMBERS = st.floats(-1e4, 1e4).map(lambda number: round(number, 3))


@given(NUMBERS, NUMBERS)
def test_a_line_is_found_again(height, slope):
    fit = straight_line(PLACES, height + slope * PLACES)
    assert fit.coefficients == pytest.approx([height, slope], abs=1e-8)
    assert fit.freedom == 3


@given(st.floats(1e-6, 1e6), st.floats(1e-6, 1e6))
def test_units_only_scale_the_answer(of_places, of_readings):
    readings = np.array([0.1, 1.2, 1.9, 4.2, 4.9])
    plain, scaled = straight_line(PLACES, readings), straight_line(of_places * PLACES, of_readings * readings)
    assert scaled.coefficients[1] == pytest.approx(plain.coefficients[1] * of_readings / of_places, rel=1e-9)
    assert scaled.sigmas[1] == pytest.approx(plain.sigmas[1] * of_readings / of_places, rel=1e-9)
    assert scaled.explained == pytest.approx(plain.explained, abs=1e-9)


def test_both_roads_to_one_line():
    readings = np.array([0.3, 1.2, 1.9, 4.2, 4.9])
    by_lines = straight_line(PLACES, readings)
    by_curve = curve(lambda x, height, slope: height + slope * x, (1.0, 1.0), PLACES, readings)
    assert by_curve.coefficients == pytest.approx(by_lines.coefficients, rel=1e-8)
    assert by_curve.covariance == pytest.approx(by_lines.covariance, rel=1e-7)
    assert by_curve.scatter == pytest.approx(by_lines.scatter)


def test_a_line_through_the_origin():
    fit = proportional([1.0, 2.0], [3.1, 5.9])
    assert fit.coefficients == pytest.approx([(3.1 + 2 * 5.9) / 5])
    assert 0.99 < fit.explained < 1


def test_doubt_of_a_slope_is_the_spread_of_slopes():
    rng = np.random.default_rng(4)
    fits = [straight_line(PLACES, 2 * PLACES + rng.standard_normal(5)) for _ in range(2000)]
    spread = np.std([fit.coefficients[1] for fit in fits])
    assert spread == pytest.approx(1 / np.sqrt(np.sum((PLACES - PLACES.mean()) ** 2)), rel=0.05)
    assert np.sqrt(np.mean([fit.sigmas[1] ** 2 for fit in fits])) == pytest.approx(spread, rel=0.05)


@pytest.mark.parametrize(
    "columns",
    [[[1, 1, 1, 1], [2, 2, 2, 2]], [[1, 2, 3, 4], [2, 4, 6, 8]], [[0, 0, 0, 0]], [[1, 0, 0, 0]] * 4],
)
def test_columns_that_are_alike_are_refused(columns):
    with pytest.raises(InputError):
        linear(columns, [1.0, 2.0, 3.0, 4.0])


def test_a_curve_that_cannot_be_told_is_refused():
    with pytest.raises(InputError, match="apart"):
        curve(lambda x, a, b: a * b * x, (1.0, 2.0), PLACES, 3 * PLACES)
    with pytest.raises(InputError, match="first guess"):
        curve(lambda x, a: a * x, (0.0,), PLACES, 3 * PLACES)
    with pytest.raises(InputError, match="2 or more"):
        curve(lambda x, a: a * x, (1.0,), [1.0], [1.0])
