"""The rotor against theory, code-verification cases and published rotors."""

import numpy as np
import pytest
from evidence import rows
from section_polars import design_section, polar_of, poly_fit_airfoil, stalled_plate, thin_plate

from whirlbench.physics import optimum, rotor, rotor_kernel

POLARS = {"poly_fit_airfoil": poly_fit_airfoil(), "thin_plate_2pi": thin_plate(), "stalled_plate": stalled_plate()}
AIR = {"air_density": 1.2, "air_viscosity": 1.8e-5}


def optimum_rotor(*, blade_count, tip_speed_ratio, polar, hub=0.1, stations=200, tip_loss=False):
    """Rotor with the optimum chord and pitch, sine-spaced stations, radius 1 m."""
    edges = hub + (1 - hub) * np.sin(np.linspace(0, np.pi / 2, stations + 1))
    middle, width = 0.5 * (edges[1:] + edges[:-1]), np.diff(edges)
    chord, pitch = optimum.optimum_blade(
        middle, tip_speed_ratio, blade_count, rotor_radius=1.0, design_lift=1.0, design_alpha=np.radians(7)
    )
    return rotor.RotorShape(
        radius=1.0,
        root_radius=hub,
        blade_count=blade_count,
        station_radius=middle,
        station_width=width,
        chord=chord,
        pitch=pitch,
        polars=(polar,),
        polar_index=np.zeros(stations, dtype=int),
        tip_loss=tip_loss,
        root_loss=False,
    )


@pytest.mark.parametrize("row", rows("rotor/glauert_optimum_rotor"), ids=str)
def test_bound_is_the_published_optimum(row):
    got = optimum.optimum_power_coefficient(row.tip_speed_ratio)
    assert got == pytest.approx(row.cp_max, abs=6e-6)  # the table's rounding


@pytest.mark.parametrize("row", rows("rotor/glauert_optimum_rotor"), ids=str)
def test_rotor_of_optimum_shape_reaches_the_optimum(row):
    count = 12 if row.tip_speed_ratio < 2 else 3
    # the verification polar is unbounded lift: below tip-speed ratio 1 it must still be sampled within +-180 deg
    shape = optimum_rotor(
        blade_count=count, tip_speed_ratio=row.tip_speed_ratio, polar=design_section(), hub=1e-4, stations=400
    )
    curve = rotor.rotor_curve(shape, 5.0, [row.tip_speed_ratio], **AIR)
    assert curve.power[0, 0] == pytest.approx(row.cp_max, abs=1e-3)
    assert curve.thrust[0, 0] == pytest.approx(row.ct_axial, abs=2e-3)


@pytest.mark.parametrize("row", rows("rotor/glauert_local_induction"), ids=str)
def test_optimum_induction(row):
    axial, swirl = optimum.optimum_induction(row.local_speed_ratio)
    near_axis = 5e-4 if row.aprime > 1 else 1e-4  # the speed ratio is printed to 5 digits; a' changes fast there
    assert axial == pytest.approx(row.a, abs=1e-4)
    assert swirl == pytest.approx(row.aprime, rel=near_axis, abs=1e-5)
    assert np.degrees(optimum.optimum_inflow_angle(row.local_speed_ratio)) == pytest.approx(row.phi_deg, abs=2e-3)


@pytest.mark.parametrize(
    "row", [r for r in rows("rotor/optimum_blade_shapes") if r.model.startswith("glauert")], ids=str
)
def test_optimum_blade_shape(row):
    chord, pitch = optimum.optimum_blade(
        row.r_over_R,
        row.design_tsr,
        int(row.blades),
        rotor_radius=1.0,
        design_lift=row.design_cl,
        design_alpha=np.radians(row.design_alpha_deg),
    )
    assert chord == pytest.approx(row.c_over_R, abs=1e-5)
    assert np.degrees(pitch) == pytest.approx(row.pitch_deg, abs=1e-3)


@pytest.mark.parametrize("row", rows("rotor/bem_code_verification_annulus"), ids=str)
def test_annulus(row):
    polar = rotor.kernel_polars((POLARS[row.polar],))
    polar = (*polar[:4], polar[4][0], polar[5][0])
    tip = 0.5 * row.blades * (1 - row.r_over_R) / row.r_over_R if row.tip_loss == "yes" else -1.0
    station = (np.radians(row.pitch_deg), row.solidity, tip, -1.0)
    log_re = np.log(5e4)
    phi, residual = rotor_kernel.solve_annulus(station, row.local_speed_ratio, polar, log_re, rotor_kernel.RUNNING)
    axial, swirl, thrust, torque, _ = rotor_kernel.station_state(phi, row.local_speed_ratio, station, polar, log_re)
    assert abs(residual) < 1e-9
    assert np.degrees(phi) == pytest.approx(row.phi_deg, abs=3e-3)
    assert axial == pytest.approx(row.a, abs=1e-4)
    assert swirl == pytest.approx(row.aprime, abs=2e-4)
    assert thrust == pytest.approx(row.dct, abs=1e-3)
    assert torque == pytest.approx(row.dcq, abs=1e-3)


@pytest.mark.parametrize("row", rows("rotor/bem_code_verification_rotor"), ids=str)
@pytest.mark.parametrize("tip_loss", [False, True])
def test_verification_rotor(row, tip_loss):
    ratio = row.lift_to_drag
    shape = optimum_rotor(
        blade_count=int(row.blades),
        tip_speed_ratio=row.tip_speed_ratio,
        polar=design_section(ratio),
        tip_loss=tip_loss,
        stations=400,
    )
    curve = rotor.rotor_curve(shape, 5.0, [row.tip_speed_ratio], **AIR)
    power, thrust = (row.cp_tiploss, row.ct_tiploss) if tip_loss else (row.cp_no_tiploss, row.ct_no_tiploss)
    assert curve.power[0, 0] == pytest.approx(power, abs=0.002)
    assert curve.thrust[0, 0] == pytest.approx(thrust, abs=0.003)


@pytest.mark.parametrize("row", rows("rotor/starting_torque_blade_element"), ids=str)
def test_standstill_torque(row):
    edges = np.linspace(0.15, 1, 401)
    middle = 0.5 * (edges[1:] + edges[:-1])
    shape = rotor.RotorShape(
        radius=1.0,
        root_radius=0.15,
        blade_count=int(row.blades),
        station_radius=middle,
        station_width=np.diff(edges),
        chord=np.full(400, row.c_over_R),
        pitch=np.full(400, np.radians(row.pitch_deg)),
        polars=(stalled_plate(),),
        polar_index=np.zeros(400, dtype=int),
    )
    got = rotor.standstill_torque_coefficient(shape, 5.0, **AIR)
    # the polar grid is 5 deg wide out there: its chord of sin(2 theta) lies up to 0.1 % under the curve
    assert got == pytest.approx(row.cq0, rel=4e-3, abs=6e-6)


@pytest.mark.parametrize("row", rows("rotor/cp_bound_finite_blades_fit"), ids=str)
def test_finite_blade_bound(row):
    got = optimum.finite_blade_bound(row.tip_speed_ratio, int(row.blades), row.lift_to_drag)
    assert got == pytest.approx(row.cp_max_fit, abs=6e-5)


# at a = 1 the loading is infinite: no section can stand for it
@pytest.mark.parametrize("row", [r for r in rows("rotor/high_thrust_ct_relations") if r.a < 1], ids=str)
def test_high_thrust_relation_is_buhl_s(row):
    """Feed the kernel a section whose loading needs exactly the tabulated induction."""
    a = row.a
    k = _loading_of(a)
    phi = np.radians(30.0)
    normal = k * 4 * np.sin(phi) ** 2  # solidity 1, no loss
    polar = thin_polar(normal / np.cos(phi))
    _, _, h = rotor_kernel._line(phi, (0.0, 1.0, -1.0, -1.0), polar, np.log(5e4))
    induction = 1 - 1 / h
    assert induction == pytest.approx(a, abs=1e-4)
    thrust = 4 * k * (1 - induction) ** 2
    assert thrust == pytest.approx(row.ct_buhl, abs=1e-4 + 1e-4 * row.ct_buhl)


def _loading_of(a):
    """Blade loading k that Buhl's relation balances at induction a: k = Ct / (4 (1 - a)^2)."""
    thrust = 4 * a * (1 - a) if a <= 0.4 else 8 / 9 + (4 - 40 / 9) * a + (50 / 9 - 4) * a**2
    return thrust / (4 * (1 - a) ** 2)


def thin_polar(lift):
    """Kernel polar of constant lift without drag."""
    table = rotor.kernel_polars((polar_of(lambda a: lift + 0 * a, lambda a: 0 * a),))
    return (*table[:4], table[4][0], table[5][0])
