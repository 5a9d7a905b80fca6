"""Learning from readings: a known truth is found again, and what cannot be told is not claimed."""

import functools

import numpy as np
import pytest

from whirlbench.advise.calibrate import calibrate
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
    # the fit looks at fewer stations along the blade than the prediction that made the readings
    assert fit.beliefs.mean == pytest.approx(np.zeros(len(FACTORS)), abs=6e-3)


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
    """In 2.5 m/s it should break away with a fifth to spare; it was seen to stand still."""
    fit = calibrate(geared(), [Reading(row=2, wind_speed=2.5, load_resistance=22.0, voltage=0.0)])
    assert fit.beliefs.mean[FACTORS.index("start")] > 0.05
    assert fit.rows[0].quantity == "start"


def test_a_blank_and_a_push_are_no_sight_of_a_rotor_at_rest():
    blank = calibrate(geared(), [Reading(row=2, wind_speed=2.5, load_resistance=22.0)])
    pushed = calibrate(geared(), [Reading(row=2, wind_speed=2.5, load_resistance=22.0, voltage=0.0, pushed=True)])
    for fit in (blank, pushed):
        assert fit.beliefs.mean == pytest.approx(np.zeros(len(FACTORS)), abs=1e-6)
        assert not fit.rows


def test_a_rotor_seen_turning_slowly_is_not_taken_for_one_at_rest():
    """Truth: hard to start by the book, yet it turned. The fit must come through the gate and find the rest."""
    truth = {"emf": 1.1, "start": 0.6, "friction": 0.7}
    readings = [
        Reading(row=one.row, wind_speed=one.wind_speed, load_resistance=one.load_resistance, voltage=one.voltage,
                rotor_speed=one.rotor_speed)
        for one in readings_of(truth, CASES)
    ]  # fmt: skip
    fit = calibrate(geared(), readings)
    for row in fit.rows:
        assert abs(np.log(row.after / row.read)) < 0.05
    assert fit.beliefs.sigma("start") > 0.05


def test_repeats_of_one_reading_do_not_add_up_to_certainty():
    one = readings_of({"emf": 1.1}, CASES)
    many = calibrate(geared(), one * 10)
    few = calibrate(geared(), one)
    assert many.beliefs.sigma("emf") > 0.75 * few.beliefs.sigma("emf")


def test_amps_beside_volts_and_ohms_are_not_counted_twice():
    from dataclasses import replace

    plain = readings_of({"emf": 1.1}, CASES)
    both = [replace(one, current=one.voltage / one.load_resistance) for one in plain]
    assert calibrate(geared(), both).beliefs.sigma("emf") == pytest.approx(
        calibrate(geared(), plain).beliefs.sigma("emf"), rel=1e-9
    )
