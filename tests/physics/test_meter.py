"""Accuracy printed on an instrument: every way it is written, and what follows from it."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import InputError, UnknownKey, WhirlbenchError
from whirlbench.measure.meter import (
    Meter,
    covariance,
    last_digit,
    lower_range_advice,
    read_accuracy,
    read_meter,
    reading_value,
    resolution_of,
)


@pytest.mark.parametrize(
    "text",
    [
        "0.5 % + 2 digits",
        "±(0.5% rdg + 2 dgt)",
        "+/- 0.5 % of reading and 2 counts",
        "0.5 % +- 2 digits",
        "±0.5 % ±2 LSD",
        "0,5 % + 2 Digits",
        "(0.5%+2)",
        "0.5 % of the reading, 2 dgts.",
        "volts: 0.5 % + 2 d",
    ],
)
def test_spellings_of_one_accuracy(text):
    name, meter = read_meter(text)
    assert name == "voltage"
    assert meter == Meter("V", reading_share=0.005, digits=2)


@pytest.mark.parametrize(
    ("text", "field", "number"),
    [
        ("1 % of range", "range_share", 0.01),
        ("1 % of full scale", "range_share", 0.01),
        ("1% FS", "range_share", 0.01),
        ("1 % f.s.", "range_share", 0.01),
        ("±1.0 % ±3 digits", "digits", 3),
        ("3 mV", "fixed", 0.003),
        ("3 MV", "fixed", 3e6),  # capitals mean something in units
        ("1 % of reading + 2 % of reading", "reading_share", 0.03),
    ],
)
def test_pieces_of_an_accuracy(text, field, number):
    assert read_accuracy(text, "V")[field] == pytest.approx(number)


@pytest.mark.parametrize(
    ("text", "name", "wanted"),
    [
        ("amps: 1 % of range; range 200 mA", "current", Meter("A", range_share=0.01, range_top=0.2)),
        ("wind: ±(3 % + 0.2 m/s)", "wind_speed", Meter("m/s", reading_share=0.03, fixed=0.2)),
        (
            "ohms: 0.8 % + 2 digits; resolution 0.1 ohm",
            "load_resistance",
            Meter("ohm", 0.008, digits=2, resolution=0.1),
        ),
    ],
)
def test_other_instruments(text, name, wanted):
    assert read_meter(text) == (name, wanted)


@pytest.mark.parametrize(
    ("top", "counts", "step"), [(2, 2000, 1e-3), (2, 1999, 1e-3), (0.6, 6000, 1e-4), (600, 6000, 0.1)]
)
def test_resolution_from_range_and_counts(top, counts, step):
    assert resolution_of(top, counts) == pytest.approx(step, rel=1e-12)
    _, meter = read_meter(f"0.5 % + 2 digits; range {top} V; {counts} counts")
    assert meter.resolution == pytest.approx(step, rel=1e-12)


def test_range_from_resolution_and_counts():
    assert read_meter("0.5 %; resolution 1 mV; 2000 counts")[1].range_top == pytest.approx(2)


@pytest.mark.parametrize("text", ["", "good", "0.5", "-", "1 % of the moon", "80 %", "0.5 % + 2 A", "0.5 %; 2 of them"])
def test_what_is_no_accuracy_is_refused(text):
    with pytest.raises(InputError):
        read_meter(text)


def test_an_unknown_reading_points_to_the_nearest():
    with pytest.raises(UnknownKey, match="'volts'"):
        read_meter("volt: 0.5 %")


@given(st.text(max_size=30) | st.from_regex(r"[0-9.,%+± digtsofrange;:mV]{0,30}", fullmatch=True))
def test_no_text_crashes(text):
    try:
        read_meter(text)
    except WhirlbenchError as error:
        assert str(error)


@pytest.mark.parametrize(("text", "word"), [("0.5 % + 2 digits", "resolution"), ("1 % of range", "range")])
def test_what_is_needed_is_asked_for(text, word):
    with pytest.raises(InputError, match=f"meter > {word}"):
        read_meter(text)[1].limit(1.0)


def test_rounding_counts_once():
    bare = Meter("V", reading_share=0.0, fixed=0.0, resolution=0.01)
    assert bare.sigma(1.0) == pytest.approx(0.01 / math.sqrt(12))
    with_digits = Meter("V", digits=1, resolution=0.01)
    assert with_digits.sigma(1.0) == pytest.approx(0.01 / math.sqrt(3))


def test_errors_of_one_instrument_are_one_error():
    meter = Meter("V", reading_share=0.01, digits=2, resolution=1e-3)
    readings = np.array([0.30, 0.30, 0.31])
    shared = covariance(meter, readings)
    mean, difference = np.full(3, 1 / 3), np.array([0, -1, 1])
    assert math.sqrt(mean @ shared @ mean) == pytest.approx(float(np.mean(meter.sigma(readings))))
    left = math.sqrt(difference @ shared @ difference)
    assert left == pytest.approx(0.01 * 0.01 / math.sqrt(3))  # the digits cancel, of the share a share is left
    assert left < 0.03 * meter.sigma(0.31)


def test_a_reading_carries_its_doubt():
    value = reading_value(Meter("V", reading_share=0.03), 2.0)
    assert (value.number, value.sigma) == (2.0, pytest.approx(0.06 / math.sqrt(3)))


@pytest.mark.parametrize(
    ("readings", "step"), [([0.342, 0.27], 1e-3), ([4.46, 3.4], 0.01), ([47, 22, 100], 1), ([0.45], 0.01), ([600], 100)]
)
def test_last_digit_written(readings, step):
    assert last_digit(readings) == pytest.approx(step)


@pytest.mark.parametrize("readings", [[], [0.0], [1 / 3], [4 * 0.44704]])
def test_no_last_digit(readings):
    assert last_digit(readings) is None or last_digit(readings) <= 1e-5


def test_advice_to_change_the_range():
    meter = read_meter("0.5 % + 2 digits; resolution 1 mV; range 2 V")[1]
    advice = lower_range_advice(meter, 0.045)
    assert "2.9 % to 0.55 %" in advice  # limits 2.225 and 0.425 mV by hand, over root 3
    assert not lower_range_advice(meter, 0.45), "the next range ends at 0.2 V"
    assert not lower_range_advice(Meter("V", reading_share=0.01, resolution=1e-6, range_top=2), 0.045), "no gain"
    assert not lower_range_advice(meter, 0.0)
