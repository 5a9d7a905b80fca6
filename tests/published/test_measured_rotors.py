"""The rotor with real sections against rotors that were measured, and against ceilings nothing may pass."""

import functools

import numpy as np
import pytest
from evidence import rows
from hypothesis import example, given, settings
from hypothesis import strategies as st
from section_polars import design_section

from whirlbench.physics import airfoil, optimum, rotor, sheet

AIR = {"air_density": 1.2, "air_viscosity": 1.8e-5}
WATER = {"air_density": 1000.0, "air_viscosity": 1.0e-3}
RATIOS = np.concatenate([np.arange(0.1, 2, 0.1), np.arange(2, 16.1, 0.2)])


def shape_of(radius, root_radius, outline, *, polars, blade_count=3, stations=40, **more):
    """Rotor from ``outline(radii)``, which gives chord [m], pitch [rad] and the polar of each station."""
    edges = np.linspace(root_radius, radius, stations + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    chord, pitch, which = outline(middle)
    return rotor.RotorShape(
        radius=radius,
        root_radius=root_radius,
        blade_count=blade_count,
        station_radius=middle,
        station_width=np.diff(edges),
        chord=chord + 0 * middle,
        pitch=pitch + 0 * middle,
        polars=polars,
        polar_index=np.full(stations, which) if np.ndim(which) == 0 else which,
        **more,
    )


# The 0.8 m rotor in water: free-stream values after the authors' blockage correction, recalled, so 7-8 % wide


@functools.cache
def marine_rotor(tip_pitch_deg):
    table = rows("rotor/model_rotor_0p8m_marine_geometry")
    known, chords, twists, thicknesses = (
        np.array([getattr(row, column) for row in table]) for column in ("r_m", "chord_m", "twist_deg", "thickness_pct")
    )
    shipped = np.array([12, 15, 18, 21, 24])

    def outline(middle):
        thickness = np.interp(middle, known, thicknesses)
        which = np.abs(thickness[:, None] - shipped).argmin(axis=1)
        pitch = np.radians(np.interp(middle, known, twists) + tip_pitch_deg)
        return np.interp(middle, known, chords), pitch, which

    polars = tuple(airfoil.airfoil_polar(f"naca638{thickness}", "smooth tunnel") for thickness in shipped)
    return shape_of(0.4, 0.08, outline, polars=polars)


@functools.cache
def marine_curve(tip_pitch_deg, speed):
    return rotor.rotor_curve(marine_rotor(tip_pitch_deg), speed, np.arange(2, 11.01, 0.1), **WATER)


def marine_row(quantity):
    return next(row for row in rows("rotor/model_rotor_0p8m_marine_performance") if row.quantity == quantity)


def test_marine_rotor_peak_power():
    row = marine_row("cp_max")
    assert marine_curve(row.tip_pitch_deg, row.tunnel_speed_m_s).power[0].max() == pytest.approx(row.value, rel=0.07)


def test_marine_rotor_peaks_at_the_measured_speed():
    row = marine_row("tsr_at_cp_max")
    curve = marine_curve(row.tip_pitch_deg, row.tunnel_speed_m_s)
    assert curve.tip_speed_ratio[curve.power[0].argmax()] == pytest.approx(row.value, abs=0.7)


def test_marine_rotor_thrust():
    row = marine_row("ct")
    curve = marine_curve(row.tip_pitch_deg, row.tunnel_speed_m_s)
    got = np.interp(row.tip_speed_ratio, curve.tip_speed_ratio, curve.thrust[0])
    assert got == pytest.approx(row.value, rel=0.08)


# Small rotors: bands without a geometry behind them, so these are plausibility checks


def well_made_rotor(name, wind_speed, *, tip_speed_ratio=3.0):
    """Rotor of 0.4 m with three optimum-shaped blades, the section at its best lift over drag at 0.75 of the radius."""
    polar = airfoil.airfoil_polar(name)
    alpha = np.radians(np.arange(0, 12, 0.25))
    chord_guess = 0.035
    lift, drag = polar.at(alpha, 1.2 * wind_speed * 0.75 * tip_speed_ratio * chord_guess / 1.8e-5 + 0 * alpha)
    best = int((lift / drag).argmax())

    def outline(middle):
        design = {"rotor_radius": 0.2, "design_lift": lift[best], "design_alpha": alpha[best]}
        return *optimum.optimum_blade(middle, tip_speed_ratio, 3, **design), 0

    return shape_of(0.2, 0.04, outline, polars=(polar,))


@pytest.mark.parametrize("name", ["naca4412", "clarky", "sg6043"])
@pytest.mark.parametrize("wind_speed", [4.0, 5.5])
def test_a_well_made_small_rotor_lies_in_the_published_band(name, wind_speed):
    power = rotor.rotor_curve(well_made_rotor(name, wind_speed), wind_speed, RATIOS, **AIR).power[0]
    assert 0.25 < power.max() < 0.40
    # published peaks of this size stand at 2.7 to 2.9, of a general optimum at 3 to 4
    assert 2.5 < RATIOS[power.argmax()] < 4.1


def crude_rotor(pitch_deg):
    """Rotor of 0.4 m with three straight 50 x 140 mm blades of 2 mm square-edged sheet on bare 6 mm rods."""
    polar = sheet.sheet_polar(0.04, edge="square", aspect_ratio=2.8)
    rods = {"rod_from": 0.025, "rod_to": 0.06, "rod_diameter": 0.006}
    return shape_of(0.2, 0.06, lambda middle: (0.05, np.radians(pitch_deg), 0), polars=(polar,), **rods)


BELOW_THE_BAND = pytest.mark.xfail(strict=True, reason="peak Cp 0.098: 2 % under the foot of the band at this low Re")


@pytest.mark.parametrize("wind_speed", [pytest.param(4.0, marks=BELOW_THE_BAND), 6.0, 8.0])
def test_a_crude_sheet_rotor_lies_in_the_published_band(wind_speed):
    """At the pitch a team finds by trying 5, 10, 15, ... degrees."""
    peaks = [
        rotor.rotor_curve(crude_rotor(pitch), wind_speed, RATIOS, **AIR).power[0].max() for pitch in range(5, 50, 5)
    ]
    assert 0.10 < max(peaks) < 0.25


# Worth of the section, as told to the user: computed by another solver, printed to 0.01


@pytest.mark.parametrize(
    ("tip_speed_ratio", "lift_to_drag", "power"),
    [
        *[(3, np.inf, 0.45), (3, 50, 0.42), (3, 20, 0.36), (3, 10, 0.28)],
        *[(6, np.inf, 0.52), (6, 50, 0.45), (6, 20, 0.34), (6, 10, 0.17)],
    ],
)
def test_drag_costs_more_the_faster_the_rotor(tip_speed_ratio, lift_to_drag, power):
    def outline(middle):
        design = {"rotor_radius": 1.0, "design_lift": 1.0, "design_alpha": np.radians(7)}
        return *optimum.optimum_blade(middle, tip_speed_ratio, 3, **design), 0

    shape = shape_of(1.0, 0.1, outline, polars=(design_section(lift_to_drag),), stations=120, root_loss=False)
    got = rotor.rotor_curve(shape, 5.0, [tip_speed_ratio], **AIR).power[0, 0]
    assert got == pytest.approx(power, abs=0.008)  # half a unit of the print, and 120 even stations near the tip


# Ceilings

SECTIONS = {
    "sg6043": airfoil.airfoil_polar("sg6043"),
    "s1223": airfoil.airfoil_polar("s1223"),
    "mh32": airfoil.airfoil_polar("mh32", "smooth tunnel"),
    "bent": sheet.sheet_polar(0.02, 0.05, "airfoil nose"),
    "flat": sheet.sheet_polar(0.04),
}


def best_lift_to_drag(polar, reynolds):
    """Best lift over drag that the section reaches at or below each Reynolds number."""
    reached = np.maximum.accumulate((polar.cl / polar.cd).max(axis=1))
    return np.interp(np.log(reynolds), polar.log_reynolds, reached)


def below_every_ceiling(shape, wind_speed):
    curve = rotor.rotor_curve(shape, wind_speed, RATIOS, **AIR)
    assert not curve.unresolved.any()
    assert (curve.power <= optimum.optimum_power_coefficient(RATIOS) + 0.01).all()
    local = np.sqrt(1 + np.outer(RATIOS, shape.station_radius / shape.radius) ** 2)
    best = best_lift_to_drag(shape.polars[0], (1.2 * wind_speed / 1.8e-5 * local * shape.chord).max(axis=1))
    for i in np.flatnonzero((RATIOS >= 4) & (best >= 25)) if shape.blade_count <= 3 else ():
        bound = optimum.finite_blade_bound(RATIOS[i], shape.blade_count, best[i])
        assert curve.power[0, i] <= bound + 0.01


blades = st.integers(1, 12)
winds = st.floats(1.5, 12)
sections = st.sampled_from(sorted(SECTIONS))


@settings(max_examples=60, deadline=None)
@example((12, 0.6, 1.4, 37, 19, "s1223", 11.0))  # twice the disc in blade area
@given(
    st.tuples(
        blades, st.floats(0.02, 0.6), st.floats(0.2, 1.5), st.floats(-10, 50), st.floats(-10, 40), sections, winds
    )
)
def test_no_straight_rotor_passes_a_ceiling(drawn):
    blade_count, chord, taper, pitch, twist, section, wind_speed = drawn

    def outline(middle):
        share = (middle - 0.05) / 0.2
        return 0.25 * chord * (1 + share * (taper - 1)), np.radians(pitch + twist * (1 - share)), 0

    shape = shape_of(0.25, 0.05, outline, polars=(SECTIONS[section],), blade_count=blade_count)
    below_every_ceiling(shape, wind_speed)


@settings(max_examples=60, deadline=None)
@given(
    st.tuples(blades, st.floats(0.8, 9), st.floats(0.4, 1.5), st.floats(0, 10), st.floats(0.03, 0.3), sections, winds)
)
def test_no_optimum_shaped_rotor_passes_a_ceiling(drawn):
    blade_count, tip_speed_ratio, design_lift, alpha, root, section, wind_speed = drawn

    def outline(middle):
        design = {"rotor_radius": 0.25, "design_lift": design_lift, "design_alpha": np.radians(alpha)}
        return *optimum.optimum_blade(middle, tip_speed_ratio, blade_count, **design), 0

    shape = shape_of(0.25, 0.25 * root, outline, polars=(SECTIONS[section],), blade_count=blade_count)
    below_every_ceiling(shape, wind_speed)


def test_the_ceiling_check_can_fail():
    """A section that is better than it owns up to lifts its rotor over the bound."""
    shape = well_made_rotor("sg6043", 8.0, tip_speed_ratio=6.0)
    boosted = rotor.adjusted(shape, drag=0.3)
    curve = rotor.rotor_curve(boosted, 8.0, np.array([6.0]), **AIR)
    assert curve.power[0, 0] > optimum.finite_blade_bound(6.0, 3, 30.0) + 0.01
