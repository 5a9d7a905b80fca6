"""Dc machine: energy, two roads to one answer, refusals, and the shipped catalogue's own sense."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench import tables
from whirlbench.errors import OutOfRange
from whirlbench.physics import generator

_CONSTANTS = st.floats(1e-4, 1.0)


@given(constant=_CONSTANTS, volts=st.floats(1, 24), ohms=st.floats(0.5, 100), share=st.floats(0.001, 0.5))
def test_a_catalogue_row_returns_its_own_constant(constant, volts, ohms, share):
    winding = {"no_load_current": share * volts / ohms, "winding_resistance": ohms}
    speed = generator.no_load_speed(volts, constant, **winding)
    if 1e-3 <= speed <= 2e4:
        assert generator.emf_constant_from_no_load(volts, speed, **winding) == pytest.approx(constant)
    stall = generator.stall_torque(volts, constant, **winding)
    shown = generator.torque_constant_from_stall(stall, volts / ohms, no_load_current=winding["no_load_current"])
    assert shown == pytest.approx(constant)


@given(constant=_CONSTANTS, current=st.floats(0, 5), speed=st.floats(0, 1000), friction=st.floats(0, 0.1))
def test_shaft_power_is_electrical_power_plus_friction(constant, current, speed, friction):
    torque = generator.shaft_torque(constant * current, speed, friction_torque=friction, viscous_damping=1e-6)
    heat = friction * speed + 1e-6 * speed**2
    assert torque * speed == pytest.approx(generator.emf(constant, speed) * current + heat)


def test_peak_power_is_the_top_of_the_load_curve():
    loads = np.linspace(1, 50, 4901)
    power = (3.0 / (9.0 + loads)) ** 2 * loads
    assert power.max() == pytest.approx(generator.peak_power(3.0, 9.0), rel=1e-9)
    assert loads[power.argmax()] == pytest.approx(9.0)


def test_a_motor_without_enough_volts_stands():
    assert generator.no_load_speed(0.5, 0.01, no_load_current=0.1, winding_resistance=10.0) == 0
    assert generator.stall_torque(0.5, 0.01, no_load_current=0.1, winding_resistance=10.0) == 0


def test_inertia_estimate_against_two_printed_ones_within_a_factor_of_two():
    """252 g and 675 g motors; can diameters 40 and 53 mm from memory."""
    assert 0.5 < generator.rotor_inertia_estimate(0.252, 0.040) / 3.2e-6 < 2
    assert 0.5 < generator.rotor_inertia_estimate(0.675, 0.053) / 1.1e-5 < 2


def test_steppers_scale_with_torque_and_poles():
    assert generator.stepper_emf_constant(0.8, 1.0) == pytest.approx(2 * generator.stepper_emf_constant(0.4, 1.0))
    assert generator.reactance(1e-3, 10.0, pole_pairs=50) == pytest.approx(0.5)


@pytest.mark.parametrize(
    "call",
    [
        lambda: generator.emf(0.0, 100.0),
        lambda: generator.emf(1535.0, 100.0),
        lambda: generator.emf_constant_from_no_load(3.0, 0.0, no_load_current=0.1, winding_resistance=1.0),
        lambda: generator.emf_constant_from_no_load(3.0, 900.0, no_load_current=4.0, winding_resistance=1.0),
        lambda: generator.torque_constant_from_stall(0.01, 0.1, no_load_current=0.2),
        lambda: generator.friction_torque(0.01, -0.1),
        lambda: generator.shaft_torque(0.01, -5.0, friction_torque=0.0),
        lambda: generator.peak_power(1.0, 0.0),
        lambda: generator.stepper_emf_constant(0.4, 0.0),
        lambda: generator.reactance(1e-3, 10.0, pole_pairs=0),
        lambda: generator.rotor_inertia_estimate(0.1, 24.0),
    ],
)
def test_numbers_that_cannot_be_are_refused(call):
    with pytest.raises(OutOfRange):
        call()


@pytest.mark.parametrize("row", tables.load("generator/dc_motors").rows, ids=str)
def test_every_motor_of_the_catalogue_makes_sense(row):
    assert row.kind in {"dc", "ac"} and row.build in {"coreless", "iron core", "geared", "stepper"}
    assert row.breakaway_N_m > row.friction_N_m > 0
    assert all(0 < one <= 0.5 for one in (row.ke_rel_sigma, row.R_rel_sigma, row.friction_rel_sigma))
    assert (row.pole_pairs is None) == (row.kind == "dc")
    # the fastest sheet read says 24 000 rpm without load
    assert 10 < row.nominal_V / row.ke_V_s_per_rad * 60 / (2 * math.pi) < 25_000
    assert row.inertia_kg_m2 > 0 and row.mass_kg > 0
    assert row.breakaway_from.startswith(("common practice", "read", "memory"))


def test_names_of_the_catalogue_are_unique():
    names = [row.name for row in tables.load("generator/dc_motors").rows]
    assert len(names) == len(set(names))
