"""Circuits against outside numbers."""

import math

import pytest
from evidence import rows

from whirlbench import tables
from whirlbench.physics.circuit import Circuit, electrical_state

_RPM = math.pi / 30.0
# the constants in the head of both tables, type 14415
_KE, _R, _FRICTION = 14.66e-3, 9.26, 0.38e-3


@pytest.mark.parametrize("row", rows("generator/generator_load_curve"), ids=str)
def test_a_motor_driven_at_2000_rpm(row):
    speed = 2000 * _RPM
    state = electrical_state(Circuit(_R, load_resistance=row.R_load_ohm), _KE * speed)
    torque = state.gap_power / speed + _FRICTION
    # six printed digits
    assert state.current == pytest.approx(row.I_A, rel=1e-5)
    assert state.voltage == pytest.approx(row.V_V, rel=1e-5)
    assert state.load_power == pytest.approx(row.P_W, rel=2e-5)
    assert torque == pytest.approx(row.shaft_torque_Nm, rel=1e-5)
    assert state.load_power / (torque * speed) == pytest.approx(row.efficiency, rel=1e-5)


@pytest.mark.parametrize("row", rows("generator/operating_point_vs_load"), ids=str)
def test_the_electrical_side_of_a_rotor_example(row):
    emf = _KE * row.rotor_rpm * row.gear_ratio * _RPM
    state = electrical_state(Circuit(_R, load_resistance=row.R_load_ohm), emf)
    assert state.current == pytest.approx(row.I_A, rel=2e-5)
    assert state.voltage == pytest.approx(row.V_V, rel=2e-5)
    assert state.load_power == pytest.approx(row.P_W, rel=4e-5)


@pytest.mark.parametrize(
    ("device", "low", "high"),
    # "1.88 V peak leaves 0.5 V behind silicon, 1.0-1.3 V behind Schottky", one printed decimal
    [
        ("silicon rectifier (1N400x class)", 0.45, 0.55),
        ("Schottky 1N5817", 0.95, 1.35),
        ("Schottky, tens of mA", 0.95, 1.35),
    ],
)
def test_what_a_bridge_leaves_of_a_hand_wound_coil(device, low, high):
    drop = tables.load("generator/rectifier_drops").find(device=device).Vf_V
    bridge = Circuit(10.6, "ac", rectifier_drop=drop, diode_count=2, reservoir=True)
    assert low <= electrical_state(bridge, 1.884).voltage <= high
    assert electrical_state(bridge, 2 * drop).voltage == 0


def test_matched_coil_gives_its_42_milliwatts():
    state = electrical_state(Circuit(10.6, "ac", load_resistance=10.6), 1.884)
    assert state.load_power == pytest.approx(0.042, abs=0.0005)
    assert state.voltage == pytest.approx(1.333 / 2, abs=0.0005)
