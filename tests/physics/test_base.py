"""The base: limits, scaling, and two roads to one answer."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.physics import base
from whirlbench.tables import load
from whirlbench.value import Value

thrusts = st.floats(0.1, 50.0)
heights = st.floats(0.1, 2.0)
masses = st.floats(0.2, 60.0)
widths = st.floats(0.05, 1.5)
frictions = st.floats(0.05, 1.2)
factors = st.floats(1.0, 5.0)


@given(thrusts, heights, masses, widths)
def test_tipping_factor_is_the_thrust_that_balances_moments(thrust, height, mass, width):
    brink = thrust * base.tipping_safety(thrust, height, mass, base_width=width)
    assert brink * height == pytest.approx(mass * base.GRAVITY * width / 2)
    assert base.tipping_safety(brink, height, mass, base_width=width) == pytest.approx(1)


@given(thrusts, masses, widths, frictions)
def test_tipping_and_sliding_meet_at_the_dividing_height(thrust, mass, width, friction):
    height = base.tipping_first_height(width, friction)
    assume(height < 9)
    tip = base.tipping_safety(thrust, height, mass, base_width=width)
    assert tip == pytest.approx(base.sliding_safety(thrust, mass, friction))
    assert base.tipping_safety(thrust, 1.1 * height, mass, base_width=width) < tip


@given(thrusts, heights, masses, widths, frictions, factors)
def test_ballast_reaches_the_wanted_factor_and_no_more(thrust, height, mass, width, friction, wanted):
    got = base.ballast(thrust, height, mass, base_width=width, friction_coefficient=friction, wanted_factor=wanted)

    def factor_with(added):
        tip = base.tipping_safety(thrust, height, mass + added, base_width=width)
        return min(tip, base.sliding_safety(thrust, mass + added, friction))

    assume(mass + got.needed < 1e3)
    assert got.needed >= 0
    if got.needed > 0:
        assert factor_with(got.needed) == pytest.approx(wanted)
    else:
        assert factor_with(0) >= wanted * (1 - 1e-12)


def test_ballast_over_an_array_of_thrusts():
    got = base.ballast(np.array([0.5, 5.0]), 1.0, 4.0, base_width=0.4, friction_coefficient=0.3)
    assert got.needed.shape == (2,)
    assert got.needed[0] == 0 < got.needed[1]


@given(st.floats(0.05, 1.0), st.floats(0.0, 0.05))
def test_tilt_test_is_a_block_on_a_slope(angle, doubt):
    got = base.friction_from_tilt(Value(angle, doubt))
    weight_along, weight_across = math.sin(angle), math.cos(angle)
    assert got.number * weight_across == pytest.approx(weight_along)
    step = 1e-6
    slope = (base.friction_from_tilt(angle + step).number - base.friction_from_tilt(angle - step).number) / (2 * step)
    assert got.sigma == pytest.approx(slope * doubt, rel=1e-6)


def test_tilt_in_degrees_is_refused():
    with pytest.raises(OutOfRange, match="radians"):
        base.friction_from_tilt(25.0)


@pytest.mark.parametrize("row", load("base/friction").rows, ids=str)
def test_table_friction_stays_inside_its_span(row):
    got = base.friction_coefficient(row.pair)
    assert row.mu_low <= got.number <= row.mu_high
    assert got.sigma >= 0.1 * got.number
    assert row.how in got.source
    if row.mu_high > 1.5 * row.mu_low:
        assert got.sigma == pytest.approx((row.mu_high - row.mu_low) / math.sqrt(12))


def test_misspelt_pair_names_the_nearest():
    with pytest.raises(UnknownKey, match="plywood on carpet"):
        base.friction_coefficient("plywood on carpets")


def test_lighter_ballast_takes_more_room():
    concrete, sand, water = (base.ballast_volume(10.0, name) for name in ("concrete", "sand", "water"))
    assert concrete < sand < water == pytest.approx(0.01)


def test_centre_of_mass_moves_the_brink():
    near = base.tipping_safety(3.0, 1.0, 5.0, base_width=0.4, mass_offset=0.1)
    assert near == pytest.approx(base.tipping_safety(3.0, 1.0, 5.0, base_width=0.4) / 2)
    with pytest.raises(OutOfRange, match="over the base"):
        base.tipping_safety(3.0, 1.0, 5.0, base_width=0.4, mass_offset=0.21)


@pytest.mark.parametrize("bad", [{"thrust": 0.0}, {"mass": -1.0}, {"friction_coefficient": 0.0}])
def test_impossible_numbers_are_refused(bad):
    with pytest.raises(OutOfRange):
        base.sliding_safety(**({"thrust": 3.0, "mass": 5.0, "friction_coefficient": 0.4} | bad))
