"""Safety numbers: scaling, limits, and two roads to one answer."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange
from whirlbench.physics import rod, safety
from whirlbench.tables import load


@given(st.floats(0.001, 0.2), st.floats(0.02, 0.5), st.floats(1.0, 300.0))
def test_energy_is_half_the_pull_times_the_radius(mass, radius, rotor_speed):
    energy = safety.throw_energy(mass, safety.rim_speed(rotor_speed, radius))
    assert energy == pytest.approx(rod.root_pull(mass, radius, rotor_speed) * radius / 2)


@given(st.floats(1.0, 50.0), st.floats(0.0, 2.0))
def test_range_is_the_best_of_all_angles(speed, height):
    g = 9.80665
    angle = np.linspace(0, np.pi / 2, 4001)
    up = speed * np.sin(angle)
    flights = speed * np.cos(angle) * (up + np.sqrt(up**2 + 2 * g * height)) / g
    assert safety.throw_range(speed, height) == pytest.approx(flights.max(), rel=1e-6)


def test_range_from_the_floor_is_the_textbook_one():
    assert safety.throw_range(10.0, 0.0) == pytest.approx(100 / 9.80665)


def test_comparisons_hold_the_same_energy():
    energy = np.array([1.0, 3.7])
    found = safety.comparisons(energy)
    assert len(found) == 2
    for one in found:
        np.testing.assert_allclose(one.times * one.energy, energy)
        assert one.source


def test_flux_index_of_a_magnet_at_the_limit():
    limit = load("safety/facts").find(unit="kG2 mm2").value
    side = np.sqrt(limit / 4.0**2)  # square pole that reaches the limit at 0.4 T = 4 kG [mm]
    assert safety.magnet_flux_index(0.4, (side / 1000) ** 2) == pytest.approx(limit)
    assert safety.magnet_flux_index(0.8, (side / 1000) ** 2) == pytest.approx(4 * limit)


@pytest.mark.parametrize(("speed", "height"), [(400.0, 1.0), (10.0, -0.1), (float("nan"), 1.0)])
def test_impossible_throws_are_refused(speed, height):
    with pytest.raises(OutOfRange):
        safety.throw_range(speed, height)
