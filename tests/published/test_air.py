"""Moist air against published values and a general thermodynamics library."""

import CoolProp.HumidAirProp as humid
import pytest
from evidence import rows

from whirlbench.physics import air


@pytest.mark.parametrize(
    "row", [r for r in rows("air/air_density_published_checks") if "CIPM" in r.formula_published], ids=str
)
def test_density_matches_published_values(row):
    got = air.density(row.t_C + 273.15, row.p_mmHg * 101325 / 760, row.rh_pct / 100)
    assert got == pytest.approx(row.published_kg_m3, rel=1e-4)  # row 2 is off by 60 ppm, cause not established


@pytest.mark.parametrize("row", rows("air/air_density_grid"), ids=str)
def test_density_on_the_grid(row):
    got = air.density(row.t_C + 273.15, row.p_Pa, row.rh_pct / 100)
    assert got == pytest.approx(row.cipm2007, rel=1e-6)


@pytest.mark.parametrize("celsius", [2, 10, 21, 35])  # above freezing: the equation is for vapour over water
@pytest.mark.parametrize("humidity", [0.0, 0.5, 0.95])
def test_density_agrees_with_a_thermodynamics_library(celsius, humidity):
    t, p = celsius + 273.15, 98000.0
    volume = humid.HAPropsSI("Vha", "T", t, "P", p, "R", humidity)  # volume per kg of moist air
    assert air.density(t, p, humidity) == pytest.approx(1 / volume, rel=1e-4)


@pytest.mark.parametrize("row", rows("air/iso2533_atmosphere"), ids=str)
def test_standard_atmosphere(row):
    assert air.viscosity(row.T_K) == pytest.approx(row.mu_Pa_s, abs=6e-10)
    assert air.pressure_at(row.h_m) == pytest.approx(row.p_Pa, abs=0.06)
    assert air.density(row.T_K, row.p_Pa, 0.0) == pytest.approx(row.rho_kg_m3, rel=5e-4)  # ideal gas in the standard
