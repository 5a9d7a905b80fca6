"""Learning from readings: a known truth is found again, and what cannot be told is not claimed."""

import functools

import numpy as np
import pytest

from whirlbench.advise.calibrate import calibrate, narrowed
from whirlbench.measure.readings import Reading
from whirlbench.parts.files import read_turbine
from whirlbench.parts.load import Resistor
from whirlbench.predict import turbine as whole
from whirlbench.predict.world import FACTORS, Worlds


@functools.cache
def geared():
    from importlib import resources

    return read_turbine(resources.files("whirlbench") / "examples" / "geared.toml")


def readings_of(truth, cases, *, with_speed=True, noise=0.0, seed=0):
    """Readings that a turbine with these true factors would give."""
    rng = np.random.default_rng(seed)
    worlds = Worlds(np.array([[np.log(truth.get(name, 1.0)) for name in FACTORS]]))
    found = []
    for row, (speed, ohms) in enumerate(cases, start=2):
        built = geared().changed(load=Resistor(resistance=ohms))
        state = whole.predict(whole.assemble(built, worlds), speed).pushed
        volts = float(state.voltage[0]) * np.exp(noise * rng.standard_normal())
        rpm = float(state.rotor_speed[0]) * np.exp(noise * rng.standard_normal())
        found.append(
            Reading(
                row=row,
                wind_speed=speed,
                load_resistance=ohms,
                voltage=volts,
                rotor_speed=rpm if with_speed else None,
                pushed=True,
            )
        )
    return found


CASES = [(3.5, 10.0), (3.5, 47.0), (4.5, 10.0), (4.5, 22.0), (4.5, 47.0), (5.5, 22.0), (5.5, 100.0)]


def test_readings_of_the_model_itself_change_nothing():
    fit = calibrate(geared(), readings_of({}, CASES))
    assert fit.beliefs.mean == pytest.approx(np.zeros(len(FACTORS)), abs=2e-3)


def test_a_known_truth_is_found_again():
    truth = {"wind": 0.95, "emf": 1.08, "resistance": 1.25}
    fit = calibrate(geared(), readings_of(truth, CASES))
    for name in ("emf", "resistance", "wind"):
        i = FACTORS.index(name)
        off = fit.beliefs.mean[i] - np.log(truth[name])
        assert abs(off) < 2 * fit.beliefs.sigma(name), name
        assert fit.beliefs.sigma(name) < fit.prior.sigma(name)
    assert abs(fit.beliefs.mean[FACTORS.index("emf")] - np.log(1.08)) < 0.02


def test_after_learning_the_readings_fit_better():
    fit = calibrate(geared(), readings_of({"wind": 0.93, "emf": 1.1}, CASES, noise=0.01))
    before = sum(np.log(row.before / row.read) ** 2 for row in fit.rows)
    after = sum(np.log(row.after / row.read) ** 2 for row in fit.rows)
    assert after < 0.2 * before


def test_one_reading_of_volts_cannot_tell_its_causes_apart():
    fit = calibrate(geared(), readings_of({"emf": 1.1}, CASES[3:4], with_speed=False))
    assert {"lift", "friction", "teeth", "start"} <= set(fit.unlearned)  # this rotor overspeeds: its drag does show
    for name in FACTORS:
        assert fit.beliefs.sigma(name) <= fit.prior.sigma(name) + 1e-9


def test_what_no_reading_touches_keeps_its_doubt():
    fit = calibrate(geared(), readings_of({}, CASES))
    assert fit.beliefs.sigma("grip") == pytest.approx(fit.prior.sigma("grip"), rel=1e-3)
    assert "grip" in fit.unlearned


def test_intervals_hold_their_promise():
    """In 40 noisy teams the 95 % interval of the generator constant holds the truth in most (MAP, 3 % model doubt)."""
    held = 0
    rng = np.random.default_rng(5)
    prior = whole.priors(geared())
    for team in range(40):
        truth = {
            name: float(np.exp(prior.sigma(name) * rng.standard_normal())) for name in ("wind", "emf", "resistance")
        }
        fit = calibrate(geared(), readings_of(truth, CASES, noise=0.03, seed=team))
        off = fit.beliefs.mean[FACTORS.index("emf")] - np.log(truth["emf"])
        held += abs(off) < 1.96 * fit.beliefs.sigma("emf")
    assert held >= 34  # binomial(40, 0.95): fewer than 34 comes up once in 700 honest runs


def test_a_tower_pull_teaches_the_joint():
    foot = whole.stand.stand(geared().tower, geared().base)
    joint = foot.joint.number * 0.5
    way = 4.0 * (foot.height**3 / (3 * foot.bending_stiffness) + foot.height**2 / joint)
    fit = calibrate(geared(), [Reading(row=2, tip_force=4.0, tip_deflection=way)])
    assert fit.beliefs.mean[FACTORS.index("joint")] == pytest.approx(np.log(0.5), abs=0.1)
    assert fit.beliefs.sigma("joint") < 0.5 * fit.prior.sigma("joint")


def test_a_rotor_that_stayed_at_rest_speaks_against_an_easy_start():
    fit = calibrate(geared(), [Reading(row=2, wind_speed=4.5, load_resistance=22.0, voltage=0.0)])
    assert fit.beliefs.mean[FACTORS.index("start")] > 0.05
    assert fit.rows[0].quantity == "start"


def test_a_perfect_measurement_removes_its_own_doubt_only():
    fit = calibrate(geared(), readings_of({}, CASES, noise=0.01))
    after = narrowed(fit, ["wind"])
    assert after.sigma("wind") == pytest.approx(0, abs=1e-5)
    assert after.sigma("lift") <= fit.beliefs.sigma("lift") + 1e-9
