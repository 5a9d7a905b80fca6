"""The tower against worked examples, a pipe standard, and a frame-analysis library."""

import itertools
import math

import pytest
from evidence import rows
from Pynite import FEModel3D

from whirlbench.physics import tower
from whirlbench.tables import load

PIPES = load("tower/pvc_pipe").rows
WORKED = rows("tower/worked")
SIX_DIGITS = 5e-6  # the worked examples are printed to six significant digits
MODULUS = 2.9e9


def pipe_of(row):
    return load("tower/pvc_pipe").find(nominal=row.pipe)


def bending_stiffness_of(row):
    pipe = pipe_of(row)
    return MODULUS * tower.tube_second_moment(pipe.OD_mm / 1000, pipe.ID_average_mm / 1000)


@pytest.mark.parametrize("row", PIPES, ids=str)
def test_second_moment_and_mass_of_standard_pipe(row):
    outer, inner = row.OD_mm / 1000, row.ID_average_mm / 1000
    assert tower.tube_second_moment(outer, inner) * 1e12 == pytest.approx(row.I_mm4, rel=SIX_DIGITS)
    mass = tower.tube_mass(1.0, outer, inner, density=1400)
    assert mass == pytest.approx(row.mass_kg_per_m, rel=SIX_DIGITS)
    assert mass / 1400 * 1e6 == pytest.approx(row.area_mm2, rel=SIX_DIGITS)
    # the chart rests on other densities and on nominal walls: it differs by up to 3.5 %
    assert mass == pytest.approx(row.mass_chart_kg_per_m, rel=0.036)


@pytest.mark.parametrize("row", PIPES, ids=str)
def test_average_bore_follows_from_the_limits_of_the_standard(row):
    bore = row.OD_mm - (row.wall_min_mm + row.wall_max_mm)
    assert bore == pytest.approx(row.ID_average_mm, abs=0.0051)  # two decimals
    assert row.OD_mm - 2 * row.wall_min_mm == pytest.approx(row.ID_from_min_wall_mm, abs=0.0051)


@pytest.mark.parametrize("row", WORKED, ids=str)
def test_worked_bending(row):
    stiffness = bending_stiffness_of(row)
    assert tower.tip_stiffness(row.L_m, stiffness) == pytest.approx(row.k_N_per_m, rel=SIX_DIGITS)
    got = tower.lean(row.thrust_N, row.L_m, stiffness)
    assert got.deflection * 1000 == pytest.approx(row.deflection_mm, rel=SIX_DIGITS)
    outer = pipe_of(row).OD_mm / 1000
    stress = tower.bending_stress(row.thrust_N, row.L_m, outer_diameter=outer, second_moment=stiffness / MODULUS)
    assert stress / 1e6 == pytest.approx(row.bending_stress_MPa, rel=SIX_DIGITS)


@pytest.mark.parametrize("row", WORKED, ids=str)
def test_worked_frequencies(row):
    stiffness = bending_stiffness_of(row)
    pipe = pipe_of(row)
    mass = tower.tube_mass(row.L_m, pipe.OD_mm / 1000, pipe.ID_average_mm / 1000, density=1400)
    assert mass == pytest.approx(row.pipe_mass_kg, rel=SIX_DIGITS)
    quick = tower.natural_frequency_rayleigh(row.L_m, stiffness, row.tip_mass_kg, tube_mass=mass)
    assert quick == pytest.approx(row.f_rayleigh_Hz, rel=SIX_DIGITS)
    exact = tower.natural_frequency(row.L_m, stiffness, row.tip_mass_kg, tube_mass=mass)
    assert exact == pytest.approx(row.f_exact_Hz, rel=SIX_DIGITS)
    beta = math.sqrt(2 * math.pi * exact / math.sqrt(stiffness / (mass * row.L_m**3)))
    assert beta == pytest.approx(row.beta, rel=SIX_DIGITS)
    once, blade = tower.resonance_speeds(quick, 3)
    assert once * 30 / math.pi == pytest.approx(row.rpm_1P, rel=SIX_DIGITS)
    assert blade * 30 / math.pi == pytest.approx(row.rpm_3P, rel=SIX_DIGITS)


# length, E I, joint stiffness, tip mass, tube mass
FRAMES = [
    (1.0, 247.4, math.inf, 0.6, 0.643),
    (1.0, 247.4, 60.0, 0.6, 0.643),
    (0.6, 47.3, 15.0, 0.3, 0.194),
    (0.8, 844.0, 400.0, 0.0, 0.82),
    (0.5, 247.4, 8.0, 0.9, 0.32),
]


def frame(length, bending_stiffness, joint_stiffness, tube_mass, pieces=12):
    """Upright tower in the X-Y plane; SI, with area and density chosen to give the tube's mass."""
    area = 5e-4
    model = FEModel3D()
    model.add_material("tube", MODULUS, 1e9, 0.4, tube_mass / (area * length))
    second = bending_stiffness / MODULUS
    model.add_section("tube", area, second, second, 2 * second)
    names = [f"N{i}" for i in range(pieces + 1)]
    for i, name in enumerate(names):
        model.add_node(name, 0, length * i / pieces, 0)
        model.def_support(name, False, False, True, True, True, False)  # plane frame
    for low, high in itertools.pairwise(names):
        model.add_member(f"{low}{high}", low, high, "tube", "tube")
    clamped = math.isinf(joint_stiffness)
    model.def_support(names[0], True, True, True, True, True, clamped)
    if not clamped:
        model.def_support_spring(names[0], "RZ", joint_stiffness)
    return model, names


@pytest.mark.parametrize(("length", "stiffness", "joint", "tip_mass", "tube_mass"), FRAMES)
def test_lean_against_a_frame_library(length, stiffness, joint, tip_mass, tube_mass):
    model, names = frame(length, stiffness, joint, tube_mass, pieces=4)
    thrust, tube_load = 3.0, 0.8
    model.add_node_load(names[-1], "FX", thrust)
    for member in list(model.members):
        model.add_member_dist_load(member, "FX", tube_load, tube_load)
    model.analyze_linear()
    top = model.nodes[names[-1]]
    got = tower.lean(thrust, length, stiffness, joint_stiffness=joint, tube_load=tube_load)
    assert got.deflection == pytest.approx(top.DX["Combo 1"], rel=1e-8)
    assert got.tilt == pytest.approx(-top.RZ["Combo 1"], rel=1e-8)
    assert got.joint_rotation == pytest.approx(-model.nodes[names[0]].RZ["Combo 1"], rel=1e-8, abs=1e-15)
    assert got.foot_moment == pytest.approx(abs(model.nodes[names[0]].RxnMZ["Combo 1"]), rel=1e-8)


@pytest.mark.parametrize(("length", "stiffness", "joint", "tip_mass", "tube_mass"), FRAMES)
def test_frequency_against_a_frame_library(length, stiffness, joint, tip_mass, tube_mass):
    model, names = frame(length, stiffness, joint, tube_mass)
    # the library takes masses from loads, here with g = 1
    model.add_member_self_weight("FX", 1.0)
    if tip_mass:
        model.add_node_load(names[-1], "FX", tip_mass)
    model.analyze_modal(num_modes=2, mass_direction="X", gravity=1.0)
    got = tower.natural_frequency(length, stiffness, tip_mass, tube_mass=tube_mass, joint_stiffness=joint)
    assert got == pytest.approx(min(model.frequencies), rel=1e-6)  # twelve elements reach 4e-8


@pytest.mark.parametrize(("length", "stiffness", "joint", "tip_mass", "tube_mass"), FRAMES)
def test_weight_on_top_against_a_frame_library(length, stiffness, joint, tip_mass, tube_mass):
    top_mass, thrust = 0.4, 0.05
    model, names = frame(length, stiffness, joint, tube_mass)
    model.add_node_load(names[-1], "FX", thrust)
    model.add_node_load(names[-1], "FY", -top_mass * 9.80665)
    model.analyze_PDelta()
    plain = tower.lean(thrust, length, stiffness, joint_stiffness=joint).deflection
    got = plain * tower.weight_factor(length, stiffness, top_mass, joint_stiffness=joint)
    assert got == pytest.approx(model.nodes[names[-1]].DX["Combo 1"], rel=1e-8)
