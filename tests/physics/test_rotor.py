"""The rotor: limits, branches, scaling, and momentum checked from both sides."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from section_polars import stalled_plate, thin_plate

from whirlbench.errors import OutOfRange
from whirlbench.physics import airfoil, rotor, rotor_kernel, sheet
from whirlbench.physics.rotor_kernel import RUNNING, STARTING

AIR = {"air_density": 1.2, "air_viscosity": 1.8e-5}
RATIOS = np.concatenate([[0.0], np.geomspace(0.05, 16, 40)])
SECTIONS = (
    airfoil.airfoil_polar("sg6043"),
    airfoil.airfoil_polar("mh32"),  # its lift collapses below Re 2e4: the hardest table for a fixed Re
    sheet.sheet_polar(0.02, 0.06),
    sheet.sheet_polar(0.04),
)
DENSE = np.unique(np.concatenate([np.geomspace(1e-6, 0.05, 200), np.linspace(0.05, np.pi - 1e-6, 1800)]))


def rotor_of(*, blade_count=3, radius=0.25, chord=0.05, taper=0.5, pitch=6.0, twist=18.0, polar=SECTIONS[0], root=0.2):
    """Tapered, twisted rotor of 30 stations; chord at the root [m], angles [deg], root over tip radius."""
    edges = radius * np.linspace(root, 1, 31)
    middle = 0.5 * (edges[1:] + edges[:-1])
    share = (middle / radius - root) / (1 - root)
    return rotor.RotorShape(
        radius=radius,
        root_radius=root * radius,
        blade_count=blade_count,
        station_radius=middle,
        station_width=np.diff(edges),
        chord=chord * (1 + share * (taper - 1)),
        pitch=np.radians(pitch + twist * (1 - share)),
        polars=(polar,),
        polar_index=np.zeros(30, dtype=int),
    )


def curve_of(shape, wind_speed=5.0, ratios=RATIOS):
    return rotor.rotor_curve(shape, wind_speed, ratios, **AIR)


def annulus_polar(polar):
    """Kernel form of one polar."""
    table = rotor.kernel_polars((polar,))
    return (*table[:4], table[4][0], table[5][0])


KERNEL_POLARS = tuple(annulus_polar(polar) for polar in SECTIONS)


def residual(phi, ratio, station, polar, log_re):
    slope, level, _ = rotor_kernel._line(phi, station, polar, log_re)
    return ratio * slope - level


def random_annuli(count, *, seed, solidity=(3e-3, 3), fastest=15):
    """Stations from a wisp to three discs of blade, with and without each loss factor."""
    draw = np.random.default_rng(seed)
    for _ in range(count):
        loss = [float(draw.choice([-1.0, np.exp(draw.uniform(-5, 3))])) for _ in range(2)]
        station = (draw.uniform(-0.3, 1.3), float(np.exp(draw.uniform(*np.log(solidity)))), *loss)
        ratio = float(draw.choice([0.0, draw.uniform(0, 3), draw.uniform(0, fastest)]))
        yield station, ratio, KERNEL_POLARS[draw.integers(len(SECTIONS))], np.log(draw.uniform(2e3, 5e4))


# Every station, every branch


def test_every_annulus_is_solved():
    for station, ratio, polar, log_re in random_annuli(600, seed=1):
        for branch in (RUNNING, STARTING):
            phi, told = rotor_kernel.solve_annulus(station, ratio, polar, log_re, branch)
            at_speed = log_re + 0.5 * math.log(1 + ratio**2)
            assert abs(residual(phi, ratio, station, polar, at_speed)) < 1e-8
            assert abs(told) < 1e-8


def rising_crossings(station, ratio, polar, log_re):
    """Cells of the dense scan in which the residual rises through zero."""
    f = np.array([residual(phi, ratio, station, polar, log_re) for phi in DENSE])
    return np.flatnonzero((f[:-1] < 0) & (f[1:] >= 0))


def test_running_is_the_lowest_and_starting_the_highest_solution():
    several = 0
    for station, ratio, polar, log_re in random_annuli(1200, seed=2, solidity=(0.1, 3), fastest=5):
        found = rising_crossings(station, ratio, polar, log_re + 0.5 * math.log(1 + ratio**2))
        several += len(found) > 1
        for branch, cell in ((RUNNING, found[0]), (STARTING, found[-1])):
            phi, _ = rotor_kernel.solve_annulus(station, ratio, polar, log_re, branch)
            assert DENSE[cell] - 1e-9 <= phi <= DENSE[cell + 1] + 1e-9
    assert several >= 10  # or the two branches were not put to the test


def test_branches_agree_where_there_is_one_solution():
    for station, ratio, polar, log_re in random_annuli(200, seed=3):
        if len(rising_crossings(station, ratio, polar, log_re + 0.5 * math.log(1 + ratio**2))) == 1:
            running, starting = (
                rotor_kernel.solve_annulus(station, ratio, polar, log_re, branch)[0] for branch in (RUNNING, STARTING)
            )
            assert running == starting


def test_branches_part_on_a_crowded_stalling_rotor():
    curve = curve_of(rotor_of(blade_count=12, chord=0.06))
    apart = np.abs(curve.torque[0] - curve.torque[1])
    assert apart.max() > 1e-3
    assert apart[RATIOS > 12].max() == 0


# Both sides of the balance


def test_blades_and_momentum_agree_on_thrust_and_swirl():
    checked = 0
    for station, ratio, polar, log_re in random_annuli(600, seed=4):
        at_speed = log_re + 0.5 * math.log(1 + ratio**2)
        phi, _ = rotor_kernel.solve_annulus(station, ratio, polar, log_re, RUNNING)
        axial, swirl, thrust, torque, _ = rotor_kernel.station_state(phi, ratio, station, polar, at_speed)
        if ratio < 0.05 or phi < 0.02 or not -1 < axial < 0.95:  # elsewhere 1e-9 is asked of differences of big numbers
            continue
        factor = prandtl(phi, station)
        assert thrust == pytest.approx(momentum_thrust(axial, factor), rel=1e-9, abs=1e-9)
        assert torque == pytest.approx(4 * swirl * factor * (1 - axial) * ratio, rel=1e-8, abs=1e-8)
        checked += 1
    assert checked > 300


def prandtl(phi, station):
    factors = [2 / np.pi * np.arccos(np.exp(-loss / np.sin(phi))) for loss in station[2:] if loss >= 0]
    return max(float(np.prod(factors)), 1e-6)


def momentum_thrust(axial, factor):
    """Thrust coefficient of the annulus as printed: momentum up to a = 0.4, above it Buhl's parabola."""
    if axial <= 0.4:
        return 4 * axial * factor * (1 - axial)
    return 8 / 9 + (4 * factor - 40 / 9) * axial + (50 / 9 - 4 * factor) * axial**2


def test_drag_takes_what_the_curve_says():
    shape = rotor_of(polar=thin_plate())
    free = replace(thin_plate(), cd=np.full_like(thin_plate().cd, 1e-12))
    with_drag, without = curve_of(shape), curve_of(replace(shape, polars=(free,)))
    running = RATIOS > 3
    assert (with_drag.blade_drag[0] > 0).all()
    # induction hardly moves at this drag, so the loss is the drag torque itself to first order
    lost = (without.torque - with_drag.torque)[0, running]
    assert lost == pytest.approx(with_drag.blade_drag[0, running], rel=0.05)


# Limits


@pytest.mark.parametrize("count", [1, 12])
def test_one_blade_and_twelve_wide_ones(count):
    curve = curve_of(rotor_of(blade_count=count, chord=0.12, taper=1.0))
    assert np.isfinite(curve.power).all() and np.isfinite(curve.thrust).all()
    assert not curve.unresolved.any()


def test_a_thread_of_a_chord_leaves_the_wind_alone():
    shape = rotor_of(chord=1e-3, taper=1.0)
    curve = curve_of(shape, ratios=np.array([1.0, 3.0]))
    assert not curve.unresolved.any()
    assert (curve.thrust > 0).all() and (curve.thrust < 0.05).all()
    assert curve.thrust[0] == pytest.approx(thrust_without_induction(shape, np.array([1.0, 3.0])), rel=0.05)


def thrust_without_induction(shape, ratios):
    place = shape.station_radius / shape.radius
    local = ratios[:, None] * place
    phi, speed = np.arctan2(1, local), np.sqrt(1 + local**2)
    cl, cd = shape.polars[0].at(phi - shape.pitch, 1.2 * 5 * speed * shape.chord / 1.8e-5)
    loading = shape.blade_count * shape.chord / (np.pi * shape.radius**2) * shape.station_width
    return (speed**2 * (cl * np.cos(phi) + cd * np.sin(phi))) @ loading


def test_standstill_is_finite_and_below_the_form_without_induction():
    shape = rotor_of(pitch=15)
    curve = curve_of(shape, ratios=np.array([0.0]))
    still = rotor.standstill_torque_coefficient(shape, 5.0, **AIR)
    assert 0.3 * still < curve.torque[1, 0] < still
    assert curve.power[1, 0] == 0


def test_torque_is_continuous_at_standstill():
    curve = curve_of(rotor_of(pitch=15), ratios=np.array([0.0, 1e-6]))
    assert curve.torque[:, 0] == pytest.approx(curve.torque[:, 1], rel=1e-4)


def test_far_beyond_runaway_the_rotor_brakes():
    curve = curve_of(rotor_of(), ratios=np.array([6.0, 14.0, 25.0, 40.0]))
    assert not curve.unresolved.any()
    assert (curve.power[:, 1:] < 0).all()
    assert (np.diff(curve.power[0]) < 0).all()
    assert curve.power[0] == pytest.approx(curve.power[1])


def test_blades_edge_on_to_the_wind_push_neither_way():
    """Uncambered blades set square to the rotor plane: nothing tells right from left at rest."""
    shape = rotor_of(pitch=90, twist=0, polar=stalled_plate())
    assert rotor.standstill_torque_coefficient(shape, 5.0, **AIR) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("pitch", [5, 20, 45])
def test_mirror_rotor_starts_the_other_way(pitch):
    shape = rotor_of(pitch=pitch, twist=0, polar=stalled_plate())
    mirrored = replace(shape, pitch=np.pi - shape.pitch)
    ahead = rotor.standstill_torque_coefficient(shape, 5.0, **AIR)
    back = rotor.standstill_torque_coefficient(mirrored, 5.0, **AIR)
    assert ahead > 1e-3
    assert back == pytest.approx(-ahead, rel=1e-9)
    forward, backward = (curve_of(one, ratios=np.array([0.0])) for one in (shape, mirrored))
    assert forward.torque[0] == pytest.approx(-backward.torque[0], rel=1e-6)
    assert forward.thrust[0] == pytest.approx(backward.thrust[0], rel=1e-6)


# Scaling


def test_size_does_not_matter_at_equal_reynolds_number():
    small = curve_of(rotor_of(), wind_speed=6.0)
    large = curve_of(rotor_of(radius=0.5, chord=0.1), wind_speed=3.0)
    assert large.torque == pytest.approx(small.torque, rel=1e-9, abs=1e-12)
    assert large.thrust == pytest.approx(small.thrust, rel=1e-9, abs=1e-12)


def test_wind_acts_through_the_reynolds_number_only():
    air = {"air_density": 1.0, "air_viscosity": 1.5e-5}
    thin = rotor.rotor_curve(rotor_of(), 6.0, RATIOS, **air)
    assert curve_of(rotor_of(), 6.0).torque == pytest.approx(thin.torque, rel=1e-9, abs=1e-12)
    assert curve_of(rotor_of(), 2.0).power[0].max() < thin.power[0].max()


def test_better_sections_make_a_better_rotor():
    shape = rotor_of()
    peaks = [curve_of(rotor.adjusted(shape, drag=factor)).power[0].max() for factor in (0.5, 1.0, 2.0)]
    assert peaks[0] > peaks[1] > peaks[2]


def test_a_turn_of_all_blades_is_a_change_of_pitch():
    turned, shape = rotor.adjusted(rotor_of(), angle=0.03), rotor_of()
    assert curve_of(turned).torque == pytest.approx(curve_of(replace(shape, pitch=shape.pitch + 0.03)).torque)


# Rods


def test_bare_rods_only_take_power():
    plain = rotor_of()
    rodded = replace(plain, rod_from=0.02, rod_to=0.05, rod_diameter=0.006)
    a, b = curve_of(plain), curve_of(rodded)
    moving = RATIOS > 0
    assert (b.torque[:, moving] < a.torque[:, moving]).all()
    assert (b.thrust > a.thrust).all()
    assert a.torque - b.torque == pytest.approx(b.rod_drag)
    assert not a.rod_drag.any()


def test_a_fast_rod_meets_the_text_book_drag():
    """Far above the wind's speed the rod's torque is the integral of Omega^2 r^3."""
    shape = replace(rotor_of(), rod_from=0.0, rod_to=0.25, rod_diameter=0.01, rod_drag=1.0)
    curve = curve_of(shape, ratios=np.array([40.0]))
    exact = 3 * 0.01 * 40.0**2 / (4 * np.pi * 0.25)
    assert curve.rod_drag[0, 0] == pytest.approx(exact, rel=2e-3)


# Many at once


def test_a_batch_is_the_single_rotors_in_order():
    shapes = [rotor_of(blade_count=1 + i % 12, pitch=2.0 * i, polar=SECTIONS[i % 4]) for i in range(16)]
    winds = np.linspace(2, 9, 16)
    batch = rotor.rotor_curves(shapes, winds, RATIOS, **AIR)
    for shape, wind_speed, got in zip(shapes, winds, batch, strict=True):
        alone = curve_of(shape, wind_speed)
        assert (got.torque == alone.torque).all() and (got.thrust == alone.thrust).all()


def test_order_of_the_ratios_does_not_matter():
    mixed = np.random.default_rng(0).permutation(RATIOS.size)
    shape = rotor_of(blade_count=8)
    assert (curve_of(shape, ratios=RATIOS[mixed]).torque == curve_of(shape).torque[:, mixed]).all()


@pytest.mark.parametrize(("blade_count", "wind_speed", "ratio"), [(13, 5, 1), (0, 5, 1), (3, 0, 1), (3, 5, -1)])
def test_nonsense_is_refused(blade_count, wind_speed, ratio):
    with pytest.raises(OutOfRange):
        curve_of(rotor_of(blade_count=blade_count), wind_speed, np.array([float(ratio)]))


@settings(max_examples=60, deadline=None)
@given(
    blade_count=st.integers(1, 12),
    chord=st.floats(1e-3, 0.15),
    taper=st.floats(0.2, 1.5),
    pitch=st.floats(-15, 75),
    twist=st.floats(-10, 40),
    section=st.integers(0, 3),
    wind_speed=st.floats(1, 12),
)
def test_any_rotor_is_solved_at_every_speed(blade_count, chord, taper, pitch, twist, section, wind_speed):
    shape = rotor_of(
        blade_count=blade_count, chord=chord, taper=taper, pitch=pitch, twist=twist, polar=SECTIONS[section]
    )
    curve = curve_of(shape, wind_speed)
    assert not curve.unresolved.any()
    assert np.isfinite(curve.power).all() and np.isfinite(curve.thrust).all()


@given(exponent=st.floats(0, 50), inflow_angle=st.floats(1e-6, np.pi - 1e-6))
def test_the_loss_factor_from_its_table_is_prandtls(exponent, inflow_angle):
    sine = np.sin(inflow_angle)
    exact = 2 / np.pi * np.arccos(np.exp(-exponent / sine))
    assert rotor_kernel._loss(exponent, sine) == pytest.approx(exact, abs=2e-9)


def test_no_loss_factor_where_it_is_off():
    assert rotor_kernel._loss(-1.0, 0.3) == 1.0
