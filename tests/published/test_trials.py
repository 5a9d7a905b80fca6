"""Bench tests against published places, and against circuits, towers and profiles that others have computed."""

import numpy as np
import pytest
from evidence import rows
from turbines import example

from whirlbench.measure.trial import Built, Filled
from whirlbench.measure.trial_wind import traverse
from whirlbench.measure.trials import TRIALS
from whirlbench.physics import tower, tunnel
from whirlbench.value import Value

EXACT = Built(example("starter"), Value(0.01466), Value(9.26), Value(0.0), Value(1.0))
PROFILES = {
    "pipe 1/7": lambda r: (1 - r) ** (1 / 7),
    "fan jet": lambda r: 0.55 + 0.65 * np.exp(-(((r - 0.6) / 0.3) ** 2)),
    "Gaussian jet": lambda r: np.exp(-((r / 0.9) ** 2)),
}


def filled(columns, **facts):
    count = len(next(iter(columns.values())))
    arrays = {name: np.asarray(cells, dtype=float) for name, cells in columns.items()}
    return Filled(tuple(range(count)), arrays, {"voltmeter": "0.1 %", **facts})


def test_a_published_load_curve_gives_back_the_winding():
    """E 3.0704 V at 2000 rpm behind 9.26 ohm; six digits of the volts leave 1e-4 of it."""
    curve = [row for row in rows("generator/generator_load_curve") if 1 < row.R_load_ohm < 200]
    emf = np.full(len(curve), 14.66e-3 * 2000 * np.pi / 30)
    columns = {
        "open voltage": emf,
        "loaded voltage": [row.V_V for row in curve],
        "load": [row.R_load_ohm for row in curve],
    }
    value = TRIALS["loaded-volts"].evaluate(filled(columns), EXACT).found[0].value
    assert value.number == pytest.approx(9.26, rel=1e-4)


@pytest.mark.parametrize("row", rows("tower/worked"), ids=str)
def test_a_worked_tower_gives_back_its_joint(row):
    """Way of the clamped top per newton as published, with the turn of an added joint of 200 N*m/rad."""
    mass = np.array([0.05, 0.1, 0.2, 0.3])
    way = mass * 9.80665 * (1 / row.k_N_per_m + row.L_m**2 / 200.0)
    built = Built(
        EXACT.turbine, EXACT.emf_constant, EXACT.resistance, Value(0.0), Value(row.k_N_per_m * row.L_m**3 / 3)
    )
    result = TRIALS["tower-pull"].evaluate(filled({"mass": mass, "deflection": way}, **{"pull height": row.L_m}), built)
    assert result.found[0].value.number == pytest.approx(200.0, rel=1e-6)
    published = row.thrust_N / row.k_N_per_m
    assert row.deflection_mm / 1000 == pytest.approx(published, rel=1e-5)  # the table agrees with itself
    stiff = float(tower.tip_stiffness(row.L_m, row.k_N_per_m * row.L_m**3 / 3, joint_stiffness=200.0))
    assert 1 / stiff == pytest.approx(way[0] / (mass[0] * 9.80665))


@pytest.mark.parametrize(
    "row", [one for one in rows("tunnel/traverse_positions") if one.rule == "log-Tchebycheff"], ids=str
)
def test_places_in_a_round_section(row):
    places = traverse("round", row.points_per_radius, width=1.0, height=1.0)
    assert places[int(row.point) - 1] == pytest.approx([row.y_over_D - 0.5, 0.0])
    assert np.hypot(*places.T).max() < 0.5


@pytest.mark.parametrize("row", [one for one in rows("tunnel/traverse_positions") if one.rule == "equal-area"], ids=str)
def test_places_of_rings(row):
    radii = tunnel.ring_radii(int(row.points_per_radius), 0.5)
    assert 0.5 - radii[-int(row.point)] == pytest.approx(row.y_over_D, abs=5e-4)  # three digits are printed


def _exact(profile):
    r = np.sqrt((np.arange(100_000) + 0.5) / 100_000)  # middles of rings of equal area
    u = PROFILES[profile](r)
    return u.mean(), np.mean(u**3) ** (1 / 3)


ERRORS = [one for one in rows("tunnel/traverse_errors") if one.rule in ("equal-area", "log-Tchebycheff")]


@pytest.mark.parametrize("row", ERRORS, ids=str)
def test_what_a_rule_misses_on_a_profile(row):
    """The errors that others have computed for the same rule on the same profile [%]."""
    if row.rule == "equal-area":
        radii = tunnel.ring_radii(int(row.points), 1.0)
    else:
        radii = np.hypot(*traverse("round", row.points, width=2.0, height=2.0).T)
    speeds = PROFILES[row.profile](radii)
    mean, cube = _exact(row.profile)
    assert 100 * (speeds.mean() / mean - 1) == pytest.approx(row.err_mean_pct, abs=0.012)
    assert 100 * (np.mean(speeds**3) ** (1 / 3) / cube - 1) == pytest.approx(row.err_cubemean_pct, abs=0.012)


@pytest.mark.parametrize("count", [5, 6, 7])
def test_places_in_a_rectangle_find_the_mean_of_a_wall_flow(count):
    """The places are from memory: right to half a per cent on power laws of 1/7 and 1/10."""
    places = traverse("rectangle", count, width=2.0, height=2.0)
    assert len(places) == count**2
    assert places.mean(axis=0) == pytest.approx([0, 0], abs=1e-12)
    for power in (1 / 7, 1 / 10):
        law = np.prod((1 - np.abs(places)) ** power, axis=1).mean()
        assert law == pytest.approx((1 / (1 + power)) ** 2, rel=0.005)
