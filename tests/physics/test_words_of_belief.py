"""What is believed, in words: the sizes and signs that the numbers have, and degrees for the angle."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.advise import words_of_belief as words
from whirlbench.predict.world import FACTORS, MEANING


@pytest.mark.parametrize(
    ("factor", "mean", "sigma", "said"),
    [
        ("wind", math.log(0.93), 0.04, "the wind speed is 7 % lower than believed (+- 4 %)"),
        ("emf", math.log(1.08), 0.048, "the generator's volts per speed are 8 % higher than believed (+- 4.8 %)"),
        ("resistance", math.log(2.1), 0.1, "the generator's resistance is 2.1 times what was believed (+- 10 %)"),
        ("grip", 0.001, 0.2, "the grip of the base on the floor is as believed (+- 20 %)"),
        ("angle", math.radians(1.2), math.radians(0.8),
         "the blades are turned 1.2 deg more out of the rotor plane than believed (+- 0.80 deg)"),
        ("angle", math.radians(-2), math.radians(1),
         "the blades are turned 2.0 deg less out of the rotor plane than believed (+- 1.0 deg)"),
    ],
)  # fmt: skip
def test_the_sentence(factor, mean, sigma, said):
    assert words.sentence(factor, mean, sigma) == said


@given(factor=st.sampled_from(FACTORS), mean=st.floats(-1.5, 1.5), sigma=st.floats(1e-4, 1.0))
def test_every_factor_has_words(factor, mean, sigma):
    said = words.sentence(factor, mean, sigma)
    assert ("deg" in said) == (factor == "angle")
    assert factor == "angle" or MEANING[factor] in said
    if "lower" in said or "less" in said:
        assert mean <= 0
    if "higher" in said or "more" in said:
        assert mean >= 0


def test_the_angle_is_added_and_all_else_multiplies():
    assert words.size_of("angle", 0.02) == pytest.approx(0.02)
    assert words.size_of("lift", 0.0) == 1.0
    assert words.size_of("lift", math.log(2)) == pytest.approx(2.0)
    assert (words.unit_of("angle"), words.unit_of("lift")) == ("rad", "")
    assert words.doubt_of("angle", math.radians(1.5)) == "1.5 deg"
