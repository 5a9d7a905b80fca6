"""Rods: limits, scaling, and two roads to one answer."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.physics import rod

diameters = st.floats(2e-3, 15e-3)
BLADE = {"blade_mass": 0.03, "mass_radius": 0.15, "rotor_speed": 80.0}
MOUNT = {"diameter": 6.35e-3, "hub_radius": 0.03, "thrust": 0.8, "thrust_radius": 0.2}


@given(diameters, st.floats(1.1, 3.0))
def test_thicker_rods_gain_by_powers_of_the_diameter(diameter, by):
    assert rod.rod_area(by * diameter) == pytest.approx(by**2 * rod.rod_area(diameter))
    assert rod.section_modulus(by * diameter) == pytest.approx(by**3 * rod.section_modulus(diameter))
    assert rod.rod_second_moment(by * diameter) == pytest.approx(by**4 * rod.rod_second_moment(diameter))


@given(diameters)
def test_second_moment_by_adding_up_strips(diameter):
    edges = np.linspace(-diameter / 2, diameter / 2, 4001)
    y = (edges[1:] + edges[:-1]) / 2
    width = 2 * np.sqrt((diameter / 2) ** 2 - y**2)
    strip = diameter / 4000
    assert rod.rod_area(diameter) == pytest.approx((width * strip).sum(), rel=1e-5)
    assert rod.rod_second_moment(diameter) == pytest.approx((width * y**2 * strip).sum(), rel=1e-5)
    assert rod.section_modulus(diameter) == pytest.approx(rod.rod_second_moment(diameter) / (diameter / 2))


def test_pull_by_adding_up_a_uniform_rod():
    r = (np.arange(1000) + 0.5) * 0.3 / 1000
    pieces = rod.root_pull(0.04 / 1000, r, 70.0).sum()
    assert rod.root_pull(0.04, 0.15, 70.0) == pytest.approx(pieces)


def test_pull_grows_with_the_square_of_speed():
    slow, fast = rod.root_pull(0.03, 0.15, np.array([50.0, 100.0]))
    assert fast == pytest.approx(4 * slow)
    assert rod.pull_test_force(slow) == pytest.approx(fast)  # the test stands for twice the speed


def test_still_rotor_without_wind_bends_only_by_weight():
    got = rod.rod_load(**(BLADE | {"rotor_speed": 0.0}), **(MOUNT | {"thrust": 0.0}))
    assert got.pull == 0
    assert got.moment == pytest.approx(0.03 * 9.80665 * 0.12)
    assert got.stress == pytest.approx(got.moment / rod.section_modulus(MOUNT["diameter"]))


def test_shares_of_the_load():
    got = rod.rod_load(**BLADE, **MOUNT, torque=0.05)
    assert got.flap_moment == pytest.approx(0.8 * 0.17)
    assert got.edge_moment == pytest.approx(0.05 / 0.2 * 0.17 + 0.03 * 9.80665 * 0.12)
    assert got.moment == pytest.approx(math.hypot(got.flap_moment, got.edge_moment))
    bending = got.moment / rod.section_modulus(MOUNT["diameter"])
    assert got.stress - bending == pytest.approx(got.pull / rod.rod_area(MOUNT["diameter"]))


@given(st.floats(0.0, 300.0), st.floats(0.0, 5.0), st.floats(0.0, 0.3))
def test_more_of_anything_never_relieves_the_rod(speed, thrust, torque):
    least = rod.rod_load(**(BLADE | {"rotor_speed": speed}), **(MOUNT | {"thrust": thrust}), torque=torque)
    more = rod.rod_load(
        **(BLADE | {"rotor_speed": speed + 10}), **(MOUNT | {"thrust": thrust + 0.1}), torque=torque + 0.01
    )
    assert more.stress > least.stress


def test_rod_at_its_breaking_moment_is_at_its_rupture_stress():
    strength = rod.rod_strength(6e-3, "basswood, American")
    assert strength.breaking_moment / rod.section_modulus(6e-3) == pytest.approx(strength.rupture_stress)
    assert strength.allowable_moment * rod.ALLOWABLE_FACTOR == pytest.approx(strength.breaking_moment)


def test_misspelt_wood_names_the_nearest():
    with pytest.raises(UnknownKey, match="birch, paper"):
        rod.rod_strength(6e-3, "birch paper")


@pytest.mark.parametrize("bad", [{"diameter": 6.35}, {"hub_radius": 0.16}, {"thrust_radius": 0.02}])
def test_impossible_mounts_are_refused(bad):
    with pytest.raises(OutOfRange):
        rod.rod_load(**BLADE, **(MOUNT | bad))


def test_a_test_below_the_running_pull_is_refused():
    with pytest.raises(OutOfRange):
        rod.pull_test_force(10.0, 0.5)
