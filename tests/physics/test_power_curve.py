"""Power curve by bins: where a run falls, what is averaged, and what air density does."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.measure.power_curve import normalised, power_curve, turbulence_gain, turbulence_intensity

WINDS = [3.8, 4.0, 4.1, 4.26, 5.1]
POWERS = [0.10, 0.11, 0.12, 0.14, 0.25]


def test_bins_are_centred_on_multiples_of_their_width():
    first, second, third = power_curve(WINDS, POWERS, 1.225).bins
    assert [each.centre for each in (first, second, third)] == [4.0, 4.5, 5.0]
    assert [each.count for each in (first, second, third)] == [3, 1, 1]
    assert first.wind_speed == pytest.approx(np.mean(WINDS[:3]))
    assert first.power == pytest.approx(0.11)
    assert first.scatter == pytest.approx(0.01)
    assert first.repeat_sigma == first.sigma == pytest.approx(0.01 / math.sqrt(3))
    assert (second.scatter, second.repeat_sigma, second.sigma) == (None, None, None)


@given(st.lists(st.tuples(st.floats(0.1, 15), st.floats(0, 5)), min_size=1, max_size=30), st.floats(0.1, 2))
def test_no_run_is_lost(runs, width):
    winds, powers = np.array(runs).T
    curve = power_curve(winds, powers, 1.1, width=width)
    assert sum(each.count for each in curve.bins) == len(runs)
    total = sum(each.count * each.power for each in curve.bins)
    assert total == pytest.approx(powers.sum() * 1.225 / 1.1, abs=1e-9)
    assert all(abs(each.wind_speed - each.centre) <= width * (0.5 + 1e-9) for each in curve.bins)
    assert sorted(each.centre for each in curve.bins) == [each.centre for each in curve.bins]


def test_both_density_rules_agree_on_a_cubic_curve():
    """A turbine whose power is a constant times density times the cube of the wind, in thin air."""
    winds = np.array([3.0, 4.0, 5.0])
    powers = 0.002 * 1.0 * winds**3
    _, by_power = normalised(winds, powers, 1.0)
    by_wind, unchanged = normalised(winds, powers, 1.0, rule="wind")
    assert by_power == pytest.approx(0.002 * 1.225 * winds**3)
    assert unchanged == pytest.approx(0.002 * 1.225 * by_wind**3)
    assert normalised(winds, powers, 1.0, rule="none")[1] == pytest.approx(powers)


def test_each_run_may_have_its_own_air():
    _, powers = normalised([4, 4], [0.1, 0.1], np.array([1.225, 1.0]))
    assert powers == pytest.approx([0.1, 0.1225])


def test_doubt_that_all_runs_share_does_not_average_out():
    few = power_curve([4.0] * 4, [0.1, 0.11, 0.1, 0.11], 1.225, power_doubt=0.03)
    many = power_curve([4.0] * 400, [0.1, 0.11, 0.1, 0.11] * 100, 1.225, power_doubt=0.03)
    assert many.bins[0].repeat_sigma < 0.11 * few.bins[0].repeat_sigma
    for curve in (few, many):
        assert curve.bins[0].instrument_sigma == pytest.approx(0.03 * 0.105)
    assert many.bins[0].sigma >= many.bins[0].instrument_sigma


def test_doubt_of_the_wind_enters_by_the_slope():
    winds = np.arange(3.0, 7.0, 0.5)
    curve = power_curve(winds, 0.002 * winds**3, 1.225, wind_doubt=0.05)
    middle = curve.bins[4]
    assert middle.instrument_sigma == pytest.approx(3 * 0.05 * middle.power, rel=0.02)
    alone = power_curve([5.0], [0.25], 1.225, wind_doubt=0.05)
    assert alone.bins[0].instrument_sigma == pytest.approx(0.15 * 0.25)


def test_standard_errors_are_the_spread_of_means():
    rng = np.random.default_rng(3)
    found = [power_curve([4.0] * 5, 0.1 + 0.01 * rng.standard_normal(5), 1.225).bins[0] for _ in range(2000)]
    spread = np.std([each.power for each in found])
    assert np.sqrt(np.mean([each.repeat_sigma**2 for each in found])) == pytest.approx(spread, rel=0.05)


def test_turbulence():
    assert turbulence_intensity([4.0, 5.0, 6.0]) == pytest.approx(0.2)
    assert turbulence_gain(0.0) == 1
    with pytest.raises(InputError):
        turbulence_intensity([4.0])
    with pytest.raises(OutOfRange):
        turbulence_gain(15)


def test_slips_are_refused():
    with pytest.raises(InputError, match="no runs"):
        power_curve([], [], 1.2)
    with pytest.raises(OutOfRange):
        power_curve(WINDS, POWERS, 1.2, width=0)
    with pytest.raises(OutOfRange):
        power_curve(WINDS, POWERS, 0.1)
    with pytest.raises(UnknownKey, match="'power'"):
        power_curve(WINDS, POWERS, 1.2, rule="powers")
