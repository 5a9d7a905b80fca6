"""Dc motors and steppers against makers' sheets and recomputed tables."""

import math

import pytest
from evidence import rows

from whirlbench import tables
from whirlbench.physics import generator

_RPM = math.pi / 30.0
_PER_KRPM = 1000.0 * _RPM
_SHEETS = {row.motor: row for row in rows("generator/dc_motor_catalogue")}
_CHECKS = {row.motor: row for row in rows("generator/dc_motor_consistency")}
_DIGITS = 1e-5  # six printed digits


def _no_load_current(row):
    """The sheet's, or for three large motors the one behind the table's friction torque."""
    return _SHEETS[row.motor].I0_A or row.Tf_from_I0_Nm / row.ke_Vs_per_rad


@pytest.mark.parametrize("row", _CHECKS.values(), ids=str)
def test_constants_of_21_catalogue_rows(row):
    sheet, current = _SHEETS[row.motor], _no_load_current(row)
    resistance = sheet.R_terminal_ohm or (sheet.U_nominal_V / sheet.Is_A if sheet.Is_A else row.R_ohm)
    assert resistance == pytest.approx(row.R_ohm, rel=_DIGITS)
    constant = row.ke_Vs_per_rad
    if sheet.ke_V_per_krpm is None:
        speed = sheet.n0_rpm * _RPM
        constant = generator.emf_constant_from_no_load(
            sheet.U_nominal_V, speed, no_load_current=current, winding_resistance=resistance
        )
        assert constant == pytest.approx(row.ke_Vs_per_rad, rel=_DIGITS)
    assert constant * _PER_KRPM == pytest.approx(row.ke_V_per_krpm, rel=_DIGITS)
    winding = {"no_load_current": current, "winding_resistance": resistance}
    speed = generator.no_load_speed(sheet.U_nominal_V, constant, **winding)
    assert speed / _RPM == pytest.approx(row.n0_model_rpm, rel=_DIGITS)
    # the sheet's given torque constant is the one behind this column, where a sheet has one
    torque = generator.stall_torque(sheet.U_nominal_V, sheet.kt_Nm_per_A or constant, **winding)
    assert torque == pytest.approx(row.Ts_model_Nm, rel=_DIGITS)
    friction = generator.friction_torque(constant, current)
    assert friction == pytest.approx(row.Tf_from_I0_Nm, rel=_DIGITS)


@pytest.mark.parametrize("row", [row for row in _CHECKS.values() if row.kt_from_stall_Nm_per_A], ids=str)
def test_torque_constant_that_stall_data_show(row):
    sheet = _SHEETS[row.motor]
    found = generator.torque_constant_from_stall(sheet.Ts_Nm, sheet.Is_A, no_load_current=sheet.I0_A)
    assert found == pytest.approx(row.kt_from_stall_Nm_per_A, rel=_DIGITS)


@pytest.mark.parametrize("row", [row for row in _CHECKS.values() if row.motor.startswith(("1524", "1331"))], ids=str)
def test_coreless_sheets_agree_with_themselves(row):
    """Printed speed and torque follow from printed volts, ohms and amperes; 4 % where R is rounded to 1.1 ohm."""
    sheet = _SHEETS[row.motor]
    winding = {"no_load_current": sheet.I0_A, "winding_resistance": sheet.R_terminal_ohm}
    speed = generator.no_load_speed(sheet.U_nominal_V, sheet.ke_V_per_krpm / _PER_KRPM, **winding)
    torque = generator.stall_torque(sheet.U_nominal_V, sheet.kt_Nm_per_A, **winding)
    assert speed / _RPM == pytest.approx(sheet.n0_rpm, rel=0.01)
    assert torque == pytest.approx(sheet.Ts_Nm, rel=0.04 if sheet.R_terminal_ohm == 1.1 else 0.005)
    # kt = ke in SI, within the rounding of two three-digit numbers
    assert sheet.kt_Nm_per_A == pytest.approx(sheet.ke_V_per_krpm / _PER_KRPM, rel=0.006)


@pytest.mark.parametrize("row", rows("generator/dc_motor_max_efficiency"), ids=str)
def test_the_printed_point_of_best_efficiency(row):
    """Speed from the printed current and torque from it, each within the rounding of that current to 10 mA."""
    sheet, check = _SHEETS[row.motor], _CHECKS[row.motor]
    winding = {"no_load_current": row.I_A, "winding_resistance": check.R_ohm}
    speed = generator.no_load_speed(sheet.U_nominal_V, check.ke_Vs_per_rad, **winding)
    rounding = 0.005 * check.R_ohm / check.ke_Vs_per_rad / _RPM + 5
    assert speed / _RPM == pytest.approx(row.speed_rpm, abs=rounding)
    stalled = generator.torque_constant_from_stall(sheet.Ts_Nm, sheet.Is_A, no_load_current=sheet.I0_A)
    assert stalled * (row.I_A - sheet.I0_A) == pytest.approx(row.torque_Nm, abs=0.005 * stalled + 5e-6)


_CLASSES = {  # row of the class summary: row of the catalogue
    "130 can, 3 V": "130-size 3 V",
    "130 can, FA-130RA-2270 1.5 V": "FA-130RA-2270",
    "130 can, FA-130RA-18100 3 V": "FA-130RA-18100",
    "130 can, FA-130RA-14150 3 V": "FA-130RA-14150",
    "300 can (RF-300CA), 3 V": "RF-300CA-11400 type",
    "500 can (RF-500TB-14415), 5 V": "RF-500TB-14415",
    "500 can (RF-500TB-12560), 12 V": "RF-500TB-12560",
    "N20-type with 100:1 head driven from output": "gearmotor LP 100:1 output",
    "TT gearmotor 1:120 driven from output": "TT gearmotor 1:120 output",
}
_SUMMARY = {row.__dict__["class"]: row for row in rows("generator/dc_motor_class_summary")}


@pytest.mark.parametrize("name", _CLASSES)
def test_class_rows_that_follow_from_a_sheet(name):
    row, sheet = _SUMMARY[name], _SHEETS[_CLASSES[name]]
    resistance = sheet.U_nominal_V / sheet.Is_A if sheet.Is_A else row.R_ohm
    constant = generator.emf_constant_from_no_load(
        sheet.U_nominal_V, sheet.n0_rpm * _RPM, no_load_current=sheet.I0_A, winding_resistance=resistance
    )
    friction = generator.friction_torque(constant, sheet.I0_A)
    # the 500 and gear rows are printed with three digits, the others with six
    assert constant * _PER_KRPM == pytest.approx(row.ke_V_per_krpm, rel=1e-4)
    assert resistance == pytest.approx(row.R_ohm, rel=3e-3)
    assert friction * 1e3 == pytest.approx(row.Tf_mNm, rel=2e-3)
    assert 1000 / (constant * _PER_KRPM) == pytest.approx(row.rpm_for_1V_open_circuit, rel=1e-4)


@pytest.mark.parametrize("row", rows("generator/stepper_as_generator"), ids=str)
def test_steppers(row):
    constant = generator.stepper_emf_constant(row.T_hold_Nm, row.I_rated_A)
    assert constant == pytest.approx(row.k_peak_Vs_per_rad, rel=_DIGITS)
    assert constant * _PER_KRPM == pytest.approx(row.k_peak_V_per_krpm, rel=_DIGITS)
    reactance = generator.reactance(row.L_phase_mH / 1e3, 300 * _RPM, pole_pairs=50)
    assert reactance == pytest.approx(row.reactance_ohm_at_300rpm, rel=_DIGITS)


def test_the_bench_motor_at_2000_rpm():
    """Notes: E 3.070 V; 20 ohm: 0.1049 A, 2.099 V, 0.2202 W, 1.918 mN.m, 54.8 %."""
    speed = 2000 * _RPM
    emf = generator.emf(14.66e-3, speed)
    current = emf / (9.26 + 20)
    torque = generator.shaft_torque(14.66e-3 * current, speed, friction_torque=0.38e-3)
    assert emf == pytest.approx(3.070, abs=0.0005)
    assert current == pytest.approx(0.1049, abs=0.00005)
    assert torque == pytest.approx(1.918e-3, abs=0.0005e-3)
    assert current**2 * 20 / (torque * speed) == pytest.approx(0.548, abs=0.0005)


def test_matched_power_of_the_hand_wound_coil():
    assert generator.peak_power(1.332, 10.6) == pytest.approx(0.042, abs=0.0005)


# type or name in the shipped table: row of the evidence
_SHIPPED = [
    ("type 2270", "FA-130RA-2270"),
    ("type 18100", "FA-130RA-18100"),
    ("type 14150", "FA-130RA-14150"),
    ("unmarked", "130-size 3 V"),
    ("type 14415", "RF-500TB-14415"),
    ("type 12560", "RF-500TB-12560"),
    ("coreless 15 mm, 3 V", "1524T003SR"),
    ("coreless 15 mm, 6 V", "1524T006SR"),
    ("coreless 15 mm, 9 V", "1524T009SR"),
    ("coreless 15 mm, 12 V", "1524T012SR"),
    ("coreless 15 mm, 18 V", "1524T018SR"),
    ("coreless 15 mm, 24 V", "1524T024SR"),
    ("coreless 13 mm, 6 V", "1331T006SR"),
    ("coreless 13 mm, 12 V", "1331T012SR"),
    ("coreless 13 mm, 24 V", "1331T024SR"),
    ("40 mm, 24 V", "9233S013"),
    ("geared N20", "gearmotor LP 100:1 output"),
]


@pytest.mark.parametrize(("part", "motor"), _SHIPPED)
def test_the_shipped_catalogue_says_what_the_sheets_say(part, motor):
    row = next(row for row in tables.load("generator/dc_motors").rows if part in row.name)
    check = _CHECKS[motor]
    # four digits in the shipped table
    assert row.ke_V_s_per_rad == pytest.approx(check.ke_Vs_per_rad, rel=5e-4)
    assert row.R_ohm == pytest.approx(check.R_ohm, rel=5e-4)
    assert row.friction_N_m == pytest.approx(check.Tf_given_Nm or check.Tf_from_I0_Nm, rel=5e-4)
