"""Slips of the pen are asked about; honest readings are not."""

import functools
import math
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest

from whirlbench.advise.slips import contradictions, slips
from whirlbench.measure.readings import Reading, read_readings
from whirlbench.parts.files import read_turbine
from whirlbench.parts.load import Resistor
from whirlbench.predict import turbine as whole
from whirlbench.predict.world import FACTORS, Worlds

EXAMPLES = resources.files("whirlbench") / "examples"
HONEST = Reading(row=3, wind_speed=4.46, load_resistance=47.0, voltage=0.342, rotor_speed=27.4)


@functools.cache
def starter():
    return read_turbine(EXAMPLES / "starter.toml")


@functools.cache
def geared():
    return read_turbine(EXAMPLES / "geared.toml")


def asked(*readings, turbine=None):
    turbine = turbine or starter()
    return slips(turbine, readings, whole.priors(turbine))


def test_the_shipped_readings_are_believed():
    assert not asked(*read_readings(EXAMPLES / "starter-readings.csv"))


@pytest.mark.parametrize(
    ("slip", "word"),
    [
        ({"voltage": 342.0}, "mV written as V"),
        ({"voltage": 3.42}, "digit or the meter's range"),
        ({"rotor_speed": 2740.0}, "speed of 26165 rpm"),
        ({"current": 7.3}, "for mA written as A"),
        ({"current": 7.3e-6}, "for A written as mA"),
        ({"current": 0.034}, "the resistor: volts over amps give 10.1 ohm"),
        ({"load_resistance": None, "current": 7.3, "voltage": None}, "amps of 7.3 A"),
        ({"voltage": -0.342}, "leads are swapped"),
        ({"current": -0.0073}, "leads are swapped"),
        ({"load_resistance": 4.7}, "check the resistor, the speed and the meter"),
        ({"rotor_speed": 27.4 * 30 / math.pi}, "for rpm written as rad/s"),
        ({"rotor_speed": 27.4 * math.pi / 30}, "for rad/s written as rpm"),
        ({"generator_speed": 54.8}, "the generator's speed is 2 times the rotor's, where the drive gives 1"),
        ({"load_resistance": 0.0001}, "volts of 0.342 V"),
    ],
)
def test_a_slip_is_asked_about_in_its_own_words(slip, word):
    (found,) = asked(replace(HONEST, **slip))
    assert found.row == 3
    assert word in found.question


def test_amps_that_fit_volts_and_ohms_are_no_slip():
    assert not asked(replace(HONEST, current=0.342 / 47))


def test_a_rotor_at_rest_and_a_tower_pull_are_no_slips():
    assert not asked(replace(HONEST, voltage=0.0, rotor_speed=None), Reading(row=4, tip_force=2.0, tip_deflection=0.01))


def turning(turbine, speed, ohms):
    """What the turbine itself would read."""
    built = turbine.changed(load=Resistor(resistance=ohms))
    state = whole.predict(whole.assemble(built, Worlds(np.zeros((1, len(FACTORS))))), speed).pushed
    return Reading(
        row=2,
        wind_speed=speed,
        load_resistance=ohms,
        voltage=float(state.voltage[0]),
        rotor_speed=float(state.rotor_speed[0]),
        pushed=True,
    )


def test_the_generators_speed_written_as_the_rotors_is_told_by_the_gears():
    honest = turning(geared(), 4.5, 22.0)
    assert not asked(honest, replace(honest, row=3, generator_speed=4 * honest.rotor_speed), turbine=geared())
    (found,) = asked(replace(honest, rotor_speed=4 * honest.rotor_speed), turbine=geared())
    assert "the generator's speed, 4 times the rotor's" in found.question


def test_power_beyond_any_rotor_is_asked_about():
    """In half a metre a second no believed world turns, so volts and amps alone have nothing to be held against."""
    (found,) = asked(Reading(row=5, wind_speed=0.5, voltage=0.5, current=0.25))
    assert "more than any rotor could take" in found.question


def repeats(*volts):
    return [replace(HONEST, row=row, voltage=value, rotor_speed=None) for row, value in enumerate(volts, start=3)]


def test_a_repeat_that_stands_apart_is_asked_about():
    (found,) = contradictions(repeats(0.342, 0.345, 0.339, 0.343, 0.243))
    assert (found.row, found.question[:44]) == (7, "volts of 0.243 V, where its 4 repeats lie ar")


@pytest.mark.parametrize(
    "volts",
    [
        (0.342, 0.345, 0.339, 0.243),  # four tell too little
        (0.342, 0.342, 0.342, 0.342, 0.35),  # within the meter's doubt, however alike the others are
        (0.30, 0.32, 0.34, 0.36, 0.38, 0.40),
    ],
)
def test_repeats_that_belong_together_are_left_alone(volts):
    assert not contradictions(repeats(*volts))


def test_repeats_of_another_build_or_wind_are_none():
    rows = repeats(0.342, 0.345, 0.339, 0.343, 0.243)
    assert not contradictions([*rows[:4], replace(rows[4], build="B")])
    assert not contradictions([*rows[:4], replace(rows[4], wind_speed=3.9)])


def test_each_reading_is_asked_about_once():
    rows = repeats(0.342, 0.345, 0.339, 0.343, -0.243, 342.0)
    assert [one.row for one in asked(*rows)] == [7, 8]
