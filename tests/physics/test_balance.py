"""The balance by a second road: scaling, gears that do nothing, the start in time, walls."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from turbines import BUILDS, example

from whirlbench.parts.tunnel import OpenAir, Tunnel
from whirlbench.physics.rotor_kernel import STARTING
from whirlbench.predict import balance, blades, world
from whirlbench.predict import turbine as whole
from whirlbench.predict.curve import TIP_SPEED_RATIOS, met_curve, rotor_worlds
from whirlbench.predict.drivetrain import StageNumbers, Train
from whirlbench.predict.operating import operating
from whirlbench.predict.spin_up import spin_up
from whirlbench.predict.wind import AirData, disc_speed
from whirlbench.value import Value

ONE = world.best_estimate()


def assembled(name):
    return whole.assemble(example(name), ONE)


def upright(assembly):
    """The assembly's stand without any give, so that nothing leans."""
    return replace(assembly.stand, bending_stiffness=1e30, joint=Value(1e30), free_play=0.0)


def curve_in(assembly, air, wind_speed, blockage=0.0):
    rotor = rotor_worlds(assembly.shape, wind_speed, air, ONE)
    return met_curve(rotor, air, stand=upright(assembly), worlds=ONE, blockage=blockage)


@pytest.mark.parametrize("name", BUILDS)
def test_twice_the_density_gives_twice_the_torque_and_thrust(name):
    assembly = assembled(name)
    # twice the viscosity too, or the Reynolds numbers would change the sections
    single, double = (curve_in(assembly, AirData(k * 1.2, k * 1.8e-5), 5.0) for k in (1, 2))
    for part in ("torque", "thrust", "standstill", "blade_drag", "rod_drag"):
        assert getattr(double, part) == pytest.approx(2 * getattr(single, part), rel=1e-12), part
    assert double.speed == pytest.approx(single.speed)


@pytest.mark.parametrize("name", BUILDS)
def test_at_equal_reynolds_number_twice_the_wind_gives_four_times_the_torque(name):
    assembly = assembled(name)
    slow, fast = (curve_in(assembly, AirData(1.2, k * 1.8e-5), k * 4.0) for k in (1, 2))
    assert fast.torque == pytest.approx(4 * slow.torque, rel=1e-12)
    assert fast.speed == pytest.approx(2 * slow.speed)


@pytest.mark.parametrize("name", BUILDS)
def test_a_frictionless_pair_of_equal_wheels_changes_nothing(name):
    assembly = assembled(name)
    found = whole.predict(assembly, 5.0)
    one, none = np.ones((1, 1)), np.zeros((1, 1))
    idle = StageNumbers("idle", 1.0, one, one, none, none)
    bare, train = (Train(stages, none, none) for stages in ((), (idle, idle)))
    states = [
        operating(found.curve, balance.fastest(found.curve, drive, assembly.machine), drive, assembly.machine)
        for drive in (bare, train)
    ]
    assert states[0].power[0] > 0
    assert states[1].rotor_speed == pytest.approx(states[0].rotor_speed, rel=1e-12)
    assert states[1].power == pytest.approx(states[0].power, rel=1e-12)
    assert train.breakaway(one) == pytest.approx(bare.breakaway(one))


def test_a_stage_takes_its_share_of_the_power():
    half, friction, none = np.full((1, 1), 0.5), np.full((1, 1), 0.01), np.zeros((1, 1))
    train = Train((StageNumbers("a", 3.0, half, half, friction, 2 * friction),), none, none)
    # by hand: (0.02 + 0.01) at the fast shaft, three times that at the slow one, and half of it lost on the way
    assert train.upstream(np.full((1, 1), 0.02)) == pytest.approx(0.03 * 3 / 0.5)
    assert train.breakaway(np.full((1, 1), 0.02)) == pytest.approx(0.04 * 3 / 0.5)
    assert train.step_up == 3.0


# --- start ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BUILDS)
def test_the_start_wind_is_where_starting_flips(name):
    assembly = assembled(name)
    wind = 4.0
    for _ in range(6):  # its own Reynolds numbers
        wind = whole.start_wind(assembly, whole.predict(assembly, wind))[0]
    assert not whole.predict(assembly, 0.995 * wind).starts[0]
    assert whole.predict(assembly, 1.005 * wind).starts[0]


@pytest.mark.parametrize("name", BUILDS)
def test_the_start_wind_of_the_first_guess_is_near(name):
    assembly = assembled(name)
    guess = whole.start_wind(assembly, whole.predict(assembly, 4.0))[0]
    assert whole.start_wind(assembly, whole.predict(assembly, guess))[0] == pytest.approx(guess, rel=0.1)


@pytest.mark.parametrize("speed", [3.0, 4.5, 8.0])
@pytest.mark.parametrize("name", BUILDS)
def test_the_start_in_time_agrees_with_a_general_integrator(name, speed):
    assembly = assembled(name)
    found = whole.predict(assembly, speed)
    end = found.rest.rotor_speed[0]
    assert end > 0
    nodes, torque = found.curve.speed[STARTING, 0], found.curve.torque[STARTING, 0]

    def motion(_, state):
        turning = np.array([[state[0]]])
        asked = balance.demand(assembly.train, assembly.machine, turning)[0, 0]
        power = assembly.machine.electrical(turning * assembly.train.step_up).load_power[0, 0]
        return [(np.interp(state[0], nodes, torque) - asked) / assembly.inertia, power]

    def nearly(_, state):
        return state[0] - 0.9 * end

    window = 1.5 * spin_up(assembly, found, 3600.0).time_to_90
    outside = solve_ivp(motion, (0, window), [0.0, 0.0], events=nearly, rtol=1e-7, atol=1e-10, method="LSODA")
    mine = spin_up(assembly, found, window)
    assert mine.time_to_90 == pytest.approx(outside.t_events[0][0], rel=0.005)
    assert mine.energy == pytest.approx(outside.y[1, -1], rel=0.01)
    assert mine.rotor_speed[-1] == pytest.approx(outside.y[0, -1], rel=0.005)


def test_the_energy_of_a_long_window_is_the_steady_power():
    assembly = assembled("starter")
    found = whole.predict(assembly, 5.0)
    hour = spin_up(assembly, found, 3600.0)
    assert hour.energy == pytest.approx(3600 * found.rest.power[0], rel=0.01)
    assert (np.diff(hour.time) >= 0).all()
    assert (np.diff(hour.rotor_speed) >= -1e-12).all()


def test_what_does_not_start_gathers_nothing():
    assembly = assembled("starter")
    found = whole.predict(assembly, 0.5)
    still = spin_up(assembly, found, 60.0)
    assert still.energy == 0
    assert np.isinf(still.time_to_90)


def test_twice_the_inertia_takes_twice_the_time():
    assembly = assembled("geared")
    found = whole.predict(assembly, 5.0)
    heavy = replace(assembly, inertia=2 * assembly.inertia)
    once, twice = (spin_up(one, found, 60.0).time_to_90 for one in (assembly, heavy))
    assert twice == pytest.approx(2 * once)


def test_a_generator_counts_by_the_square_of_the_gears():
    turbine = example("geared")
    assembly = whole.assemble(turbine, ONE)
    direct = whole.assemble(turbine.changed(drivetrain=()), ONE)
    share = direct.inertia - blades.rotor_inertia(turbine.rotor)
    assert assembly.inertia - blades.rotor_inertia(turbine.rotor) == pytest.approx(16 * share)


def test_inertia_of_hub_and_blades_by_hand():
    rotor = example("starter").rotor
    one = blades.blade_mass(rotor).inertia
    disc = 0.5 * 0.040 * 0.025**2  # the hub of the example: 40 g, 25 mm
    assert blades.rotor_inertia(rotor) == pytest.approx(3 * one + disc, rel=1e-12)
    # a plain card of 50 x 184 mm and 1 mm from 70 mm outward, about the axis: w t rho (R^3 - r^3) / 3
    card = blades.blade_mass(rotor.changed(rod=None))
    density = card.mass / (0.050 * 0.184 * 0.001)
    assert card.inertia == pytest.approx(0.050 * 0.001 * density * (0.254**3 - 0.070**3) / 3, rel=1e-3)
    assert card.mass_radius == pytest.approx((0.254 + 0.070) / 2, rel=1e-9)


# --- walls ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.05, 0.2, 0.4])
@pytest.mark.parametrize("name", BUILDS)
def test_on_the_free_air_speed_a_tunnel_changes_no_coefficient(name, share):
    assembly = assembled(name)
    free, walled = (curve_in(assembly, assembly.air, 5.0, blockage) for blockage in (0.0, share))
    assert (walled.free_speed >= free.free_speed * (1 - 1e-12)).all()
    assert walled.free_speed.max() > 1.001 * free.free_speed.max()
    for part, power in (("torque", 2), ("thrust", 2), ("blade_drag", 2)):
        coefficients = [getattr(curve, part) / curve.free_speed**power for curve in (free, walled)]
        assert coefficients[1] == pytest.approx(coefficients[0], rel=1e-12)
    assert walled.speed / walled.free_speed == pytest.approx(free.speed / free.free_speed)
    assert walled.speed[0, 0] / walled.free_speed[0, 0] == pytest.approx(TIP_SPEED_RATIOS / walled.rotor_radius)


@pytest.mark.parametrize("measured", ["empty section", "beside the rotor"])
@pytest.mark.parametrize("name", BUILDS)
def test_a_turbine_in_a_tunnel_does_what_it_does_in_the_free_wind_that_loads_it_alike(name, measured):
    turbine = example(name)
    walls = Tunnel(speed=Value(4.0), width=0.9, height=0.9, measured=measured, flow="turbulent")
    open_air = OpenAir(speed=Value(4.0), flow="turbulent")
    inside = whole.predict(whole.assemble(turbine.changed(wind=walls), ONE), 4.0)
    free = float(inside.free_air_speed[0])
    outside = whole.predict(whole.assemble(turbine.changed(wind=open_air), ONE), free)
    assert free > 4.0 if measured == "empty section" else free == pytest.approx(4.0, rel=0.05)
    # the sections see the Reynolds numbers of the empty section's speed inside, of the free speed outside
    assert inside.rest.power_coefficient == pytest.approx(outside.rest.power_coefficient, rel=0.03)
    assert inside.rest.power == pytest.approx(outside.rest.power, rel=0.05)
    assert inside.rest.wind_power == pytest.approx(outside.rest.wind_power, rel=1e-9)


def test_wind_over_the_disc_is_as_given_or_the_cube_mean_of_the_map():
    turbine = example("starter")
    assert disc_speed(OpenAir(speed=Value(4.0, 0.1)), 0.25) == Value(4.0, 0.1)
    assert disc_speed(OpenAir(speed=Value(4.0)), 0.25).sigma == pytest.approx(0.2)
    even = turbine.wind.changed(rings=(4.0, 4.0, 4.0, 4.0))
    assert disc_speed(even, turbine.rotor.radius).number == pytest.approx(4.0)
    assert 3.6 < disc_speed(turbine.wind, turbine.rotor.radius).number < 4.6


def test_a_blade_that_balances_further_out_is_harder_to_spin_up():
    rotor = example("starter").rotor
    even = blades.blade_mass(rotor)
    told = blades.blade_mass(rotor.changed(mass_radius=even.mass_radius))
    assert told.inertia == pytest.approx(even.inertia)
    further = blades.blade_mass(rotor.changed(mass_radius=1.1 * even.mass_radius))
    assert further.inertia == pytest.approx(1.1**2 * even.inertia)
