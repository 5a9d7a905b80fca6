"""Air: directions and refusals."""

import pytest

from whirlbench.errors import OutOfRange
from whirlbench.physics import air


def test_warm_moist_and_high_air_is_lighter():
    here = air.density(293.15, 101325, 0.4)
    assert air.density(303.15, 101325, 0.4) < here
    assert air.density(293.15, 101325, 0.9) < here
    assert air.density(293.15, air.pressure_at(1500), 0.4) < 0.85 * here


def test_celsius_is_noticed():
    with pytest.raises(OutOfRange, match="add 273"):
        air.density(21.0, 101325, 0.4)
