"""Polar tables: lookup, adjustment and doubt."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import InputError, UnknownKey
from whirlbench.physics.airfoil import airfoil_polar
from whirlbench.physics.section import (
    ALPHA_DEG,
    LOG_REYNOLDS,
    PolarTable,
    attached_weight,
    drag_band,
    drag_doubt,
    known_bias,
    lift_doubt,
    lift_max_doubt,
)
from whirlbench.physics.sheet import sheet_polar

POLAR = sheet_polar(0.03, 0.04, "square")


def test_the_grid_is_what_the_rotor_solver_counts_on():
    assert len(ALPHA_DEG) == 148
    assert len(LOG_REYNOLDS) == 24
    assert ALPHA_DEG[0] == -180
    assert ALPHA_DEG[-1] == 180
    assert (np.diff(ALPHA_DEG) > 0).all()
    assert (2 * ALPHA_DEG % 1 == 0).all()
    assert np.diff(LOG_REYNOLDS) == pytest.approx(np.log(100) / 23)
    assert POLAR.cl.flags.c_contiguous
    assert POLAR.cl.dtype == float


def test_knots_are_returned_as_they_stand():
    alpha, reynolds = np.radians(ALPHA_DEG[:-1]), np.exp(LOG_REYNOLDS)[:, None]
    cl, cd = POLAR.at(alpha, reynolds)
    assert cl == pytest.approx(POLAR.cl[:, :-1], abs=1e-9)
    assert cd == pytest.approx(POLAR.cd[:, :-1], rel=1e-9)


@given(alpha=st.floats(-3.1, 3.1), reynolds=st.floats(5e3, 5e5), turns=st.integers(-2, 2))
def test_a_whole_turn_changes_nothing_and_nothing_overshoots(alpha, reynolds, turns):
    cl, cd = POLAR.at(alpha, reynolds)
    again = POLAR.at(alpha + 2 * np.pi * turns, reynolds)
    assert again == pytest.approx((cl, cd), abs=1e-9)
    assert POLAR.cl.min() - 1e-12 <= cl <= POLAR.cl.max() + 1e-12
    assert POLAR.cd.min() - 1e-12 <= cd <= POLAR.cd.max() + 1e-12


def test_the_ends_of_the_circle_and_of_the_reynolds_numbers_hold():
    assert POLAR.at(np.pi, 5e4) == pytest.approx(POLAR.at(-np.pi, 5e4))
    assert POLAR.at(np.pi - 1e-9, 5e4) == pytest.approx(POLAR.at(np.pi, 5e4), abs=1e-6)
    assert POLAR.at(0.1, 1e3) == POLAR.at(0.1, 5e3)
    assert POLAR.at(0.1, 1e7) == pytest.approx(POLAR.at(0.1, 5e5))


def test_half_way_between_knots_lift_is_the_mean_and_drag_the_geometric_mean():
    i, j = 10, int(np.searchsorted(ALPHA_DEG, 5.0))
    cl, cd = POLAR.at(np.radians(5.25), np.exp(0.5 * (LOG_REYNOLDS[i] + LOG_REYNOLDS[i + 1])))
    assert cl == pytest.approx(POLAR.cl[i : i + 2, j : j + 2].mean())
    assert np.log(cd) == pytest.approx(np.log(POLAR.cd[i : i + 2, j : j + 2]).mean())


def test_an_adjusted_polar_scales_attached_flow_in_full_and_deep_stall_less():
    other = POLAR.adjusted(lift=1.1, drag=0.8)
    attached, deep = np.abs(ALPHA_DEG) <= 15, np.abs(ALPHA_DEG) >= 35
    assert other.cl[:, attached] == pytest.approx(1.1 * POLAR.cl[:, attached])
    assert other.cd[:, attached] == pytest.approx(0.8 * POLAR.cd[:, attached])
    assert other.cl[:, deep] == pytest.approx(1.04 * POLAR.cl[:, deep])
    assert other.cd[:, deep] == pytest.approx(0.8**0.4 * POLAR.cd[:, deep])
    assert (other.kind, other.name) == (POLAR.kind, POLAR.name)
    assert POLAR.adjusted().cl == pytest.approx(POLAR.cl)


@pytest.mark.parametrize("stall", [0.8, 1.0, 1.25])
def test_a_later_stall_keeps_the_slope_of_lift_and_raises_its_top(stall):
    other = POLAR.adjusted(stall=stall)
    for alpha in (-4.0, 2.0, 8.0):  # every point moves out along a line through zero
        moved = np.interp(stall * alpha, ALPHA_DEG, other.cl[12])
        assert moved == pytest.approx(
            stall * np.interp(alpha, ALPHA_DEG, POLAR.cl[12]), abs=0.01
        )  # straight between knots
    front = (ALPHA_DEG >= 0) & (ALPHA_DEG <= 25)
    tops = [one.cl[12, front].max() for one in (POLAR, other)]
    assert tops[1] == pytest.approx(stall * tops[0], rel=0.02)
    across = np.abs(ALPHA_DEG) >= 75
    assert other.cl[:, across] == pytest.approx(POLAR.cl[:, across])
    assert (other.cd > 0).all()


def test_the_weight_of_an_adjustment_falls_smoothly():
    weight = attached_weight(np.arange(0, 180, 0.01))
    assert (np.diff(weight) <= 0).all()
    assert np.abs(np.diff(weight)).max() < 1e-3


def test_doubt_has_the_judged_bands():
    assert lift_doubt("flat sheet", 1e5) == pytest.approx(0.07)
    assert lift_doubt("airfoil", [1e4, 3e4, 7e4, 2e5]) == pytest.approx([0.25, 0.15, 0.08, 0.06])
    assert drag_doubt("flat sheet", 1e5) == pytest.approx(0.15, abs=0.005)
    assert drag_doubt("airfoil", [1e4, 3e4, 7e4, 1.3e5]) == pytest.approx([0.40, 0.35, 0.20, 0.13], abs=0.025)
    assert drag_band("bent sheet", 1e5) == pytest.approx((0.55, 1.30))
    assert lift_max_doubt("flat sheet", 1e5, lift_max=0.8) == pytest.approx(0.08)
    assert lift_max_doubt("airfoil", 3e4, lift_max=1.1) == pytest.approx(0.18)
    assert known_bias("airfoil", [3e4, 7e4, 2e5]) == (pytest.approx([0, 0.11, 0.11]), pytest.approx([1, 1.12, 1]))


@pytest.mark.parametrize(
    "kind", ["flat sheet", "flat sheet, edge unknown", "bent sheet", "bent sheet, deep", "airfoil"]
)
def test_doubt_never_shrinks_towards_low_reynolds_numbers_and_has_no_step(kind):
    reynolds = np.geomspace(2e3, 1e6, 4000)
    for doubt in (lift_doubt(kind, reynolds), drag_doubt(kind, reynolds)):
        assert (np.diff(doubt) <= 1e-12).all()
        assert np.abs(np.diff(doubt)).max() < 0.01


def test_every_polar_has_a_row_of_doubt():
    for polar in (POLAR, sheet_polar(0.03), sheet_polar(0.03, 0.08), airfoil_polar("e387")):
        assert 0 < lift_doubt(polar.kind, 5e4) < 1
    with pytest.raises(UnknownKey, match="airfoil"):
        lift_doubt("airfoils", 5e4)


def test_a_table_with_a_gap_or_without_drag_is_refused():
    for cd in (np.zeros_like(POLAR.cd), np.full_like(POLAR.cd, np.nan), POLAR.cd[:, 1:]):
        with pytest.raises(InputError):
            PolarTable(ALPHA_DEG, LOG_REYNOLDS, POLAR.cl, cd, "x", "x", "airfoil")
