"""Loads: limits, symmetry, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench import tables
from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.physics import load


@pytest.mark.parametrize("series", ["E6", "E12", "E24"])
def test_preferred_values_over_many_decades(series):
    values = load.preferred_values(series, lowest=0.01, highest=1e8)
    assert len(values) == 10 * int(series[1:]) + 1
    assert np.all(np.diff(values) > 0)
    assert values[0] == 0.01 and values[-1] == 1e8


@given(lowest=st.floats(0.01, 1e4), span=st.floats(1.0, 100.0))
def test_limits_are_kept_and_no_value_inside_them_is_missing(lowest, span):
    inside = load.preferred_values("E24", lowest=lowest, highest=lowest * span)
    all_of_them = load.preferred_values("E24", lowest=0.01, highest=1e8)
    assert inside.tolist() == [value for value in all_of_them if lowest <= value <= lowest * span]


def test_limits_belong_to_the_range_and_print_cleanly():
    assert load.preferred_values("E6", lowest=4.7, highest=15).tolist() == [4.7, 6.8, 10, 15]
    assert load.preferred_values("E6", lowest=5, highest=6).size == 0


@given(ratio=st.floats(1e-3, 1e3))
def test_matching_is_symmetric_and_at_most_one(ratio):
    one, other = load.matched_power_ratio(ratio, 1.0), load.matched_power_ratio(1 / ratio, 1.0)
    assert one == pytest.approx(other) and 0 < one <= 1
    assert load.matched_power_ratio(7.0, 7.0) == 1


def test_led_rows():
    bank = load.led_string(1.7, 15.0, in_series=3, in_parallel=2, series_resistance=55.0)
    assert bank.load_threshold == pytest.approx(5.1)
    assert bank.load_resistance == pytest.approx((3 * 15 + 55) / 2)


@pytest.mark.parametrize("row", tables.load("load/leds").rows, ids=str)
def test_shipped_leds_reach_common_volts_at_20_milliamperes(row):
    volts = row.threshold_V + 0.020 * row.dynamic_ohm
    assert 1.1 < volts < 3.4
    assert load.led_string(row.threshold_V, row.dynamic_ohm).load_resistance == row.dynamic_ohm


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: load.preferred_values("E10", lowest=1, highest=10), UnknownKey),
        (lambda: load.preferred_values("E12", lowest=10, highest=1), OutOfRange),
        (lambda: load.preferred_values("E12", lowest=0, highest=1), OutOfRange),
        (lambda: load.matched_power_ratio(-1.0, 1.0), OutOfRange),
        (lambda: load.matched_power_ratio(1.0, 0.0), OutOfRange),
        (lambda: load.led_string(0.0, 15.0), OutOfRange),
        (lambda: load.led_string(1.7, 15.0, in_series=0), OutOfRange),
        (lambda: load.led_string(1.7, math.nan), OutOfRange),
    ],
)
def test_loads_that_cannot_be_are_refused(call, error):
    with pytest.raises(error):
        call()
