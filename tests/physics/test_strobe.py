"""Speed by eye: limits, signs, and two roads to one speed."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from whirlbench.errors import InputError
from whirlbench.measure.strobe import counted_speed, strobe_speed

TURN = 2 * np.pi


def test_twenty_turns_in_ten_seconds_are_two_a_second():
    speed = counted_speed(20, 10.0, timing_doubt=0.2)
    assert speed.number == pytest.approx(2 * TURN)
    assert speed.sigma == pytest.approx(0.02 * speed.number)


def test_counting_longer_halves_the_doubt():
    assert counted_speed(40, 20.0).relative == pytest.approx(0.5 * counted_speed(20, 10.0).relative)


@pytest.mark.parametrize("turns,duration", [(0, 10), (20, 0.5), (100, 10)])
def test_what_nobody_can_count_is_refused(turns, duration):
    with pytest.raises(InputError):
        counted_speed(turns, duration)


def test_the_highest_flash_rate_is_the_blade_pass():
    assert strobe_speed([20.0], blade_count=4).number == pytest.approx(5 * TURN)


def test_a_marked_blade_needs_no_count():
    assert strobe_speed([5.0], blade_count=1).number == pytest.approx(5 * TURN)


@given(
    turns=some.floats(3, 30),  # a flash is set from 0.5 Hz on
    blades=some.integers(1, 6),
    first=some.integers(1, 3),
    count=some.integers(2, 4),
    slip=some.floats(-0.002, 0.002),
)
def test_neighbouring_rates_find_the_speed_that_made_them(turns, blades, first, count, slip):
    rates = [blades * turns / m for m in range(first, first + count)]
    rates[0] *= 1 + slip  # a dial read a little wrong; with m rounded the answer is hardly moved
    speed = strobe_speed(rates, blade_count=blades, flash_doubt=0.002)
    assert speed.number == pytest.approx(turns * TURN, rel=0.0021)
    assert speed.sigma == pytest.approx(0.002 * speed.number)


def test_one_rate_that_is_the_highest_and_two_neighbours_agree():
    assert strobe_speed([60.0, 40.0], blade_count=3).number == pytest.approx(
        strobe_speed([120.0], blade_count=3).number
    )


@pytest.mark.parametrize("rates", [[60.0, 60.0], [60.0, 24.0], [60.0, 40.0, 20.0], [10.0, 9.5], [0.0], []])
def test_rates_that_are_no_neighbours_are_refused(rates):
    with pytest.raises(InputError):
        strobe_speed(rates, blade_count=3)
