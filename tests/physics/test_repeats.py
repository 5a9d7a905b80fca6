"""The robust check of repeats: scaling, order, and how often honest repeats are asked about."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.measure.repeats import apart, modified_z

# from memory: the eight values that handbooks use to show a test for one outlier, the last of them
HANDBOOK = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]


def test_the_handbooks_outlier_is_the_only_one_found():
    assert apart(HANDBOOK) == [7]


def test_the_score_by_hand():
    assert modified_z([1, 2, 3, 4, 100]) == pytest.approx([-1.349, -0.6745, 0, 0.6745, 65.4265])


def test_values_all_the_same_have_no_outlier():
    assert not modified_z([2.0] * 6).any()


@given(st.lists(st.floats(0.1, 10), min_size=5, max_size=12), st.floats(0.01, 100))
def test_units_and_order_do_not_matter(values, scale):
    found = {values[k] for k in apart(values, doubt=0.02)}
    assert {values[::-1][k] for k in apart(values[::-1], doubt=0.02)} == found
    far = modified_z(np.asarray(values) * scale, doubt=0.02)
    assert far == pytest.approx(modified_z(values, doubt=0.02), rel=1e-6, abs=1e-6)


def test_honest_repeats_are_seldom_asked_about():
    """Ten repeats with the very doubt that is believed: one in 60 sets, where every value is honest."""
    rng = np.random.default_rng(3)
    sets = 1 + 0.02 * rng.standard_normal((2000, 10))
    asked = sum(bool(apart(one, doubt=0.02)) for one in sets)
    assert asked < 2000 / 40


@pytest.mark.parametrize("count", [60, 1000, 20_000])
def test_many_honest_repeats_are_as_seldom_asked_about(count):
    """The more values, the farther the farthest honest one lies; a wrong digit still stands apart."""
    rng = np.random.default_rng(8)
    sets = 100_000 // count
    asked = 0
    for _ in range(sets):
        values = 1 + 0.02 * rng.standard_normal(count)
        asked += bool(apart(values, doubt=0.02))
        values[7] = 1.3
        assert 7 in apart(values, doubt=0.02)
    assert asked <= max(1, sets / 15)
