"""Rods against a worked table."""

import pytest

from whirlbench.physics import rod
from whirlbench.tables import load

SIX_DIGITS = 5e-6  # the table's own rounding


@pytest.mark.parametrize("row", load("rod/rods").rows, ids=str)
def test_rod_sections(row):
    diameter = row.d_mm / 1000
    assert rod.rod_area(diameter) * 1e6 == pytest.approx(row.area_mm2, rel=SIX_DIGITS)
    assert rod.rod_second_moment(diameter) * 1e12 == pytest.approx(row.I_mm4, rel=SIX_DIGITS)
    assert rod.section_modulus(diameter) * 1e9 == pytest.approx(row.Z_mm3, rel=SIX_DIGITS)
    assert rod.rod_area(diameter) * 2700 * 1000 == pytest.approx(row.mass_aluminium_g_per_m, rel=SIX_DIGITS)
    assert rod.rod_second_moment(diameter) * 69e9 == pytest.approx(row.EI_aluminium_N_m2, rel=SIX_DIGITS)


@pytest.mark.parametrize("row", load("rod/rods").rows, ids=str)
def test_birch_dowels(row):
    paper = rod.rod_strength(row.d_mm / 1000, "birch, paper")
    yellow = rod.rod_strength(row.d_mm / 1000, "birch, yellow")
    assert paper.mass_per_length * 1000 == pytest.approx(row.mass_paper_birch_g_per_m, rel=SIX_DIGITS)
    # the worked table rounds 694.4 kg/m3 to 694, which is 0.058 % less
    assert yellow.mass_per_length * 1000 == pytest.approx(row.mass_yellow_birch_g_per_m * 694.4 / 694, rel=SIX_DIGITS)
    # the worked table rounds 10.9627 GPa to 10.96, which is 0.025 % less
    assert paper.bending_stiffness == pytest.approx(row.EI_paper_birch_N_m2 * 10.9627 / 10.96, rel=SIX_DIGITS)
    assert paper.breaking_moment == pytest.approx(row.M_break_paper_birch_Nm, rel=SIX_DIGITS)
    assert yellow.breaking_moment == pytest.approx(row.M_break_yellow_birch_Nm, rel=SIX_DIGITS)
    assert paper.allowable_moment == pytest.approx(row.M_allow_factor4_Nm, rel=SIX_DIGITS)


@pytest.mark.parametrize("row", [row for row in load("rod/woods").rows if row.SG], ids=str)
def test_density_follows_from_specific_gravity(row):
    assert row.density_12pct_kg_per_m3 == pytest.approx(row.SG * 1120, rel=SIX_DIGITS)
