"""Slips of the pen are asked about; honest readings are not."""

import functools
from dataclasses import replace
from importlib import resources

import pytest

from whirlbench.advise.slips import slips
from whirlbench.measure.readings import Reading, read_readings
from whirlbench.parts.files import read_turbine
from whirlbench.predict import turbine as whole

EXAMPLES = resources.files("whirlbench") / "examples"
HONEST = Reading(row=3, wind_speed=4.46, load_resistance=47.0, voltage=0.342, rotor_speed=27.4)


@functools.cache
def starter():
    return read_turbine(EXAMPLES / "starter.toml")


def asked(*readings):
    return slips(starter(), readings, whole.priors(starter()))


def test_the_shipped_readings_are_believed():
    assert not asked(*read_readings(EXAMPLES / "starter-readings.csv"))


@pytest.mark.parametrize(
    ("slip", "word"),
    [
        ({"voltage": 342.0}, "mV written as V"),
        ({"voltage": 3.42}, "digit or the meter's range"),
        ({"rotor_speed": 2740.0}, "speed of 26165 rpm"),
        ({"current": 7.3}, "mV written as V"),
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
