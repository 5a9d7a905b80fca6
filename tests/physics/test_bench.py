"""Bench identification: known generators come back, and the doubt is honest."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from whirlbench.errors import InputError, OutOfRange
from whirlbench.physics import bench

_SPEED = np.array([50.0, 100.0, 150.0, 200.0, 260.0])


@given(constant=st.floats(1e-3, 1.0))
def test_exact_volts_give_the_exact_constant(constant):
    value = bench.emf_constant(_SPEED, constant * _SPEED)
    assert value.number == pytest.approx(constant, rel=1e-12)
    assert value.sigma < 1e-9 * constant


def test_a_real_intercept_is_kept_and_noise_is_not():
    noise = np.array([1, -1, 1, -1, 0.5]) * 0.005
    offset = bench.emf_constant(_SPEED, 0.015 * _SPEED - 0.3 + noise)
    assert offset.number == pytest.approx(0.015, rel=0.01)
    through_zero = bench.emf_constant(_SPEED, 0.015 * _SPEED + noise)
    best = ((0.015 * _SPEED + noise) * _SPEED).sum() / (_SPEED**2).sum()
    assert through_zero.number == pytest.approx(best, rel=1e-12)


def test_sigma_of_the_constant_covers_the_truth_as_often_as_it_says():
    draw = np.random.default_rng(3)
    speed = np.linspace(40, 300, 12)
    hits = 0
    for _ in range(400):
        value = bench.emf_constant(speed, 0.02 * speed + draw.normal(0, 0.05, speed.size))
        hits += abs(value.number - 0.02) < value.sigma
    # 68 % of 400 is 272, standard deviation 9; small samples and the choice of line move it a little
    assert 235 < hits < 305


@given(winding=st.floats(0.5, 100.0))
def test_loads_give_back_the_winding(winding):
    load = np.array([10.0, 22.0, 47.0])
    opened = np.array([3.0, 3.1, 2.9])
    value = bench.winding_resistance(opened, opened * load / (winding + load), load)
    assert value.number == pytest.approx(winding, rel=1e-9)
    # three loads that agree exactly still leave the meter's own doubt
    assert value.sigma > 0.005 * winding


def test_light_loads_count_less():
    """1 % too many volts on 470 ohm spoil R by 4.8 ohm; the weight keeps the answer near the heavy load's."""
    load = np.array([10.0, 470.0])
    loaded = 3.0 * load / (10.0 + load) * [1.0, 0.99]
    assert bench.winding_resistance(3.0, loaded, load).number == pytest.approx(10.0, abs=0.05)


def test_sigma_follows_the_meter_and_the_scatter():
    fine = bench.winding_resistance([3.0, 3.0], [1.5, 1.5], [10.0, 10.0], reading_doubt=0.001)
    coarse = bench.winding_resistance([3.0, 3.0], [1.5, 1.5], [10.0, 10.0], reading_doubt=0.01)
    assert coarse.sigma == pytest.approx(10 * fine.sigma)
    scattered = bench.winding_resistance([3.0, 3.0], [1.5, 1.6], [10.0, 10.0], reading_doubt=0.001)
    assert scattered.sigma == pytest.approx((10 - 10 * (3 / 1.6 - 1)) / 2, rel=1e-6)


def test_short_circuit_current_agrees_with_the_load_method():
    speed, constant, winding, meter = np.array([100.0, 200.0]), 0.0147, 9.3, 0.4
    current = constant * speed / (winding + meter)
    found = bench.short_circuit_resistance(constant, speed, current, meter_resistance=meter)
    np.testing.assert_allclose(found, winding)


def test_leads_are_taken_off_the_ohmmeter():
    assert bench.ohmmeter_resistance([10.0, 11.0, 30.0], lead_resistance=0.5).number == 10.5


@settings(max_examples=50)
@given(coulomb=st.floats(1e-4, 1e-2), viscous=st.floats(1e-7, 1e-5))
def test_friction_of_a_known_motor(coulomb, viscous):
    constant, winding = 0.0147, 9.3
    current = (coulomb + viscous * _SPEED) / constant
    voltage = constant * _SPEED + winding * current
    known = {"emf_constant": constant, "winding_resistance": winding}
    for fit in (
        bench.running_friction(voltage, current, **known),
        bench.running_friction(voltage, current, **known, generator_speed=_SPEED),
    ):
        assert fit.coulomb.number == pytest.approx(coulomb, rel=1e-6)
        assert fit.viscous.number == pytest.approx(viscous, rel=1e-6)


def test_a_slope_that_is_noise_is_dropped():
    current = np.array([0.0260, 0.0262, 0.0258, 0.0261, 0.0259])
    fit = bench.running_friction(0.0147 * _SPEED + 9.3 * current, current, emf_constant=0.0147, winding_resistance=9.3)
    assert fit.viscous.number == 0 and fit.viscous.sigma > 0
    assert fit.coulomb.number == pytest.approx(0.0147 * current.mean())


def test_breakaway_of_three_masses():
    value = bench.breakaway_torque([0.008, 0.010, 0.012], 0.010)
    assert value.number == pytest.approx(0.010 * 9.80665 * 0.010)
    assert value.sigma == pytest.approx(0.002 * 9.80665 * 0.010)


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: bench.emf_constant([1, 2], [1, 2]), InputError),
        (lambda: bench.emf_constant([1, 2, 3], [1, 2]), InputError),
        (lambda: bench.emf_constant([1, 2, 3], [3, 2, 1]), OutOfRange),
        (lambda: bench.emf_constant([5, 5, 5], [3, 2, 1]), OutOfRange),
        (lambda: bench.emf_constant([1, 2, -3], [1, 2, 3]), OutOfRange),
        (lambda: bench.winding_resistance(2.0, 3.0, 10.0), OutOfRange),
        (lambda: bench.winding_resistance(2.0, 1.0, 0.0), OutOfRange),
        (lambda: bench.ohmmeter_resistance([10.0]), InputError),
        (lambda: bench.ohmmeter_resistance([1.0, 1.0, 1.0], lead_resistance=2.0), OutOfRange),
        (lambda: bench.short_circuit_resistance(0.01, 100.0, 0.0), OutOfRange),
        (lambda: bench.short_circuit_resistance(0.01, 100.0, 1.0, meter_resistance=2.0), OutOfRange),
        (
            lambda: bench.running_friction([1, 1, 1], [1, 1, 1], emf_constant=0.01, winding_resistance=9.0),
            OutOfRange,
        ),
        (lambda: bench.breakaway_torque([0.01, 0.01], 0.01), InputError),
        (lambda: bench.breakaway_torque([10.0, 10.0, 12.0], 0.01), OutOfRange),
    ],
)
def test_readings_that_cannot_be_are_refused(call, error):
    with pytest.raises(error):
        call()
