"""Bench tests of generators against published readings."""

import numpy as np
import pytest
from evidence import rows

from whirlbench.physics import bench

_READINGS = np.array([row.R_ohm for row in rows("generator/resistance_readings_example")])


def test_fifty_ohmmeter_readings_of_one_motor():
    assert _READINGS.size == 50
    assert _READINGS.mean() == pytest.approx(12.486, abs=0.0005)  # the published mean: the copy is whole
    value = bench.ohmmeter_resistance(_READINGS)
    assert value.number == pytest.approx(10.95, abs=0.005)
    assert value.sigma == pytest.approx(5.0, abs=0.05)


@pytest.mark.parametrize("row", rows("generator/generator_load_curve"), ids=str)
def test_loaded_volts_give_back_the_resistance(row):
    """E 3.0704 V at 2000 rpm; six digits of V leave R to about (R + RL)^2 / RL / E x 5e-6."""
    emf = 14.66e-3 * 2000 * np.pi / 30
    value = bench.winding_resistance(emf, row.V_V, row.R_load_ohm)
    assert value.number == pytest.approx(9.26, abs=(9.26 + row.R_load_ohm) ** 2 / row.R_load_ohm / emf * 5e-6 + 1e-5)
