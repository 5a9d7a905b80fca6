"""A rotor in many worlds from nine: exact where it is solved, near in between, against the solution in every world."""

import numpy as np
import pytest
from turbines import BUILDS, example

from whirlbench.predict import rotor_response, world
from whirlbench.predict import turbine as whole
from whirlbench.predict.curve import TIP_SPEED_RATIOS

RUNNING_FAST = (TIP_SPEED_RATIOS > 2.5) & (TIP_SPEED_RATIOS < 5)


def solved(name, worlds):
    return whole.rotor_in_wind(whole.assemble(example(name), worlds, 14), 5.0)


def both(name, count=65):
    """Coefficients in every world: from nine, and solved."""
    worlds = world.draw(whole.priors(example(name)), count)
    return rotor_response.in_all(solved(name, rotor_response.star(worlds)), worlds), solved(name, worlds)


def test_the_star_has_nine_worlds_around_the_first():
    worlds = world.draw(whole.priors(example("starter")), 33)
    star = rotor_response.star(worlds).log_factors
    away = star - worlds.log_factors[0]
    assert len(star) == 9
    assert not away[0].any()
    assert np.count_nonzero(away[1:], axis=1).tolist() == [1] * 8
    assert np.allclose(away.sum(axis=0), 0)
    assert not away[:, [world.FACTORS.index(name) for name in ("wind", "friction", "emf", "start")]].any()


@pytest.mark.parametrize("factor", ["lift", "drag", "stall", "angle"])
def test_where_it_is_solved_it_is_exact(factor):
    table = np.zeros((9, len(world.FACTORS)))
    table[1:5, world.FACTORS.index(factor)] = 0.04, 0.04, -0.04, -0.04  # 1.5 sigma of these nine is 0.04
    worlds = world.Worlds(table)
    near, exact = rotor_response.in_all(solved("geared", rotor_response.star(worlds)), worlds), solved("geared", worlds)
    for name in ("torque", "thrust", "blade_drag", "standstill"):
        assert np.allclose(getattr(near, name), getattr(exact, name), rtol=1e-9, atol=1e-12)
    assert not np.allclose(exact.torque[:, 1], exact.torque[:, 0], rtol=1e-4)


@pytest.mark.parametrize("name", BUILDS)
def test_it_is_near_the_solution_in_every_world(name):
    near, exact = both(name)
    assert np.allclose(near.disc_speed, exact.disc_speed)
    miss = (near.torque - exact.torque)[0][:, RUNNING_FAST]
    spread = exact.torque[0][:, RUNNING_FAST].std(axis=0).mean()
    assert np.sqrt(np.mean(miss**2)) < 0.35 * spread
    assert abs(miss.mean()) < 0.05 * np.abs(exact.torque[0][:, RUNNING_FAST]).mean()


def test_without_doubt_all_worlds_are_the_first():
    certain = world.Worlds(np.zeros((5, len(world.FACTORS))))
    seen = rotor_response.in_all(solved("geared", rotor_response.star(certain)), certain)
    assert np.allclose(seen.thrust, seen.thrust[:, :1])
    assert np.allclose(seen.disc_speed, 5.0)
