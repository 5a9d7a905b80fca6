"""Bearings and shafts: scaling, beams by another road, and spin-down records with a known answer."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.physics import bearings
from whirlbench.tables import load
from whirlbench.value import Value

INERTIA = 2e-5


def spun_down(coulomb, viscous, *, inertia=INERTIA, start=80.0, readings=60):
    """Times and speeds of the closed solution of J dw/dt = -(Tc + D w), until 5 % of the speed is left."""
    if viscous == 0:
        times = np.linspace(0, 0.95 * start * inertia / coulomb, readings)
        return times, start - coulomb / inertia * times
    rest = coulomb / viscous
    stop = inertia / viscous * math.log((start + rest) / (0.05 * start + rest))
    times = np.linspace(0, stop, readings)
    return times, (start + rest) * np.exp(-viscous / inertia * times) - rest


@settings(max_examples=50, deadline=None)
@given(st.floats(1e-5, 1e-3), st.floats(1e-7, 1e-5))
def test_spin_down_finds_both_parts(coulomb, viscous):
    got = bearings.spin_down_friction(*spun_down(coulomb, viscous), INERTIA)
    scale = coulomb + 80 * viscous  # torque at the start; trapezoids of 60 readings keep within 0.2 % of it
    assert got.coulomb.number == pytest.approx(coulomb, abs=2e-3 * scale)
    assert 80 * got.viscous.number == pytest.approx(80 * viscous, abs=2e-3 * scale)


def test_finer_records_come_closer_by_the_square_of_the_step():
    errors = []
    for readings in (20, 40, 80):
        got = bearings.spin_down_friction(*spun_down(1e-4, 3e-6, readings=readings), INERTIA)
        errors.append(abs(got.viscous.number - 3e-6))
    assert errors[0] / errors[1] == pytest.approx(4, rel=0.15)
    assert errors[1] / errors[2] == pytest.approx(4, rel=0.15)


def test_pure_coulomb_and_pure_viscous_friction():
    only_coulomb = bearings.spin_down_friction(*spun_down(2e-4, 0.0), INERTIA)
    assert only_coulomb.coulomb.number == pytest.approx(2e-4)
    assert 80 * only_coulomb.viscous.number == pytest.approx(0, abs=1e-12)
    only_viscous = bearings.spin_down_friction(*spun_down(0.0, 3e-6), INERTIA)
    assert only_viscous.viscous.number == pytest.approx(3e-6, rel=3e-3)
    assert only_viscous.coulomb.number == pytest.approx(0, abs=1e-6)


def test_no_part_comes_out_negative():
    # a fan-like drag grows faster than the speed: the best straight line would start below zero
    times = np.linspace(0, 4, 60)
    got = bearings.spin_down_friction(times, 80 / (1 + times), INERTIA)
    assert got.coulomb.number == 0
    assert got.viscous.number > 0
    assert got.misfit > 1


def test_doubt_covers_the_truth_as_often_as_it_says():
    random = np.random.default_rng(5)
    times, speeds = spun_down(2e-4, 3e-6, readings=200)
    pulls = []
    for _ in range(300):
        got = bearings.spin_down_friction(times, speeds + random.normal(0, 0.5, speeds.size), INERTIA)
        pulls.append((got.coulomb.number - 2e-4) / got.coulomb.sigma)
        assert got.misfit == pytest.approx(0.5, rel=0.25)
    assert np.std(pulls) == pytest.approx(1, abs=0.15)
    assert abs(np.mean(pulls)) < 0.2


def test_readings_at_rest_are_left_out():
    times, speeds = spun_down(2e-4, 3e-6)
    longer = np.append(times, times[-1] + np.array([5.0, 6.0])), np.append(speeds, [0.0, 0.0])
    assert bearings.spin_down_friction(*longer, INERTIA) == bearings.spin_down_friction(times, speeds, INERTIA)


def test_torque_follows_inertia():
    times, speeds = spun_down(2e-4, 3e-6)
    one, two = (bearings.spin_down_friction(times, speeds, inertia) for inertia in (INERTIA, 2 * INERTIA))
    assert two.coulomb.number == pytest.approx(2 * one.coulomb.number)
    assert bearings.spin_down_torque(INERTIA, 10.0) == pytest.approx(2e-4)
    slope = -(speeds[1] - speeds[0]) / (times[1] - times[0])
    start = one.coulomb.number + one.viscous.number * (speeds[0] + speeds[1]) / 2
    assert bearings.spin_down_torque(INERTIA, slope) == pytest.approx(start, rel=2e-3)


def test_every_shipped_bearing_has_doubt_and_says_how_it_was_seen():
    for row in load("bearings/friction").rows:
        value = bearings.bearing_friction(row.kind)
        assert 0 < value.sigma < value.number < 1
        assert row.seen in ("read", "memory")
        assert value.source.endswith(f"({row.seen})")


def test_a_ball_bearing_runs_a_hundred_times_easier_than_a_bush():
    ball, bush = bearings.running_torque("ball", 5, 0.006), bearings.running_torque("acetal_bush", 5, 0.006)
    assert bush.number / ball.number == pytest.approx(133, abs=1)
    assert bush.relative == pytest.approx(bearings.bearing_friction("acetal_bush").relative)


def test_starting_takes_more_than_running_with_more_doubt():
    running = Value(3e-3, 1e-3, "bench test")
    start = bearings.starting_torque(running)
    assert start.number > running.number
    assert start.relative > running.relative
    assert start.source.startswith("bench test")


def test_torque_is_proportional():
    loads = np.array([0.0, 1.0, 2.0])
    assert bearings.bearing_torque(0.2, loads, 0.006) == pytest.approx(0.2 * 0.003 * loads)


def test_stress_and_sag_by_integration():
    load_, overhang, diameter, modulus = 2.5, 0.04, 0.006, 205e9
    edge = np.linspace(-diameter / 2, diameter / 2, 20_001)
    area_moment = np.trapezoid(edge**2 * 2 * np.sqrt(np.maximum(0, (diameter / 2) ** 2 - edge**2)), edge)
    stress = load_ * overhang * diameter / 2 / area_moment
    assert bearings.shaft_bending_stress(load_, overhang, diameter) == pytest.approx(stress, rel=1e-5)
    along = np.linspace(0, overhang, 20_001)
    sag = np.trapezoid(load_ * (overhang - along) ** 2, along) / (modulus * area_moment)  # unit-load method
    assert bearings.shaft_sag(load_, overhang, diameter, modulus) == pytest.approx(sag, rel=1e-5)


TIMES, SPEEDS = spun_down(2e-4, 3e-6)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: bearings.bearing_torque(0.2, -1, 0.006), "bearing load"),
        (lambda: bearings.bearing_torque(2, 5, 0.006), "bearing friction"),
        (lambda: bearings.bearing_torque(0.2, 5, 6), "bearing bore"),
        (lambda: bearings.shaft_bending_stress(2.5, 40, 0.006), "overhang"),
        (lambda: bearings.shaft_sag(2.5, 0.04, 0.006, 205), "elastic modulus"),
        (lambda: bearings.shaft_sag(2.5, 0.04, 6, 205e9), "shaft diameter"),
        (lambda: bearings.spin_down_torque(INERTIA, -1), "positive number"),
        (lambda: bearings.spin_down_torque(0, 1), "moment of inertia"),
        (lambda: bearings.spin_down_friction(TIMES[:3], SPEEDS[:3], INERTIA), "moving spin-down readings"),
        (lambda: bearings.spin_down_friction(TIMES[::-1], SPEEDS, INERTIA), "sort the readings"),
        (lambda: bearings.spin_down_friction(TIMES, -SPEEDS, INERTIA), "without a sign"),
        (lambda: bearings.spin_down_friction(TIMES, SPEEDS[::-1], INERTIA), "a speed that falls"),
    ],
)
def test_out_of_range_is_refused(call, message):
    with pytest.raises(OutOfRange, match=message):
        call()


def test_unknown_bearing_is_refused():
    with pytest.raises(UnknownKey, match="acetal_bush"):
        bearings.running_torque("acetal_bus", 5, 0.006)
