"""Blockage against the actuator disc in a closed section, and published corrections."""

import numpy as np
import pytest
from evidence import rows

from whirlbench.physics import tunnel


@pytest.mark.parametrize("row", rows("rotor/blockage_closed_tunnel_disc_theory"), ids=str)
def test_disc_in_a_closed_section(row):
    ratio = tunnel.free_speed_ratio(row.ct_tunnel, row.blockage_B)
    assert ratio == pytest.approx(row.UF_over_UT, abs=1e-4)
    assert tunnel.bypass_speed_ratio(row.ct_tunnel, row.blockage_B) == pytest.approx(row.u_bypass_over_UT, abs=1e-4)
    assert ratio**-3 == pytest.approx(row.cp_factor_free_over_tunnel, abs=1e-4)


def test_size_of_a_published_correction():
    """Bahaj et al. 2007 (from memory): 18 % in power and 11 % in thrust at blockage 0.175, tip pitch 5 deg."""
    ratio = tunnel.free_speed_ratio(0.9, 0.175)
    assert 1 - ratio**-3 == pytest.approx(0.18, abs=0.06)
    assert 1 - ratio**-2 == pytest.approx(0.11, abs=0.04)


def test_there_and_back():
    free = np.linspace(0.05, 0.9, 18)
    in_tunnel, ratio = tunnel.tunnel_thrust(free, 0.2)
    assert in_tunnel / tunnel.free_speed_ratio(in_tunnel, 0.2) ** 2 == pytest.approx(free, abs=2e-5)
    assert ratio == pytest.approx(tunnel.free_speed_ratio(in_tunnel, 0.2), abs=2e-5)
