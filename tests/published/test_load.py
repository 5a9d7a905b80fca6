"""Preferred values and matching against outside numbers."""

import pytest
from evidence import rows

from whirlbench.physics import load


@pytest.mark.parametrize("row", rows("generator/preferred_values"), ids=str)
def test_one_decade_of_preferred_values(row):
    decade = [float(cell) for cell in row.values.split()]
    assert load.preferred_values(row.series, lowest=10, highest=99).tolist() == decade


def test_power_at_half_and_double_the_winding_resistance():
    """Notes: P falls to 89 % at half and at double; E12 steps lose less than 1 %."""
    assert load.matched_power_ratio(0.5, 1.0) == pytest.approx(0.89, abs=0.005)
    assert load.matched_power_ratio(2.0, 1.0) == pytest.approx(0.89, abs=0.005)
    steps = load.preferred_values("E12", lowest=10, highest=100)
    between = (steps[1:] * steps[:-1]) ** 0.5  # a winding in the worst place between two steps
    assert load.matched_power_ratio(steps[1:], between).min() > 0.99
