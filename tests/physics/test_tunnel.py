"""Wind maps and blockage: limits and scaling."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange
from whirlbench.physics import tunnel

speeds = st.lists(st.floats(0.5, 10), min_size=1, max_size=8)


@given(speeds)
def test_cube_mean_lies_between_mean_and_largest(rings):
    got = tunnel.cube_mean(rings, map_radius=0.3, rotor_radius=0.3)
    assert np.mean(rings) - 1e-9 <= got <= max(rings) + 1e-9


def test_even_jet_is_its_own_cube_mean():
    assert tunnel.cube_mean([4, 4, 4], map_radius=0.3, rotor_radius=0.2) == pytest.approx(4)


def test_small_rotor_sees_the_inner_rings_only():
    assert tunnel.cube_mean([5, 1, 1, 1], map_radius=0.4, rotor_radius=0.2) == pytest.approx(5)


def test_rotor_beyond_the_map_is_refused():
    with pytest.raises(OutOfRange, match="out to the blade tips"):
        tunnel.cube_mean([4, 4], map_radius=0.2, rotor_radius=0.3)


def test_rings_hold_equal_areas():
    radii = tunnel.ring_radii(4, 1.0)
    assert np.diff(radii**2) == pytest.approx(0.25)


def test_no_walls_no_correction():
    assert tunnel.free_speed_ratio(0.8, 0.0) == 1
    assert tunnel.free_speed_ratio(0.8, 1e-4) == pytest.approx(1, abs=1e-4)
    assert tunnel.free_speed_ratio(0.0, 0.3) == pytest.approx(1)


# above a thrust coefficient of 1 the free-air disc itself has no solution, so more wall can mean less correction
@given(st.floats(0.05, 0.95), st.floats(0.01, 0.4))
def test_walls_always_help(thrust, blockage):
    assert tunnel.free_speed_ratio(thrust, blockage) >= 1
    assert tunnel.free_speed_ratio(thrust, blockage) <= tunnel.free_speed_ratio(thrust, blockage + 0.05) + 1e-9
