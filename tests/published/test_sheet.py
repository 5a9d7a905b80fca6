"""The sheet model against its check values, a measured plate, a thin cambered section and a deep-stall table."""

import numpy as np
import pytest
from evidence import rows

from whirlbench.physics import sheet, stall

CHECKS = rows("sections/sheet_model_check_values")
FLAT = rows("sections/flat_plate_princeton_1989")
BENT = rows("sections/goe417a_lsat_vol3")
DEEP = rows("sections/naca0015_sheldahl_klimas_1981")


def misses(found, chosen):
    """Mean absolute miss in lift and mean relative miss in drag."""
    cl, cd = found
    lift = np.mean([abs(got - row.cl) for got, row in zip(cl, chosen, strict=True)])
    drag = [abs(got / row.cd - 1) for got, row in zip(cd, chosen, strict=True) if row.cd]
    return lift, np.mean(drag) if drag else 0.0


def computed(chosen, **shape):
    alpha, reynolds = (np.array([getattr(row, key) for row in chosen]) for key in ("alpha_deg", "Re"))
    return sheet.sheet_coefficients(np.radians(alpha), reynolds, aspect_ratio=np.inf, **shape)


@pytest.mark.parametrize("row", CHECKS, ids=lambda row: f"{row}-{row.alpha_deg}")
def test_sheet_model_gives_its_check_values(row):
    cl, cd = sheet.sheet_coefficients(
        np.radians(row.alpha_deg),
        row.Re,
        thickness_ratio=row.t_c,
        camber_ratio=row.camber,
        edge=row.edge,
        aspect_ratio=row.aspect_ratio,
    )
    assert cl == pytest.approx(row.cl, abs=5.1e-6)  # printed to five places
    assert cd == pytest.approx(row.cd, abs=5.1e-6)


# The plate and the cambered section are what the constants were fitted to: these limits are doubt bands of the model,
# not proof of it. Flat sheet above Re 5e4: 7 % on lift (of about 0.6), 15 % on drag.
@pytest.mark.parametrize(
    ("run", "low", "high", "lift_miss", "drag_miss"),
    [("drag", -5, 9, 0.02, 0.08), ("lift", -5, 8, 0.03, 0), ("lift", 8, 17, 0.05, 0)],
)
def test_flat_sheet_stays_within_its_band_of_the_measured_plate(run, low, high, lift_miss, drag_miss):
    chosen = [row for row in FLAT if row.run == run and low <= row.alpha_deg <= high]
    assert len(chosen) > 20
    lift, drag = misses(computed(chosen, thickness_ratio=0.02, edge="mixed"), chosen)
    assert lift < lift_miss
    assert drag <= drag_miss


@pytest.mark.parametrize("reynolds", [6e4, 1e5, 2e5])
def test_carved_bent_sheet_stays_within_its_band_of_the_measured_thin_section(reynolds):
    chosen = [
        row for row in BENT if row.run == "drag" and 0 <= row.alpha_deg <= 12 and abs(np.log(row.Re / reynolds)) < 0.15
    ]
    assert len(chosen) == 8
    found = computed(chosen, thickness_ratio=0.032, camber_ratio=0.059, edge="airfoil nose")
    lift, drag = misses(found, chosen)
    assert lift < 0.06  # 5 % of a lift of about 1
    assert drag < 0.20


def test_bent_sheet_below_zero_lifts_too_much_by_the_stated_quarter():
    chosen = [row for row in BENT if row.run == "lift" and row.alpha_deg < 0]
    found = computed(chosen, thickness_ratio=0.032, camber_ratio=0.059, edge="airfoil nose")
    excess = np.mean(found[0] - np.array([row.cl for row in chosen]))
    assert 0.15 < excess < 0.27  # a known miss, told in the docstring; this fails when it heals


# 1.80 is the table's own drag at 90 deg, so that point is no test; the shape between is.
@pytest.mark.parametrize(
    ("low", "high", "lift_miss", "drag_miss"), [(30, 90, 0.06, 0.03), (95, 150, 0.14, 0.03), (155, 180, 0.21, 0.17)]
)
def test_separated_law_follows_the_deep_stall_table(low, high, lift_miss, drag_miss):
    chosen = [row for row in DEEP if low <= row.alpha_deg <= high]
    found = stall.separated_coefficients(
        np.radians([row.alpha_deg for row in chosen]),
        camber_ratio=0.0,
        edge_drag=sheet.edge_on_drag(1.6e5, thickness_ratio=0.15, edge="rounded"),
        aspect_ratio=9 / np.log(0.83 / (1.80 - 1.17)),
    )
    lift, drag = misses(found, chosen)
    assert lift < lift_miss
    assert drag < drag_miss


def test_backwards_sheet_lifts_closer_to_the_table_than_the_separated_law():
    chosen = [row for row in DEEP if row.alpha_deg >= 155]
    alpha, aspect_ratio = np.radians([row.alpha_deg for row in chosen]), 9 / np.log(0.83 / 0.63)
    shape = {"camber_ratio": 0.0, "aspect_ratio": aspect_ratio}
    near = sheet.sheet_coefficients(alpha, 1.6e5, thickness_ratio=0.15, edge="rounded", **shape)
    assert misses(near, chosen)[0] < 0.12


def test_normal_drag_lies_between_the_published_plates():
    published = {1: (1.15, 1.20), 5: (1.18, 1.50), 10: (1.29, 1.80), 20: (1.50, 2.06), 1e9: (1.98, 2.31)}
    for aspect_ratio, (low, high) in published.items():  # Hoerner from memory, Spera second hand
        assert low <= stall.normal_drag(aspect_ratio) <= high


def test_normal_force_at_thirty_degrees():
    cl, cd = stall.separated_coefficients(np.radians(30), camber_ratio=0.0, edge_drag=0.0, aspect_ratio=np.inf)
    assert np.hypot(cl, cd) == pytest.approx(1.29, abs=0.03)  # Fage and Johansen 1927; the fit weighs the plateau too
