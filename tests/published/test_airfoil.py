"""Shipped airfoil polars against tunnel data: the misses must be what the doubt bands promise."""

import numpy as np
import pytest
from evidence import rows

from whirlbench.physics.airfoil import airfoil_polar
from whirlbench.physics.section import drag_doubt, lift_doubt, lift_max_doubt

# set, shipped name, angles compared [deg]
SETS = [
    ("e387_lsat_vol1", "e387", 15),
    ("e387_nrel_2004", "e387", 15),
    ("clarky_lsat_vol3", "clarky", 15),
    ("naca6409_lsat_vol1", "naca6409", 15),
    ("sd7037_lsat_vol1", "sd7037", 15),
    ("e205_princeton_1989", "e205", 11),
]
# Greatest mean miss of a set: lift, and drag as a fraction. About what was found when the neural polar was chosen,
# at each set's worst Reynolds number; Clark-Y lifts 0.1 too much and E205 at Re 4e4 0.13 too little.
LIMITS = {
    "e387_lsat_vol1": (0.09, 0.25),
    "e387_nrel_2004": (0.08, 0.25),
    "clarky_lsat_vol3": (0.16, 0.22),
    "naca6409_lsat_vol1": (0.12, 0.12),
    "sd7037_lsat_vol1": (0.10, 0.18),
    "e205_princeton_1989": (0.15, 0.0),
}


def compared(table, name, highest, flow="smooth tunnel"):
    """Reynolds number, measured and computed lift and drag of a set."""
    chosen = [row for row in rows(f"sections/{table}") if -4 <= row.alpha_deg <= highest]
    column = {key: np.array([getattr(row, key) or np.nan for row in chosen]) for key in ("Re", "alpha_deg", "cl", "cd")}
    cl, cd = airfoil_polar(name, flow).at(np.radians(column["alpha_deg"]), column["Re"])
    return column["Re"], column["cl"], column["cd"], cl, cd


def miss_table():
    """Lines ``set, Re, points, lift miss, its sign, drag miss, its sign``."""
    lines = []
    for table, name, highest in SETS:
        reynolds, *numbers = compared(table, name, highest)
        for band in (4e4, 6e4, 1e5, 1.5e5):
            near = np.abs(np.log(reynolds / band)) < 0.15
            if near.any():
                cl, cd, got_cl, got_cd = (number[near] for number in numbers)
                lift, drag = got_cl - cl, (got_cd / cd - 1)[np.isfinite(cd)]
                drag_miss = (np.abs(drag).mean(), drag.mean()) if len(drag) else (0.0, 0.0)
                lines.append((table, band, near.sum(), np.abs(lift).mean(), lift.mean(), *drag_miss))
    return lines


def test_misses_are_no_larger_than_when_the_polar_was_chosen():
    lines = miss_table()
    shown = "\n".join("{:24s} Re {:7.0f} n {:3d}  cl {:.3f} ({:+.3f})  cd {:.2f} ({:+.2f})".format(*x) for x in lines)
    over = [line[:2] for line in lines if line[3] > LIMITS[line[0]][0] or line[5] > LIMITS[line[0]][1]]
    print(shown)
    assert len(lines) == 13
    assert not over, shown


@pytest.mark.parametrize(("table", "name", "highest"), SETS)
def test_the_doubt_covers_the_misses(table, name, highest):
    reynolds, cl, cd, got_cl, got_cd = compared(table, name, highest)
    slope, peak = lift_doubt("airfoil", reynolds) * np.abs(got_cl), lift_max_doubt("airfoil", reynolds, lift_max=1.2)
    lift = (got_cl - cl) / np.hypot(slope, peak)
    drag = (np.log(got_cd / cd) / drag_doubt("airfoil", reynolds))[np.isfinite(cd)]
    assert np.nanmax(np.abs(lift)) < 2.0
    assert np.sqrt(np.nanmean(lift**2)) < 1.3
    # a second model of E387 in a later tunnel run has up to 0.02 more drag in the bubble range: 1.75 sigma
    assert len(drag) == 0 or np.sqrt(np.mean(drag**2)) < (1.8 if table == "e387_nrel_2004" else 1.25)


def test_a_thick_section_at_very_low_reynolds_number_stays_within_its_wide_band():
    """MB253515 is not shipped; the 15 % thick 4-digit section of like camber stands in, so only the size can agree."""
    chosen = [row for row in rows("sections/mb253515_princeton_1989") if 0 <= row.alpha_deg <= 9]
    alpha, reynolds = np.radians([row.alpha_deg for row in chosen]), np.array([row.Re for row in chosen])
    cl, _ = airfoil_polar("naca2415", "smooth tunnel").at(alpha, reynolds)
    assert np.mean(np.abs(cl - [row.cl for row in chosen])) < lift_max_doubt("airfoil", 1.5e4, lift_max=0)


@pytest.mark.parametrize("row", rows("sections/neural_polar_vs_tunnel_published"), ids=str)
def test_the_drag_band_agrees_with_the_published_comparison(row):
    """By the median, 0.67 sigma of a normal miss; published means reach 1.45 times 0.8 sigma (heavy tails)."""
    ends = [float(end) for end in row.Re_band.rstrip("k").split("-")]
    sigma = drag_doubt("airfoil", 1e3 * np.sqrt(ends[0] * ends[-1]))
    assert 0.7 < row.median_abs_err_cd / (0.67 * sigma) < 1.3
