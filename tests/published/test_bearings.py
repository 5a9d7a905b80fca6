"""Bearings and shafts against a maker's table and worked examples."""

import pytest
from evidence import rows

from whirlbench.physics import bearings

ROLLING = {
    "deep groove ball bearing": "ball",
    "angular contact ball, single row": "ball_angular_contact",
    "angular contact ball, double row": "ball_angular_contact_double_row",
    "self-aligning ball bearing": "ball_self_aligning",
    "cylindrical roller with cage, Fa=0": "roller_cylindrical",
    "cylindrical roller full complement": "roller_cylindrical_full",
    "needle roller with cage": "roller_needle",
    "tapered roller": "roller_tapered",
    "spherical roller": "roller_spherical",
    "thrust ball": "ball_thrust",
    "cylindrical roller thrust": "roller_cylindrical_thrust",
}
WORKED = {row.case: row for row in rows("bearings/worked")}
ROTOR = 0.25 * 9.81, 0.040, 0.006  # load, overhang, shaft diameter


@pytest.mark.parametrize("row", rows("bearings/rolling_friction"), ids=str)
def test_shipped_friction_is_the_makers(row):
    assert bearings.bearing_friction(ROLLING[row.bearing_type]).number == row.mu


@pytest.mark.parametrize(
    ("case", "friction", "bore"),
    [
        ("608 ball bearing", 0.0015, 0.008),
        ("acetal bush on 6 mm steel shaft", 0.20, 0.006),
        ("nylon bush on 6 mm steel shaft", 0.25, 0.006),
        ("oiled brass bush on 6 mm shaft", 0.10, 0.006),
    ],
)
def test_friction_torque(case, friction, bore):
    assert 1000 * bearings.bearing_torque(friction, 5, bore) == pytest.approx(WORKED[case].value, rel=1e-12)


@pytest.mark.parametrize(
    ("case", "kind", "bore"),
    [
        ("608 ball bearing", "ball", 0.008),
        ("acetal bush on 6 mm steel shaft", "acetal_bush", 0.006),
        ("nylon bush on 6 mm steel shaft", "nylon_bush", 0.006),
        ("oiled brass bush on 6 mm shaft", "brass_oiled", 0.006),
    ],
)
def test_torque_of_a_named_bearing_holds_the_worked_example_within_its_doubt(case, kind, bore):
    got = bearings.running_torque(kind, 5, bore)
    assert abs(1000 * got.number - WORKED[case].value) <= 1000 * got.sigma + 1e-12


def test_overhung_shaft():
    stress, sag = WORKED["cantilever shaft stress 32M/(pi d^3)"], WORKED["shaft tip sag F L^3/(3EI)"]
    assert bearings.shaft_bending_stress(*ROTOR) / 1e6 == pytest.approx(stress.value, abs=5e-5)
    assert bearings.shaft_sag(*ROTOR, 205e9) * 1e6 == pytest.approx(sag.value, abs=5e-5)


def test_start_up_reaches_twice_the_running_torque_at_most():
    # read: "up to twice"; an even spread from once to twice has its middle at 1.5 and its ends 1.73 sigma away
    running = bearings.running_torque("ball", 5, 0.008)
    start = bearings.START_UP
    assert start.number + 3**0.5 * start.sigma == pytest.approx(2)
    assert bearings.starting_torque(running).number == pytest.approx(1.5 * running.number)
