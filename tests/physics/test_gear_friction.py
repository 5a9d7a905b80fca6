"""Mesh efficiency: limits, two roads to one loss, energy, and a sweep of all pairs."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.physics.gear_friction import instantaneous_efficiency, loss_factor, mesh_efficiency, tooth_friction
from whirlbench.physics.gears import gear_mesh

DRIVERS = st.sampled_from(["wheel", "pinion"])
WHEEL_TEETH, SHIFTS, FRICTIONS = st.integers(12, 400), st.floats(0, 0.5), st.floats(0, 1)
CLEAN = gear_mesh(20, 60, 1e-3)
SMALL = gear_mesh(8, 64, 1e-3, pinion_shift=0.45)


@settings(max_examples=200, deadline=None)
@given(st.integers(6, 60), WHEEL_TEETH, SHIFTS, FRICTIONS, DRIVERS)
def test_no_pair_makes_power(pinion_teeth, wheel_teeth, shift, friction, driver):
    mesh = gear_mesh(pinion_teeth, wheel_teeth, 1e-3, pinion_shift=shift)
    got = mesh_efficiency(mesh, friction, driver)
    assert 0 <= got.worst <= got.mean + 1e-12
    assert got.mean <= 1 + 1e-12
    assert 0 <= got.first_order <= 1


@pytest.mark.parametrize("driver", ["wheel", "pinion"])
def test_smooth_teeth_lose_nothing(driver):
    got = mesh_efficiency(CLEAN, 0.0, driver)
    assert (got.mean, got.worst, got.first_order, got.upper_bound_loss) == pytest.approx((1, 1, 1, 0))


@pytest.mark.parametrize("driver", ["wheel", "pinion"])
@pytest.mark.parametrize(
    "mesh", [CLEAN, SMALL, gear_mesh(12, 60, 1e-3, pinion_shift=0.3)], ids=["20/60", "8/64", "12/60"]
)
def test_balance_of_forces_meets_the_loss_factor_for_small_friction(mesh, driver):
    friction = 1e-5
    # 8/64 touches 0.009 base pitch beyond the interference point by the textbook, which the balance leaves out
    assert 1 - mesh_efficiency(mesh, friction, driver).mean == pytest.approx(friction * loss_factor(mesh), rel=0.011)


@settings(max_examples=60, deadline=None)
@given(st.integers(6, 60), WHEEL_TEETH, SHIFTS)
def test_loss_factor_is_the_closed_formula_where_that_holds(pinion_teeth, wheel_teeth, shift):
    mesh = gear_mesh(pinion_teeth, wheel_teeth, 1e-3, pinion_shift=shift)
    if not (0 <= mesh.recess <= 1 and 0 <= mesh.approach <= 1):
        return
    bracket = 1 - mesh.contact_ratio + mesh.recess**2 + mesh.approach**2
    closed = math.pi * (1 / pinion_teeth + 1 / wheel_teeth) * bracket
    assert loss_factor(mesh) == pytest.approx(closed, rel=1e-9)


def test_old_angle_with_more_than_two_pairs_in_contact():
    mesh = gear_mesh(60, 90, 1e-3, pressure_angle=math.radians(14.5))
    assert mesh.contact_ratio > 2
    sampled = instantaneous_efficiency(mesh, 0.2, np.linspace(0, 1, 20_001))
    got = mesh_efficiency(mesh, 0.2)
    assert got.mean == pytest.approx(sampled.mean(), abs=1e-5)
    assert 1 - got.mean == pytest.approx(0.2 * loss_factor(mesh), rel=0.02)


@settings(max_examples=40, deadline=None)
@given(st.integers(7, 40), WHEEL_TEETH, SHIFTS, st.floats(0.01, 0.4), DRIVERS)
def test_mean_and_worst_agree_with_sampling(pinion_teeth, wheel_teeth, shift, friction, driver):
    mesh = gear_mesh(pinion_teeth, wheel_teeth, 1e-3, pinion_shift=shift)
    sampled = instantaneous_efficiency(mesh, friction, (np.arange(20_000) + 0.5) / 20_000, driver)
    touching = sampled[sampled > 0]
    got = mesh_efficiency(mesh, friction, driver)
    assert got.mean == pytest.approx(touching.mean(), abs=2e-4)
    assert got.worst == pytest.approx(touching.min(), abs=2e-4)
    assert got.worst <= touching.min() + 1e-12


@settings(deadline=None)
@given(FRICTIONS, FRICTIONS, DRIVERS)
def test_more_friction_never_helps(one, other, driver):
    less, more = sorted((one, other))
    easy, hard = (mesh_efficiency(SMALL, friction, driver) for friction in (less, more))
    assert hard.mean <= easy.mean + 1e-12
    assert hard.worst <= easy.worst + 1e-12


def test_more_teeth_lose_less():
    means = [mesh_efficiency(gear_mesh(teeth, 4 * teeth, 1e-3), 0.2).mean for teeth in (18, 25, 40, 80)]
    assert means == sorted(means)
    assert means[-1] < 1


def test_teeth_lock_when_a_small_pinion_is_driven_with_too_much_friction():
    locked = mesh_efficiency(gear_mesh(6, 60, 1e-3, pinion_shift=0.3), 1.0)
    assert locked.worst == 0
    assert mesh_efficiency(gear_mesh(6, 60, 1e-3, pinion_shift=0.3), 0.2).worst > 0.8


def test_module_does_not_matter():
    coarse = gear_mesh(8, 64, 2e-3, pinion_shift=0.45)
    assert mesh_efficiency(coarse, 0.3).mean == pytest.approx(mesh_efficiency(SMALL, 0.3).mean)
    assert mesh_efficiency(coarse, 0.3).worst == pytest.approx(mesh_efficiency(SMALL, 0.3).worst)


def test_equal_gears_drive_both_ways_alike():
    equal = gear_mesh(24, 24, 1e-3)
    assert mesh_efficiency(equal, 0.3, "wheel").mean == pytest.approx(mesh_efficiency(equal, 0.3, "pinion").mean)


def test_swapped_gears_and_driver_are_the_same_machine():
    swapped = gear_mesh(64, 8, 1e-3, wheel_shift=0.45)
    assert mesh_efficiency(swapped, 0.3, "pinion").mean == pytest.approx(mesh_efficiency(SMALL, 0.3, "wheel").mean)
    assert mesh_efficiency(swapped, 0.3, "pinion").worst == pytest.approx(mesh_efficiency(SMALL, 0.3, "wheel").worst)


def test_frictions_may_be_an_array():
    frictions = np.array([[0.0, 0.1], [0.2, 0.3]])
    got = mesh_efficiency(SMALL, frictions)
    for field in ("mean", "worst", "first_order", "upper_bound_loss"):
        one_by_one = [getattr(mesh_efficiency(SMALL, friction), field) for friction in frictions.flat]
        assert getattr(got, field) == pytest.approx(np.reshape(one_by_one, (2, 2)))


@pytest.mark.parametrize("friction", [-0.1, 1.2, math.nan])
def test_friction_out_of_range_is_refused(friction):
    with pytest.raises(OutOfRange, match="friction coefficient"):
        mesh_efficiency(CLEAN, friction)


def test_gears_that_let_go_of_each_other_are_refused():
    loose = gear_mesh(20, 60, 1e-3, centre_distance=0.0412)
    assert loose.contact_ratio < 1
    with pytest.raises(OutOfRange, match="closer together"):
        mesh_efficiency(loose, 0.2)


def test_unknown_names_are_refused_with_the_nearest():
    with pytest.raises(UnknownKey, match="wheel"):
        mesh_efficiency(CLEAN, 0.2, "weel")
    with pytest.raises(UnknownKey, match="pla_pla"):
        tooth_friction("pla_pal")
