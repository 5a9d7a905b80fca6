"""Balance: sums that vanish, assignments that nothing beats, trim that cancels."""

import cmath
import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.physics import hub


def vector(result):
    return cmath.rect(result.size, result.angle)


@st.composite
def weighed_rotors(draw, most=6):
    hole_count = draw(st.integers(3, 12))
    count = draw(st.integers(2, min(most, hole_count)))
    holes = draw(st.permutations(range(hole_count)))[:count]
    masses = draw(st.lists(st.floats(0.02, 0.06), min_size=count, max_size=count))
    radii = draw(st.lists(st.floats(0.08, 0.20), min_size=count, max_size=count))
    return masses, radii, list(holes), hole_count


@pytest.mark.parametrize("hole_count", [12, 18, 20, 24])
def test_balanced_placements_sum_to_zero(hole_count):
    for blades in range(2, 9):
        found = hub.balanced_placements(blades, hole_count)
        assert bool(found) == hub.can_balance(blades, hole_count)
        for placement in found:
            left = hub.imbalance([0.03] * blades, 0.12, placement.holes, hole_count=hole_count)
            assert left.size < 1e-15


def test_placements_come_most_regular_first():
    kinds = [placement.kind for placement in hub.balanced_placements(8, 24)]
    assert set(kinds) == {"even", "symmetric", "uneven"}
    assert kinds == sorted(kinds, key=("even", "symmetric", "uneven").index)
    assert hub.balanced_placements(3, 12)[0].holes == (0, 4, 8)
    assert hub.balanced_placements(8, 12)[0].holes == (0, 1, 3, 4, 6, 7, 9, 10)  # four pairs, a quarter turn apart
    assert {placement.kind for placement in hub.balanced_placements(5, 12)} == {"uneven"}


@given(st.integers(2, 29), st.data())
def test_empty_holes_balance_as_the_blades_do(hole_count, data):
    blades = data.draw(st.integers(1, hole_count))
    if blades < hole_count:
        assert hub.can_balance(blades, hole_count) == hub.can_balance(hole_count - blades, hole_count)
    else:
        assert hub.can_balance(blades, hole_count)


@given(weighed_rotors(), st.integers(0, 11), st.floats(1.1, 4.0))
def test_turning_the_hub_turns_the_imbalance(rotor, turn, by):
    masses, radii, holes, count = rotor
    one = vector(hub.imbalance(masses, radii, holes, hole_count=count))
    turned = hub.imbalance(masses, radii, [(hole + turn) % count for hole in holes], hole_count=count)
    heavier = hub.imbalance(np.multiply(masses, by), radii, holes, hole_count=count)
    assert vector(turned) == pytest.approx(one * cmath.exp(2j * math.pi * turn / count), abs=1e-14)
    assert vector(heavier) == pytest.approx(by * one, abs=1e-14)


def test_heavy_blade_is_the_direction():
    got = hub.imbalance([0.030, 0.031, 0.030], 0.12, [0, 4, 8], hole_count=12)
    assert got.size == pytest.approx(0.001 * 0.12)
    assert got.angle == pytest.approx(2 * math.pi * 4 / 12)


@settings(max_examples=60)
@given(weighed_rotors())
def test_no_order_beats_the_exact_assignment(rotor):
    masses, radii, holes, count = rotor
    got = hub.best_assignment(masses, radii, holes, hole_count=count)
    assert got.exact
    assert sorted(got.holes) == sorted(holes)
    assert vector(hub.imbalance(masses, radii, got.holes, hole_count=count)) == pytest.approx(
        vector(got.imbalance), abs=1e-15
    )
    moments = np.multiply(masses, radii)
    every = (abs(moments @ np.exp(2j * np.pi * np.array(p) / count)) for p in itertools.permutations(holes))
    assert got.imbalance.size == pytest.approx(min(every), abs=1e-15)


@pytest.mark.parametrize("blades", [7, 8, 9, 10, 12])
def test_many_blades_beat_random_orders(blades):
    rng = np.random.default_rng(blades)
    masses, holes = rng.normal(0.030, 0.002, blades), list(range(blades))
    got = hub.best_assignment(masses, 0.12, holes, hole_count=12 if blades > 8 else 8)
    spots = np.exp(2j * np.pi * np.arange(blades) / (12 if blades > 8 else 8))
    orders = rng.permuted(np.tile(masses, (4000, 1)), axis=1)
    assert got.imbalance.size <= np.abs(orders @ spots).min() * 0.12 * (1 + 1e-12)
    assert got.exact == (blades <= 8)


def test_nine_even_blades_are_still_exact():
    masses = np.random.default_rng(3).normal(0.03, 0.002, 9)
    exact = hub.best_assignment(masses, 0.12, list(range(9)), hole_count=9)
    assert exact.exact
    assert exact.holes[0] == 0  # turning the whole hub changes nothing, so the first blade may stay
    fixed = hub._best_by_swaps(masses * 0.12, np.exp(2j * np.pi * np.arange(9) / 9))
    by_swaps = abs(masses * 0.12 @ np.exp(2j * np.pi * fixed / 9))
    assert exact.imbalance.size <= by_swaps * (1 + 1e-12)


@given(weighed_rotors(), st.floats(0.02, 0.1))
def test_trim_cancels(rotor, radius):
    masses, radii, holes, count = rotor
    left = hub.imbalance(masses, radii, holes, hole_count=count)
    got = hub.trim(left, trim_radius=radius, hole_count=count)
    assert vector(left) + cmath.rect(got.mass * radius, got.angle) == pytest.approx(0, abs=1e-14)
    direction = 2 * math.pi * got.hole / count
    in_hole = vector(left) + cmath.rect(got.hole_mass * radius, direction)
    assert abs(in_hole) == pytest.approx(got.residual, abs=1e-14)
    assert got.residual <= left.size * math.sin(math.pi / count) + 1e-14
    other = [abs(vector(left) + cmath.rect(got.hole_mass * f * radius, direction)) for f in (0.9, 1.1)]
    assert min(other) >= got.residual - 1e-14


def test_grade_scales_with_speed_and_mass():
    one = hub.permissible_imbalance("G16", 0.3, 80.0)
    assert hub.permissible_imbalance("G16", 0.6, 80.0) == pytest.approx(2 * one)
    assert hub.permissible_imbalance("G16", 0.3, 160.0) == pytest.approx(one / 2)
    assert hub.grade_reached(1.01 * one, 0.3, 80.0).grade == "G40"
    assert hub.grade_reached(3 * one, 0.3, 80.0).grade is None
    assert hub.grade_reached(one, 0.3, 80.0).velocity == pytest.approx(0.016)


def test_unknown_grade_names_the_nearest():
    with pytest.raises(UnknownKey, match=r"G6\.3"):
        hub.permissible_imbalance("G6,3", 0.3, 80.0)


@pytest.mark.parametrize("holes", [[2, 2], [2], [0, 2, 4], [0, 2, 2]])
def test_other_than_one_hole_for_each_blade_is_refused(holes):
    with pytest.raises(InputError, match="one hole for each blade"):
        hub.imbalance([0.03, 0.03], 0.1, holes, hole_count=6)


@pytest.mark.parametrize("holes", [[0, 6], [-1, 3]])
def test_holes_off_the_hub_are_refused(holes):
    with pytest.raises(OutOfRange, match="count the holes from 0"):
        hub.imbalance([0.03, 0.03], 0.1, holes, hole_count=6)


@pytest.mark.parametrize(("blades", "holes"), [(7, 6), (0, 6), (3, 30)])
def test_counts_of_no_hub_are_refused(blades, holes):
    with pytest.raises(OutOfRange):
        hub.balanced_placements(blades, holes)
