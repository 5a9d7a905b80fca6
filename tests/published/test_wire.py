"""Magnet wire against the gauge rule and a printed wire table."""

import pytest
from evidence import rows

from whirlbench.physics import wire


@pytest.mark.parametrize("row", rows("generator/awg_wire"), ids=lambda row: f"AWG{row.AWG:g}")
def test_gauges(row):
    diameter = wire.gauge_diameter(row.AWG)
    assert diameter * 1e3 == pytest.approx(row.diameter_mm, rel=1e-5)
    assert wire.wire_area(diameter) * 1e6 == pytest.approx(row.area_mm2, rel=1e-5)
    assert wire.resistance_per_length(diameter) * 1e3 == pytest.approx(row.R_ohm_per_km, rel=1e-5)
    assert wire.mass_per_length(diameter) * 1e3 == pytest.approx(row.mass_g_per_m, rel=1e-5)
    # the printed table differs by up to 0.08 %: its conductivity is rounded otherwise
    assert wire.resistance_per_length(diameter) * 1e3 == pytest.approx(row.R_table_ohm_per_km, rel=1e-3)
