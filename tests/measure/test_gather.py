"""Readings brought together: few stay as they are; of many every one counts, and their means stay where they were."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.measure.gather import gathered
from whirlbench.measure.readings import Reading

LOADS = st.sampled_from([None, 0.0, 4.7, 10.0, 10.05, 47.0, 1e7])


def conditions(readings):
    return {(one.wind_speed, one.load_resistance, one.pushed) for one in readings if one.wind_speed is not None}


def readings_of(winds, loads=(22.0,)):
    return [
        Reading(row=row, wind_speed=float(wind), load_resistance=ohms, voltage=float(wind) ** 1.5)
        for row, (wind, ohms) in enumerate(((wind, ohms) for wind in winds for ohms in loads), 2)
    ]


def test_few_conditions_stay_as_they_are():
    few = readings_of(np.linspace(3, 6, 13), (10.0, 10.1, 22.0)) * 3
    assert gathered(few) == tuple(few)


@given(st.lists(st.tuples(st.floats(0, 30), LOADS, st.booleans()), max_size=150))
def test_every_reading_stays_with_its_numbers(rows):
    given_ = [Reading(row, speed, ohms, voltage=0.5, pushed=push) for row, (speed, ohms, push) in enumerate(rows)]
    given_.append(Reading(999, tip_force=2.0, tip_deflection=0.01))
    found = gathered(given_)
    assert [(one.row, one.voltage, one.pushed) for one in found] == [(o.row, o.voltage, o.pushed) for o in given_]
    assert found[-1] == given_[-1]
    for old, new in zip(given_, found, strict=True):
        assert (old.load_resistance is None) == (new.load_resistance is None)
        if old.wind_speed:
            assert abs(np.log(new.wind_speed / old.wind_speed)) <= 0.1601
        if old.load_resistance:
            assert abs(np.log(new.load_resistance / old.load_resistance)) <= 0.0201


@pytest.mark.parametrize("loads", [(22.0,), (10.0, 22.0, 47.0)])
def test_many_winds_become_few_and_their_means_stay(loads):
    draw = np.random.default_rng(5)
    many = readings_of(draw.uniform(3, 6, 4000), loads)
    found = gathered(many)
    assert 10 <= len(conditions(found)) <= 40
    assert gathered(found) == found
    for wind, ohms, _ in conditions(found):
        volts = [one.voltage for one in found if (one.wind_speed, one.load_resistance) == (wind, ohms)]
        assert np.exp(np.mean(np.log(volts))) == pytest.approx(wind**1.5, rel=2e-3), "as the notes say"
