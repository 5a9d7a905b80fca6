"""The sheet model: limits, signs, smoothness, and the table against the model."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.physics import sheet, stall
from whirlbench.physics.section import ALPHA_DEG

CIRCLE = np.radians(np.arange(-180, 180.01, 0.05))
SHAPES = st.fixed_dictionaries(
    {
        "thickness_ratio": st.floats(0.001, 0.2),
        "camber_ratio": st.floats(0.0, 0.12),
        "edge": st.sampled_from(sorted(sheet.EDGE_DRAG)),
        "aspect_ratio": st.floats(0.5, 1e9),
    }
)


@settings(max_examples=60, deadline=None)
@given(shape=SHAPES, reynolds=st.floats(1e3, 1e6))
def test_any_sheet_has_smooth_finite_coefficients_that_close_the_circle(shape, reynolds):
    cl, cd = sheet.sheet_coefficients(CIRCLE, reynolds, **shape)
    assert np.isfinite(cl).all()
    assert (cd > 0).all()
    assert (cd < 2.8).all()
    assert (np.abs(cl) < 2.8).all()
    assert np.abs(np.diff(cl)).max() < 0.02
    assert np.abs(np.diff(cd)).max() < 0.01
    assert cl[0] == pytest.approx(cl[-1], abs=1e-9)
    assert cd[0] == pytest.approx(cd[-1], abs=1e-9)


@given(alpha=st.floats(-np.pi, np.pi), reynolds=st.floats(5e3, 5e5), thickness=st.floats(0.005, 0.1))
def test_a_flat_sheet_does_not_know_up_from_down(alpha, reynolds, thickness):
    up = sheet.sheet_coefficients(alpha, reynolds, thickness_ratio=thickness)
    down = sheet.sheet_coefficients(-alpha, reynolds, thickness_ratio=thickness)
    assert up[0] == pytest.approx(-down[0], abs=1e-9)
    assert up[1] == pytest.approx(down[1], abs=1e-9)


def test_camber_lifts_and_thick_square_edges_drag():
    at = {"alpha": np.radians(5.0), "reynolds": 6e4}
    flat = sheet.sheet_coefficients(**at, thickness_ratio=0.03, edge="rounded")
    square = sheet.sheet_coefficients(**at, thickness_ratio=0.03, edge="square")
    bent = sheet.sheet_coefficients(**at, thickness_ratio=0.03, camber_ratio=0.04, edge="rounded")
    assert bent[0] > flat[0] + 0.2
    assert square[1] > flat[1] + 0.02
    assert square[0] == pytest.approx(flat[0])


def test_lift_slope_tends_to_the_fitted_part_of_thin_airfoil_theory():
    step, reynolds = np.radians(0.1), 5e5
    cl, _ = sheet.sheet_coefficients(step, reynolds, thickness_ratio=0.01)
    assert cl / step == pytest.approx(
        2 * np.pi * 0.948 * (1 - 18 / np.sqrt(reynolds)), rel=0.01
    )  # stall switch open 0.2 %


def test_aspect_ratio_moves_deep_stall_only():
    deep, shallow = np.radians(60), np.radians(2)
    for alpha, moved in ((deep, True), (shallow, False)):
        wide, slim = (sheet.sheet_coefficients(alpha, 5e4, thickness_ratio=0.03, aspect_ratio=a)[1] for a in (5, 50))
        assert (slim > 1.1 * wide) == moved


def test_broadside_the_separated_law_is_drag_alone():
    cl, cd = stall.separated_coefficients(np.pi / 2, camber_ratio=0.05, edge_drag=0.03, aspect_ratio=7)
    assert cl == pytest.approx(0.0, abs=1e-12)
    assert cd == pytest.approx(stall.normal_drag(7))


def test_the_force_of_the_separated_law_is_square_to_a_flat_plate():
    alpha = np.radians([20.0, 45.0, 70.0, 110.0, 160.0])
    cl, cd = stall.separated_coefficients(alpha, camber_ratio=0.0, edge_drag=0.0, aspect_ratio=7)
    assert cd * np.cos(alpha) - cl * np.sin(alpha) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    "shape", [(0.03, 0.0, "square"), (0.02, 0.04, "square"), (0.02, 0.06, "rounded"), (0.05, 0.1, "mixed")], ids=str
)
def test_the_table_reads_like_the_model(shape):
    thickness, camber, edge = shape
    random = np.random.default_rng(7)
    alpha, reynolds = np.radians(random.uniform(-10, 20, 4000)), np.exp(random.uniform(np.log(5e3), np.log(2e5), 4000))
    cl, cd = sheet.sheet_polar(*shape).at(alpha, reynolds)
    direct = sheet.sheet_coefficients(alpha, reynolds, thickness_ratio=thickness, camber_ratio=camber, edge=edge)
    assert np.sqrt(np.mean((cl - direct[0]) ** 2)) < 0.0054  # the figures for which 148 x 24 knots were chosen
    assert np.abs(cl - direct[0]).max() < 0.12
    assert np.percentile(np.abs(cd / direct[1] - 1), 95) < 0.01


def test_sheets_know_their_row_of_doubt_and_refuse_nonsense():
    assert sheet.sheet_polar(0.03).kind == "flat sheet, edge unknown"
    assert sheet.sheet_polar(0.03, 0.0, "square").kind == "flat sheet"
    assert sheet.sheet_polar(0.03, 0.04, "square").kind == "bent sheet"
    assert sheet.sheet_polar(0.03, 0.07, "square").kind == "bent sheet, deep"
    assert sheet.sheet_polar(0.03).cl.shape == (24, len(ALPHA_DEG))
    for wrong in ({"thickness_ratio": 3.0}, {"camber_ratio": -0.02}, {"aspect_ratio": 0.1}):
        with pytest.raises(OutOfRange):
            sheet.sheet_polar(**({"thickness_ratio": 0.03} | wrong))
    with pytest.raises(UnknownKey, match="rounded"):
        sheet.sheet_polar(0.03, edge="round")
