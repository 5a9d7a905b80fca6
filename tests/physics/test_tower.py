"""The tower: limits, scaling, two roads to one answer, and doubt of the push test."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.linalg import eigh

from whirlbench.errors import OutOfRange
from whirlbench.physics import tower
from whirlbench.value import Value

lengths = st.floats(0.1, 2.0)
stiffnesses = st.floats(5.0, 2000.0)
joints = st.floats(1.0, 1e5)
tips = st.floats(0.0, 3.0)
tubes = st.floats(0.05, 3.0)


def beam_frequency(length, EI, tip_mass, tube_mass, joint, pieces=10):
    """First frequency of a chain of cubic beam elements on a turning spring [Hz]."""
    h, line = length / pieces, tube_mass / length
    k = EI / h**3 * np.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h]] * 2)
    k[2:] = EI / h**3 * np.array([[-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]])
    m = [[156, 22 * h, 54, -13 * h], [22 * h, 4 * h * h, 13 * h, -3 * h * h]]
    m += [[54, 13 * h, 156, -22 * h], [-13 * h, -3 * h * h, -22 * h, 4 * h * h]]
    m = line * h / 420 * np.array(m)
    K, M = np.zeros((2, 2 * pieces + 2, 2 * pieces + 2))
    for i in range(pieces):
        K[2 * i : 2 * i + 4, 2 * i : 2 * i + 4] += k
        M[2 * i : 2 * i + 4, 2 * i : 2 * i + 4] += m
    K[1, 1] += joint
    M[-2, -2] += tip_mass
    return math.sqrt(eigh(K[1:, 1:], M[1:, 1:], eigvals_only=True)[0]) / (2 * math.pi)


@given(lengths, stiffnesses, tips, tubes, joints)
def test_exact_frequency_against_finite_elements(length, EI, tip_mass, tube_mass, joint):
    got = tower.natural_frequency(length, EI, tip_mass, tube_mass=tube_mass, joint_stiffness=joint)
    assert got == pytest.approx(beam_frequency(length, EI, tip_mass, tube_mass, joint), rel=2e-5)


@given(lengths, stiffnesses, tips, tubes, joints)
def test_rayleigh_is_an_upper_bound_and_close(length, EI, tip_mass, tube_mass, joint):
    exact = tower.natural_frequency(length, EI, tip_mass, tube_mass=tube_mass, joint_stiffness=joint)
    quick = tower.natural_frequency_rayleigh(length, EI, tip_mass, tube_mass=tube_mass, joint_stiffness=joint)
    assert exact * (1 - 1e-9) <= quick <= exact * 1.0152


@given(lengths, stiffnesses, tips, tubes)
def test_stiff_joint_is_a_clamped_foot(length, EI, tip_mass, tube_mass):
    hard = 1e6 * EI / length
    clamped = tower.natural_frequency(length, EI, tip_mass, tube_mass=tube_mass)
    assert tower.natural_frequency(length, EI, tip_mass, tube_mass=tube_mass, joint_stiffness=hard) == pytest.approx(
        clamped, rel=1e-5
    )
    push = EI / length**2 / 20
    assert tower.lean(push, length, EI, joint_stiffness=hard).deflection == pytest.approx(
        tower.lean(push, length, EI).deflection, rel=1e-5
    )


@given(lengths, tips, tubes, st.floats(0.5, 50.0))
def test_soft_joint_is_a_rigid_pendulum(length, tip_mass, tube_mass, joint):
    rigid = 1e4 * joint * length
    inertia = tip_mass * length**2 + tube_mass * length**2 / 3
    pendulum = math.sqrt(joint / inertia) / (2 * math.pi)
    for frequency in (tower.natural_frequency, tower.natural_frequency_rayleigh):
        got = frequency(length, rigid, tip_mass, tube_mass=tube_mass, joint_stiffness=joint)
        assert got == pytest.approx(pendulum, rel=1e-4)
        assert got <= pendulum


def test_bare_clamped_beam_has_the_textbook_root():
    got = tower.natural_frequency(1.0, 100.0, 0.0, tube_mass=1.0)
    assert got == pytest.approx(1.8751040687**2 * 10 / (2 * math.pi), rel=1e-9)


@given(lengths, stiffnesses, tips, tubes, joints, st.floats(1.1, 2.4))
def test_frequency_scaling_laws(length, EI, tip_mass, tube_mass, joint, by):
    base = tower.natural_frequency(length, EI, tip_mass, tube_mass=tube_mass, joint_stiffness=joint)
    stiffer = tower.natural_frequency(length, EI * by, tip_mass, tube_mass=tube_mass, joint_stiffness=joint * by)
    heavier = tower.natural_frequency(length, EI, tip_mass * by, tube_mass=tube_mass * by, joint_stiffness=joint)
    longer = tower.natural_frequency(length * by, EI * by, tip_mass, tube_mass=tube_mass, joint_stiffness=joint)
    assert stiffer == pytest.approx(base * math.sqrt(by), rel=1e-9)
    assert heavier == pytest.approx(base / math.sqrt(by), rel=1e-9)
    assert longer == pytest.approx(base / by, rel=1e-9)


def test_frequency_over_arrays_is_that_of_each():
    lengths, masses = np.array([0.5, 1.0, 1.5]), np.array([[0.0], [0.6]])
    got = tower.natural_frequency(lengths, 250.0, masses, tube_mass=0.6 * lengths, joint_stiffness=80.0)
    assert got.shape == (2, 3)
    alone = tower.natural_frequency(1.5, 250.0, 0.6, tube_mass=0.9, joint_stiffness=80.0)
    assert got[1, 2] == pytest.approx(alone, rel=1e-12)


@given(lengths, stiffnesses, joints, st.floats(0.0, 0.02))
def test_lean_is_the_sum_of_its_shares(length, EI, joint, play):
    thrust = 0.05 * min(EI / length**2, joint / length) * np.array([0.0, 0.3, 1.0])
    got = tower.lean(thrust, length, EI, joint_stiffness=joint, free_play=play)
    stiffness = tower.tip_stiffness(length, EI, joint_stiffness=joint)
    np.testing.assert_allclose(got.deflection, thrust / stiffness + play * length, rtol=1e-12)
    np.testing.assert_allclose(got.tube_slope, 1.5 * got.tube_deflection / length, rtol=1e-12)
    np.testing.assert_allclose(got.tilt, got.tube_slope + thrust * length / joint + play, rtol=1e-12)


def test_lean_by_integrating_the_beam():
    length, EI, thrust, load = 0.9, 80.0, 2.0, 1.5
    x = np.linspace(0, length, 20001)
    curvature = (thrust * (length - x) + load * (length - x) ** 2 / 2) / EI
    got = tower.lean(thrust, length, EI, tube_load=load)
    assert got.tube_slope == pytest.approx(np.trapezoid(curvature, x), rel=1e-8)
    assert got.tube_deflection == pytest.approx(np.trapezoid(curvature * (length - x), x), rel=1e-8)


def test_backward_thrust_mirrors_the_lean():
    ahead = tower.lean(2.0, 1.0, 250.0, joint_stiffness=50.0, free_play=0.01)
    back = tower.lean(-2.0, 1.0, 250.0, joint_stiffness=50.0, free_play=0.01)
    assert back.deflection == -ahead.deflection
    assert back.tilt == -ahead.tilt


def test_a_tower_that_lies_down_is_refused():
    with pytest.raises(OutOfRange, match="stiffen the joint"):
        tower.lean(np.array([1.0, 10.0]), 1.0, 250.0, joint_stiffness=10.0)


@given(lengths, stiffnesses, st.floats(5.0, 1e3), st.floats(0.0, 0.02))
def test_push_test_gives_the_joint_back(length, EI, joint, play):
    force = 0.05 * min(EI / length**2, joint / length)
    assume(force >= 0.01)
    moved = tower.lean(force, length, EI, joint_stiffness=joint, free_play=play).deflection
    got = tower.joint_stiffness(force, moved, length, bending_stiffness=EI, free_play=play)
    assert got.number == pytest.approx(joint, rel=1e-6)
    assert got.sigma == 0


def test_doubt_of_the_push_test_against_random_draws():
    readings = {
        "tip_force": Value(5.0, 0.05),
        "tip_deflection": Value(0.060, 0.001),
        "length": Value(0.8, 0.004),
        "bending_stiffness": Value(110.0, 8.0),
        "free_play": Value(0.006, 0.001),
    }
    rng = np.random.default_rng(1)
    F, d, L, EI, play = (rng.normal(v.number, v.sigma, 200_000) for v in readings.values())
    drawn = F * L / ((d - F * L**3 / (3 * EI)) / L - play)
    got = tower.joint_stiffness(**readings)
    assert got.number == pytest.approx(np.median(drawn), rel=0.005)
    assert got.sigma == pytest.approx(drawn.std(), rel=0.03)  # first order, and 200000 draws


def test_push_test_that_shows_only_the_tube_says_clamped():
    with pytest.raises(OutOfRange, match="clamped"):
        tower.joint_stiffness(3.0, 0.004, 1.0, bending_stiffness=247.0)


@given(lengths, stiffnesses)
def test_light_top_changes_nothing_and_euler_load_topples(length, EI):
    light = 1e-4 * EI / length**2 / tower.GRAVITY
    assert tower.weight_factor(length, EI, light) == pytest.approx(1 + 0.4e-4, abs=1e-5)
    euler = (math.pi / 2 / length) ** 2 * EI / tower.GRAVITY
    if euler < 99:
        assert tower.weight_factor(length, EI, 0.99 * euler) > 50
        with pytest.raises(OutOfRange, match="cannot stand"):
            tower.weight_factor(length, EI, 1.01 * euler)


@given(lengths, st.floats(5.0, 500.0), st.floats(0.01, 0.9))
def test_weight_on_a_stiff_tube_is_the_inverted_pendulum(length, joint, share):
    mass = share * joint / length / tower.GRAVITY
    assume(mass <= 100)
    got = tower.weight_factor(length, 1e4 * joint * length, mass, joint_stiffness=joint)
    assert got == pytest.approx(1 / (1 - share), rel=2e-3)


def test_margin_takes_the_nearer_of_turn_and_blades():
    frequency, blades = 5.0, 3
    once, blade = tower.resonance_speeds(frequency, blades)
    speeds = np.array([0.0, blade, 1.19 * blade, 1.21 * blade, 0.81 * once, 0.79 * once, once, 1.5 * once])
    got = tower.frequency_margin(speeds, frequency, blade_count=blades)
    np.testing.assert_allclose(got.nearest, [1, 0, 0.19, 0.21, 0.19, 0.21, 0, 0.5], atol=1e-12)
    assert got.clear.tolist() == [True, False, False, True, False, True, False, True]


def test_wind_on_the_tube_grows_with_the_square():
    one, two = tower.tube_wind_load(np.array([3.0, 6.0]), 0.042, air_density=1.2)
    assert two == pytest.approx(4 * one)
    assert one == pytest.approx(0.5 * 1.2 * 9 * 0.042 * 1.2)
    with pytest.raises(OutOfRange):
        tower.tube_wind_load(40.0, 0.1, air_density=1.2)


@given(st.floats(0.005, 0.2), st.floats(0.05, 0.95))
def test_tube_is_a_rod_less_its_bore(outer, ratio):
    tube = tower.tube_second_moment(outer, ratio * outer)
    assert tube == pytest.approx(tower.tube_second_moment(outer) * (1 - ratio**4), rel=1e-12)


@pytest.mark.parametrize("inner", [0.03, 0.031, -0.01])
def test_impossible_bore_is_refused(inner):
    with pytest.raises(OutOfRange):
        tower.tube_second_moment(0.03, inner)


@pytest.mark.parametrize("bad", [{"length": 1200.0}, {"bending_stiffness": 0.0}, {"joint_stiffness": -1.0}])
def test_numbers_of_no_tower_are_refused(bad):
    with pytest.raises(OutOfRange):
        tower.tip_stiffness(**({"length": 1.0, "bending_stiffness": 250.0} | bad))
