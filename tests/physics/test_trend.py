"""The running statistics agree with those of the whole record."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.measure.trend import Trend


def trend_of(times, values):
    trend = Trend()
    for time, value in zip(times, values, strict=True):
        trend.add(time, value)
    return trend


@given(st.lists(st.floats(-10, 10), min_size=3, max_size=40), st.floats(-1e3, 1e3))
def test_it_agrees_with_a_fit_to_all_values(values, begun):
    times = begun + np.arange(len(values)) ** 1.1
    trend = trend_of(times, values)
    (slope, _), _ = np.polyfit(times, values, 1), None
    assert trend.mean == pytest.approx(np.mean(values), abs=1e-9)
    assert trend.area == pytest.approx(np.trapezoid(values, times), abs=1e-6)
    assert trend.sd == pytest.approx(np.std(values, ddof=1), abs=1e-7)
    assert trend.drift == pytest.approx(slope * (times[-1] - times[0]), abs=1e-6)


def test_the_doubt_of_the_drift_covers_it():
    """A record without drift seems to drift by more than two of its doubts in about one of twenty."""
    rng = np.random.default_rng(8)
    trends = [trend_of(np.arange(40.0), rng.standard_normal(40)) for _ in range(1000)]
    assert 20 <= sum(abs(one.drift) > 2 * one.drift_doubt for one in trends) <= 85


def test_an_offset_costs_no_digits():
    assert trend_of([0, 1, 2], [1e9, 1e9 + 1, 1e9 + 2]).sd == pytest.approx(1)


@pytest.mark.parametrize("values", [[], [1.0], [2.0, 2.0]])
def test_few_values_say_little(values):
    trend = trend_of(range(len(values)), values)
    assert (trend.count, trend.sd, trend.drift, trend.drift_doubt) == (len(values), 0, 0, 0)
