"""A user's own polar: completed, resampled, and refused in plain words."""

import numpy as np
import pytest

from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.physics.section import ALPHA_DEG, lift_doubt
from whirlbench.physics.sheet import sheet_polar
from whirlbench.physics.user_polar import user_polar

ROWS = [(a, re, 0.1 * a + 0.2, 0.02 + 1e-4 * a**2) for re in (3e4, 1e5) for a in range(-4, 13)]


def test_inside_its_range_the_table_is_the_users():
    polar = user_polar(ROWS)
    cl, cd = polar.at(np.radians([0.0, 4.0, 12.0]), 5e4)
    assert cl == pytest.approx([0.2, 0.6, 1.4])
    assert cd == pytest.approx([0.02, 0.0216, 0.0344])
    assert lift_doubt(polar.kind, 5e4) > 0


def test_outside_it_is_a_plate():
    polar, plate = user_polar(ROWS, thickness_ratio=0.03), sheet_polar(0.03, 0.0, "rounded")
    for alpha in np.radians([-90.0, 40.0, 90.0, 150.0]):
        assert polar.at(alpha, 5e4) == pytest.approx(plate.at(alpha, 5e4), rel=0.02, abs=1e-6)


def test_the_completed_table_is_smooth_and_closes_the_circle():
    polar = user_polar(ROWS)
    cl, _ = polar.at(np.radians(np.arange(-30, 40, 0.1)), 5e4)
    assert np.abs(np.diff(cl)).max() < 0.03
    assert polar.cl[:, 0] == pytest.approx(polar.cl[:, -1], abs=1e-9)


def test_between_reynolds_numbers_it_is_linear_in_the_logarithm_and_held_outside():
    rows = [(a, re, 0.1 * a * (1 if re < 5e4 else 2), 0.02) for a, re, _, _ in ROWS]
    polar = user_polar(rows)
    assert polar.at(np.radians(4), 3e4**0.5 * 1e5**0.5)[0] == pytest.approx(0.6, abs=0.01)
    assert polar.at(np.radians(4), 5e3)[0] == pytest.approx(0.4)
    assert polar.at(np.radians(4), 5e5)[0] == pytest.approx(0.8)


def test_a_polar_written_out_comes_back(tmp_path):
    sheet = sheet_polar(0.03, 0.04, "square")
    reynolds = np.exp(sheet.log_reynolds)
    lines = ["# my own section", "alpha_deg,re,cl,cd"]
    lines += [
        f"{a},{re!r},{cl!r},{cd!r}"
        for re, row_cl, row_cd in zip(reynolds.tolist(), sheet.cl.tolist(), sheet.cd.tolist(), strict=True)
        for a, cl, cd in zip(ALPHA_DEG.tolist(), row_cl, row_cd, strict=True)
    ]
    path = tmp_path / "mine.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    polar = user_polar(path)
    assert polar.cl == pytest.approx(sheet.cl, abs=1e-9)
    assert polar.cd == pytest.approx(sheet.cd, rel=1e-9)
    assert "mine.csv" in polar.source


@pytest.mark.parametrize(
    ("text", "what", "says"),
    [
        ("", "polar table", "header"),
        ("alpha,re,cl,cd\n1,2,3,4", "polar table column", "alpha_deg"),
        ("alpha_deg,re,cl\n1,2,3", "polar table", "no column cd"),
        ("alpha_deg,re,cl,cd\n0,6e4,abc,0.02", "polar table row 2 cl", "abc"),
        ("alpha_deg,re,cl,cd\n0,6e4,0.1", "polar table row 2 cd", "a number"),
        ("alpha_deg,re,cl,cd\n0,6e4,0.1,0", "polar table row 2 cd", "more than 0"),
        ("alpha_deg,re,cl,cd\n0,60,0.1,0.02", "polar table row 2 re", "60000"),
        ("alpha_deg,re,cl,cd\n0,6e4,0.1,0.02", "polar table at re 60000", "1 angles"),
        ("alpha_deg,re,cl,cd", "polar table", "no rows"),
    ],
)
def test_a_slip_in_the_file_is_told_in_four_pieces(tmp_path, text, what, says):
    path = tmp_path / "mine.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as told:
        user_polar(path)
    assert told.value.what == what
    assert says in str(told.value)


def test_slips_in_rows_are_told(tmp_path):
    with pytest.raises(InputError, match="an angle twice"):
        user_polar([*ROWS, ROWS[0]])
    with pytest.raises(InputError, match="3 cells"):
        user_polar([(1, 2, 3)])
    with pytest.raises(InputError, match="-4 to 5 deg"):
        user_polar([row for row in ROWS if row[0] <= 5])
    with pytest.raises(OutOfRange, match="degrees"):
        user_polar([(200, 6e4, 0.1, 0.02)])
    with pytest.raises(OutOfRange):
        user_polar([(1, float("nan"), 0.1, 0.02)])
    with pytest.raises(InputError, match="readable"):
        user_polar(tmp_path / "nowhere.csv")
    with pytest.raises(UnknownKey):
        (tmp_path / "x.csv").write_text("angle_deg,re,cl,cd\n")
        user_polar(tmp_path / "x.csv")
