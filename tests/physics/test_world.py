"""Believed worlds: drawn as believed, in mirrored pairs, the best estimate first."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from turbines import BUILDS, example

from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.predict.world import FACTORS, MEANING, Beliefs


def believed(seed=1):
    """A belief with correlations."""
    random = np.random.default_rng(seed)
    root = 0.1 * random.standard_normal((len(FACTORS), len(FACTORS)))
    return Beliefs(0.05 * random.standard_normal(len(FACTORS)), root @ root.T)


def test_every_factor_has_a_meaning_and_a_place():
    assert tuple(MEANING) == FACTORS
    assert len(set(FACTORS)) == len(FACTORS) == 13
    worlds = world.Worlds(np.log(np.arange(1.0, 14.0))[None, :])
    assert [worlds.factor(name)[0, 0] for name in FACTORS] == pytest.approx(range(1, 14))


@pytest.mark.parametrize("name", BUILDS)
def test_the_priors_of_a_turbine_are_wide_where_nobody_knows(name):
    beliefs = whole.priors(example(name))
    assert all(0 <= beliefs.sigma(factor) < 1.5 for factor in FACTORS)
    assert beliefs.sigma("wind") == pytest.approx(0.05)
    assert beliefs.sigma("start") > beliefs.sigma("wind")
    assert (beliefs.mean == 0).all()
    assert (beliefs.sigma("teeth") > 0) == bool(example(name).drivetrain)


@given(st.integers(1, 300), st.integers(0, 1000))
def test_worlds_come_in_mirrored_pairs_after_the_best_estimate(pairs, seed):
    beliefs = believed()
    worlds = world.draw(beliefs, 2 * pairs + 1, seed)
    assert len(worlds) == 2 * pairs + 1
    assert worlds.log_factors[0] == pytest.approx(beliefs.mean, abs=0)
    off = worlds.log_factors[1:] - beliefs.mean
    assert off[:pairs] == pytest.approx(-off[pairs:], abs=1e-15)
    assert worlds.log_factors.mean(axis=0) == pytest.approx(beliefs.mean, abs=1e-12)


@pytest.mark.parametrize("count", [53, 65, 1001])
@pytest.mark.parametrize("seed", [0, 1])
def test_worlds_are_spread_exactly_as_believed(count, seed):
    beliefs = believed()
    off = world.draw(beliefs, count, seed).log_factors[1:] - beliefs.mean
    assert off.T @ off / (count - 1) == pytest.approx(beliefs.covariance, abs=1e-12)


def test_few_worlds_are_spread_as_believed_on_the_average_of_many_draws():
    beliefs = believed()
    off = np.concatenate([world.draw(beliefs, 21, seed).log_factors[1:] - beliefs.mean for seed in range(1000)])
    scale = np.sqrt(np.outer(np.diag(beliefs.covariance), np.diag(beliefs.covariance)))
    # 10000 free draws: a variance is good to sqrt(2/10000) = 1.4 %; four times that for the worst of 100 entries
    assert (np.abs(off.T @ off / len(off) - beliefs.covariance) / scale).max() < 0.057


def test_the_draw_is_still_normal():
    off = world.draw(world.prior(wind=1.0), 20001).log_factors[1:, FACTORS.index("wind")]
    # shares of a normal distribution within 1, 2 and 3 sigma; 10000 free draws
    for width, share in ((1, 0.6827), (2, 0.9545), (3, 0.9973)):
        assert (np.abs(off) < width).mean() == pytest.approx(share, abs=0.02)


def test_what_is_known_does_not_vary():
    worlds = world.draw(world.prior(wind=0.1), 65)
    for factor in FACTORS:
        assert (worlds.factor(factor).std() > 0) == (factor == "wind")
    assert worlds.log_factors[1:, FACTORS.index("wind")].std() == pytest.approx(0.1, rel=1e-9)


def test_the_same_seed_draws_the_same_worlds():
    beliefs = believed()
    first, again, other = (world.draw(beliefs, 9, seed).log_factors for seed in (3, 3, 4))
    assert (first == again).all()
    assert not (first == other).all()


def test_the_best_estimate_is_one_world_of_factors_one():
    assert len(world.best_estimate()) == 1
    assert (world.best_estimate().log_factors == 0).all()
    assert world.best_estimate(believed()).log_factors[0] == pytest.approx(believed().mean)


@pytest.mark.parametrize("count", [-1, 0, 1, 2])
def test_too_few_worlds_are_refused(count):
    with pytest.raises(OutOfRange, match="number of worlds"):
        world.draw(believed(), count)


def test_a_misspelt_factor_is_no_silent_nothing():
    with pytest.raises(UnknownKey, match="write 'wind'"):
        world.prior(wnd=0.1)


@pytest.mark.parametrize("name", BUILDS)
def test_the_band_narrows_when_the_belief_does(name):
    turbine = example(name)
    wide = whole.priors(turbine)
    narrow = Beliefs(wide.mean, wide.covariance / 100)
    spread = [
        whole.predict(whole.assemble(turbine, world.draw(one, 33)), 5.0).pushed.power.std() for one in (wide, narrow)
    ]
    assert spread[1] < 0.3 * spread[0]
