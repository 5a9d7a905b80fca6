"""The base against worked examples."""

import pytest
from evidence import rows

from whirlbench.physics import base

WORKED = {row.key: row.value for row in rows("base/ballast_and_stability")}
CONCRETE = 2400
BUCKET = 18.93e-3  # m^3


def test_tipping():
    got = base.tipping_safety(3.0, 1.0, 5.0, base_width=0.40)
    assert got == pytest.approx(WORKED["tipping_safety"], abs=0.005)


def test_sliding():
    assert base.sliding_safety(3.0, 5.0, 0.4) == pytest.approx(WORKED["sliding_safety"], abs=0.005)


def test_height_above_which_it_tips_first():
    assert base.tipping_first_height(0.40, 0.4) == pytest.approx(WORKED["tipping_first_height"], abs=1e-12)


def test_bucket_of_concrete():
    assert pytest.approx(WORKED["bucket_volume"] / 1000) == BUCKET
    full = WORKED["bucket_full_of_concrete"]
    assert base.ballast_volume(full, "concrete") == pytest.approx(BUCKET, abs=0.05 / CONCRETE)  # mass to 0.1 kg
    half = WORKED["bucket_half_full_of_concrete"]
    assert base.ballast_volume(half, "concrete") == pytest.approx(BUCKET / 2, abs=0.05 / CONCRETE)
