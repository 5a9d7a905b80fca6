"""Belts: geometry drawn by hand, round trips, limits and signs."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.physics import belts

DIAMETERS = st.floats(0.005, 0.5)
GAPS = st.floats(1e-4, 2)


def drawn_length(small, large, apart, points=20_001):
    """Length of a string pulled tight around two drawn circles: the perimeter of their convex hull."""
    turn = np.linspace(0, 2 * math.pi, points)[:-1]
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    cloud = np.concatenate([small / 2 * circle, large / 2 * circle + [apart, 0]])
    return ConvexHull(cloud).area  # in the plane the "area" of a hull is its perimeter


@pytest.mark.parametrize(
    ("small", "large", "apart"), [(0.02, 0.1, 0.12), (0.05, 0.05, 0.2), (0.01, 0.3, 0.156), (0.1, 0.02, 1)]
)
def test_length_agrees_with_a_drawing(small, large, apart):
    assert belts.open_belt_length(small, large, apart) == pytest.approx(drawn_length(small, large, apart), rel=1e-7)


@settings(deadline=None)
@given(DIAMETERS, DIAMETERS, GAPS)
def test_length_and_centre_distance_round_trip(small, large, gap):
    apart = (small + large) / 2 + gap
    length = belts.open_belt_length(small, large, apart)
    assert belts.centre_distance_for_length(small, large, length) == pytest.approx(apart, rel=1e-9)


@settings(deadline=None)
@given(DIAMETERS, DIAMETERS, GAPS)
def test_wrap_and_length_keep_their_signs(small, large, gap):
    apart = (small + large) / 2 + gap
    low, high = belts.wrap_angles(small, large, apart)
    assert low + high == pytest.approx(2 * math.pi)
    assert 0 < low <= math.pi <= high
    length = belts.open_belt_length(small, large, apart)
    assert length == pytest.approx(belts.open_belt_length(large, small, apart))
    assert length >= 2 * apart + math.pi * (small + large) / 2 - 1e-12
    assert belts.open_belt_length(2 * small, 2 * large, 2 * apart) == pytest.approx(2 * length)


def test_equal_pulleys():
    assert belts.wrap_angles(0.05, 0.05, 0.2) == pytest.approx((math.pi, math.pi))
    assert belts.open_belt_length(0.05, 0.05, 0.2) == pytest.approx(0.4 + math.pi * 0.05)


def test_arrays_go_through():
    apart = np.array([0.1, 0.2, 0.3])
    length = belts.open_belt_length(0.02, 0.1, apart)
    assert belts.centre_distance_for_length(0.02, 0.1, length) == pytest.approx(apart)


def test_thickness_and_slip_lower_the_ratio():
    bare = belts.speed_ratio(0.1, 0.02)
    thick = belts.speed_ratio(0.1, 0.02, belt_thickness=0.003)
    assert bare > thick > belts.speed_ratio(0.1, 0.02, belt_thickness=0.003, slip=0.02) > 1


@settings(deadline=None)
@given(st.floats(0, 1.5), st.floats(0, 2 * math.pi), st.floats(0, 100))
def test_torque_stays_below_twice_the_mean_tension(friction, wrap, tension):
    ratio = belts.tension_ratio(friction, wrap)
    torque = belts.largest_torque(0.02, tension, friction, wrap)
    assert ratio >= 1
    assert 0 <= torque <= 2 * tension * 0.01
    # the strands that this torque leaves have the capstan's ratio
    tight, slack = tension + torque / 0.02, tension - torque / 0.02
    assert tight == pytest.approx(ratio * slack, abs=1e-9 * max(1, ratio))


def test_capstan_by_small_steps_round_the_pulley():
    tension, steps = 1.0, 100_000
    for _ in range(steps):
        tension += 0.3 * tension * 2.5 / steps  # dT = mu T d(angle)
    assert belts.tension_ratio(0.3, 2.5) == pytest.approx(tension, rel=1e-5)


def test_a_groove_helps_and_a_flat_pulley_does_not():
    assert belts.groove_friction(0.3, math.pi) == pytest.approx(0.3)
    assert belts.groove_friction(0.3, math.radians(34)) > belts.groove_friction(0.3, math.radians(40)) > 0.3


def test_all_teeth_of_a_pulley_are_in_mesh_over_one_turn():
    assert belts.teeth_in_mesh(20, 2 * math.pi) == pytest.approx(20)
    assert math.pi * belts.timing_pitch_diameter(20, 0.002) == pytest.approx(20 * 0.002)


def test_every_kind_of_belt_loses_something_and_rubber_the_most():
    kinds = {kind: belts.belt_efficiency(kind) for kind in ("timing", "flat", "vee", "round")}
    assert all(0 < value.number < 1 and value.sigma > 0 for value in kinds.values())
    assert min(kinds, key=lambda kind: kinds[kind].number) == max(kinds, key=lambda kind: kinds[kind].sigma) == "round"


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: belts.open_belt_length(0.1, 0.1, 0.05), "overlap"),
        (lambda: belts.open_belt_length(20, 100, 120), "pulley diameter"),
        (lambda: belts.wrap_angles(0.1, 0.1, math.nan), "overlap"),
        (lambda: belts.centre_distance_for_length(0.1, 0.1, 0.4), "longer belt"),
        (lambda: belts.speed_ratio(0.1, 0.02, slip=2), "2 % as 0.02"),
        (lambda: belts.speed_ratio(0.1, 0.02, belt_thickness=2), "belt thickness"),
        (lambda: belts.tension_ratio(0.3, 141), "radians"),
        (lambda: belts.tension_ratio(-0.3, 1), "belt friction"),
        (lambda: belts.groove_friction(0.3, 40), "groove angle"),
        (lambda: belts.largest_torque(0.02, -1, 0.3, 2), "belt tension"),
        (lambda: belts.timing_pitch_diameter(20, 2), "belt pitch"),
        (lambda: belts.teeth_in_mesh(2, 3), "pulley teeth"),
    ],
)
def test_out_of_range_is_refused(call, message):
    with pytest.raises(OutOfRange, match=message):
        call()


def test_unknown_belt_is_refused():
    with pytest.raises(UnknownKey, match="timing"):
        belts.belt_efficiency("timming")
