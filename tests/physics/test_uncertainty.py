"""Doubt of a result: two roads to one answer, shares that add up, and intervals that hold what they promise."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.measure.uncertainty import (
    MONTE_CARLO,
    Input,
    correlated_means,
    coverage_factor,
    effective_freedom,
    evaluate,
    from_limit,
    mean_of,
    monte_carlo,
    pooled_scatter,
)

SIGMAS = st.floats(0.001, 0.03)


def power(volts, ohms):
    return volts**2 / ohms


@given(SIGMAS, SIGMAS)
def test_powers_add_their_relative_doubts(volts, ohms):
    got = evaluate(power, [Input("volts", 2.0, 2.0 * volts), Input("ohms", 47.0, 47.0 * ohms)])
    assert got.sigma / got.number == pytest.approx(math.hypot(2 * volts, ohms), rel=1e-6)
    assert sum(share for _, share in got.shares) == pytest.approx(1)
    assert dict(got.shares)["volts"] == pytest.approx((2 * volts) ** 2 / (4 * volts**2 + ohms**2), rel=1e-6)
    assert list(got.shares) == sorted(got.shares, key=lambda share: -share[1])


@given(SIGMAS, st.floats(-0.95, 0.95))
def test_both_methods_agree_where_it_is_straight(size, tie):
    inputs = [Input("volts", 2.0, 2.0 * size), Input("ohms", 47.0, 0.01 * 47)]
    ties = [[1, tie], [tie, 1]]
    first = evaluate(lambda volts, ohms: 3 * volts + ohms / 20, inputs, correlation=ties)
    drawn = evaluate(lambda volts, ohms: 3 * volts + ohms / 20, inputs, correlation=ties, method=MONTE_CARLO)
    assert drawn.sigma == pytest.approx(first.sigma, rel=0.02)
    assert [drawn.low, drawn.high] == pytest.approx([first.low, first.high], abs=0.02 * first.sigma)
    assert (first.low + first.high) / 2 == pytest.approx(first.number)


def test_one_meter_for_both_terms_of_a_ratio_cancels():
    inputs = [Input("before", 2.0, 0.1), Input("after", 2.0, 0.1)]
    together = evaluate(lambda before, after: after / before, inputs, correlation=np.ones((2, 2)))
    assert together.sigma == pytest.approx(0, abs=1e-9)
    assert evaluate(lambda before, after: after / before, inputs).sigma == pytest.approx(0.05 * math.sqrt(2), rel=1e-6)


def test_no_doubt_is_no_doubt():
    got = evaluate(power, [Input("volts", 2.0), Input("ohms", 4.0)])
    assert (got.number, got.sigma, got.low, got.high) == (1.0, 0.0, 1.0, 1.0)
    assert all(share == 0 for _, share in got.shares)


@pytest.mark.parametrize("shape", ["normal", "rectangular", "arcsine"])
def test_draws_have_the_doubt_they_were_given(shape):
    drawn = monte_carlo(lambda x: x, [Input("x", 5.0, 0.3, shape=shape)])
    assert (drawn.mean(), drawn.std()) == (pytest.approx(5, abs=1e-3), pytest.approx(0.3, rel=1e-3))
    if shape != "normal":
        widest = 0.3 * {"rectangular": math.sqrt(3), "arcsine": math.sqrt(2)}[shape]
        assert abs(drawn - 5).max() <= widest * (1 + 1e-12)


def test_few_repeats_draw_wider():
    few = monte_carlo(lambda x: x, [Input("x", 0.0, 1.0, freedom=4)])
    assert few.std() == pytest.approx(math.sqrt(4 / 2), rel=0.03)
    assert np.quantile(few, 0.975) == pytest.approx(coverage_factor(4), rel=2e-3)


def test_same_seed_same_draws():
    inputs = [Input("x", 0.0, 1.0)]
    assert (monte_carlo(abs, inputs, seed=3) == monte_carlo(abs, inputs, seed=3)).all()
    assert (monte_carlo(abs, inputs, seed=3) != monte_carlo(abs, inputs, seed=4)).any()


def test_intervals_from_repeats_hold_the_truth():
    """Three repeats of volts beside a known resistor: 95 of 100 intervals hold the true power."""
    rng = np.random.default_rng(5)
    held = []
    for _ in range(1500):
        mean = mean_of(2.0 + 0.02 * rng.standard_normal(3))
        inputs = [Input("volts", mean.number, mean.sigma, mean.freedom), Input("ohms", 4.0)]
        got = evaluate(power, inputs)
        held.append(got.low <= 1.0 <= got.high)
    assert np.mean(held) == pytest.approx(0.95, abs=0.018)  # three standard errors of 1500 draws


def test_means_read_together_keep_their_tie():
    inputs, ties = correlated_means(["a", "b"], [[1.0, 2.0, 3.0], [2.0, 4.0, 6.0]])
    assert ties == pytest.approx(np.ones((2, 2)))
    assert [one.freedom for one in inputs] == [2, 2]
    assert inputs[0].sigma == pytest.approx(1 / math.sqrt(3))


def test_pooled_scatter_is_that_of_the_draws():
    rng = np.random.default_rng(2)
    groups = [level * (1 + 0.04 * rng.standard_normal(4)) for level in (1, 5, 20) * 150]
    size, freedom = pooled_scatter(groups)
    assert freedom == 3 * 450
    assert size == pytest.approx(0.04, rel=0.06)
    assert pooled_scatter([[1.0], [2.0], []]) == (0.0, 0)


def test_effective_freedom_lies_between_the_weakest_and_the_sum():
    assert effective_freedom([1.0, 0.0], [3, 9]) == pytest.approx(3)
    assert 3 < effective_freedom([1.0, 1.0], [3, 9]) < 12
    assert effective_freedom([1.0], [math.inf]) == math.inf
    assert effective_freedom([0.0], [3]) == math.inf


def test_slips_are_refused():
    with pytest.raises(InputError):
        mean_of([1.0])
    with pytest.raises(OutOfRange):
        coverage_factor(0.5)
    with pytest.raises(UnknownKey):
        from_limit(1.0, "triangle")
    with pytest.raises(UnknownKey):
        monte_carlo(lambda x: x, [Input("x", 1.0, 1.0, shape="rectangle")])
    with pytest.raises(InputError):
        pair = [Input("x", 1.0, 1.0, shape="rectangular"), Input("y", 1.0, 1.0)]
        monte_carlo(lambda x, y: x + y, pair, correlation=np.eye(2))
