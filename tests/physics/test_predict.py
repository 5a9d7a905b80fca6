"""Whole turbines, drawn from all that a file may describe: what must hold for every one of them."""

import math

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from turbines import BUILDS, example, turbines

from whirlbench.errors import WhirlbenchError
from whirlbench.parts.load import FreeLoad, Resistor
from whirlbench.parts.tunnel import OpenAir
from whirlbench.physics.rotor_kernel import RUNNING, STARTING
from whirlbench.predict import balance, wind, world
from whirlbench.predict import turbine as whole
from whirlbench.value import Value

# a smaller turbine tells no more than the one that fails, and looking for it takes minutes
WHOLE = {"phases": [Phase.explicit, Phase.generate], "report_multiple_bugs": False}


def predicted(turbine, wind_speed=None, count=5):
    """Assembly and prediction in a few believed worlds."""
    speed = wind_speed or wind.disc_speed(turbine.wind, turbine.rotor.radius).number
    assembly = whole.assemble(turbine, world.draw(whole.priors(turbine), count))
    return assembly, whole.predict(assembly, speed)


def states(prediction):
    return (prediction.rest, prediction.pushed)


@settings(max_examples=200, **WHOLE)
@given(turbines())
def test_any_turbine_keeps_the_books(turbine):
    assembly, found = predicted(turbine)
    for state in states(found):
        the_path_sums_to_the_wind(state)
        the_torques_balance(found, state)
        the_numbers_fit_together(assembly, state)
    the_start_comes_before_the_push(found)
    the_curve_is_sound(assembly, found)


def the_path_sums_to_the_wind(state):
    assert sum(state.path.values()) == pytest.approx(state.wind_power, rel=1e-9)
    for part, power in state.path.items():
        assert (power >= -1e-12 * state.wind_power).all(), part


def the_torques_balance(found, state):
    scale = np.abs(found.curve.torque).max() * np.abs(state.rotor_speed)
    shaft = state.rotor_torque * state.rotor_speed
    downstream = sum(power for part, power in state.path.items() if part not in ("tower", "wake", "blades", "rods"))
    assert (np.abs(shaft - downstream) <= 1e-9 * scale + 1e-300).all()
    assert (np.abs(state.imbalance * state.rotor_torque * state.rotor_speed) <= 1e-9 * scale + 1e-300).all()


def the_numbers_fit_together(assembly, state):
    finite = [value for name, value in vars(state).items() if name != "path"]
    assert all(np.isfinite(value).all() for value in [*finite, *state.path.values()])
    assert (state.rotor_speed[~state.turning] == 0).all()
    assert (state.power[~state.turning] == 0).all()
    assert (state.rotor_speed >= 0).all()
    assert state.generator_speed == pytest.approx(state.rotor_speed * assembly.train.step_up)
    assert state.power == pytest.approx(state.path["load"])
    area = np.pi * assembly.shape.radius**2
    free_speed = np.cbrt(2 * state.wind_power / (assembly.air.density * area))
    assert state.thrust == pytest.approx(state.thrust_coefficient * state.wind_power / free_speed)
    assert state.tip_speed_ratio == pytest.approx(state.rotor_speed * assembly.shape.radius / free_speed)
    assert state.power_coefficient == pytest.approx(state.rotor_torque * state.rotor_speed / state.wind_power)
    upright = np.cos(state.tilt) ** 3 * state.wind_power
    assert state.wind_power - state.path["tower"] == pytest.approx(upright, rel=1e-6)
    assert (assembly.machine.breakaway >= assembly.machine.friction).all()  # at rest it grips at least as hard
    assert (state.power_coefficient <= 16 / 27 + 0.03).all()  # drag and swirl in a numerical balance: a little grace
    assert ((state.tilt >= 0) & (state.tilt <= 0.4500001)).all()


def the_start_comes_before_the_push(found):
    assert (found.rest.rotor_speed <= found.pushed.rotor_speed).all()
    assert (found.starts | ~found.rest.turning).all()
    assert (found.breakaway > 0).all()
    assert found.state in ("running", "slow", "needs a push", "stopped")
    assert (found.state in ("running", "slow")) == bool(found.rest.turning[0])


def the_curve_is_sound(assembly, found):
    curve = found.curve
    assert (np.diff(curve.speed, axis=-1) > 0).all()
    assert (curve.rod_drag >= 0).all()
    asked = balance.demand(assembly.train, assembly.machine, curve.speed)
    assert (asked >= 0).all()
    assert (curve.torque[:, :, -1] < asked[:, :, -1]).all()  # no rotor runs off the end of its curve
    for torque in (curve.torque, curve.standstill):
        assert np.isfinite(torque).all()


@settings(max_examples=40, **WHOLE)
@given(turbines(), st.floats(0.5, 15))
def test_every_equilibrium_is_found(turbine, wind_speed):
    assembly = whole.assemble(turbine, world.best_estimate())
    found = whole.predict(assembly, wind_speed)
    listed = balance.equilibria(found.curve, assembly.train, assembly.machine)
    for branch in (RUNNING, STARTING):
        mine = [(speed, stable) for one, speed, stable in listed if one == branch]
        assert mine == sorted(mine)
        node = np.arange(found.curve.speed.shape[-1])
        fine = np.linspace(0, node[-1], 50 * node[-1] + 1)
        speed = np.interp(fine, node, found.curve.speed[branch, 0])
        torque = np.interp(fine, node, found.curve.torque[branch, 0])
        surplus = torque - balance.demand(assembly.train, assembly.machine, speed[None, :])[0]
        crossings = np.nonzero((surplus[:-1] > 0) != (surplus[1:] > 0))[0]
        assert len(crossings) == len(mine)
        for cell, (place, stable) in zip(crossings, mine, strict=True):
            assert speed[cell] - 1e-9 <= place <= speed[cell + 1] + 1e-9
            assert stable == (surplus[cell] > 0)


@settings(max_examples=40, **WHOLE)
@given(turbines())
def test_an_equilibrium_from_rest_is_the_first_one_and_the_fastest_is_the_last(turbine):
    assembly = whole.assemble(turbine, world.best_estimate())
    found = whole.predict(assembly, 8.0)
    listed = balance.equilibria(found.curve, assembly.train, assembly.machine)
    if found.rest.turning[0]:
        first = next(speed for branch, speed, stable in listed if branch == STARTING and stable)
        assert found.rest.rotor_speed[0] == pytest.approx(first, rel=1e-9)
    running = [speed for branch, speed, stable in listed if branch == RUNNING and stable]
    fastest = max([found.rest.rotor_speed[0], *running])
    assert found.pushed.rotor_speed[0] == pytest.approx(fastest, rel=1e-9)


# --- limits ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BUILDS)
def test_an_open_circuit_gives_no_power_and_full_voltage(name):
    turbine = example(name).changed(load=Resistor(resistance=1e7))
    _, found = predicted(turbine)
    loaded = predicted(example(name))[1]
    for state in states(found):
        assert (state.power <= state.emf**2 / 1e7).all()
        assert (state.current <= state.emf / 1e7).all()
    assert found.pushed.rotor_speed[0] > loaded.pushed.rotor_speed[0]
    if turbine.generator.kind == "catalogue":
        assert found.pushed.voltage == pytest.approx(found.pushed.emf, rel=1e-5)


@pytest.mark.parametrize("name", BUILDS)
def test_a_short_circuit_gives_the_load_nothing_and_brakes_most(name):
    turbine = example(name)
    shorted_turbine = turbine.changed(load=Resistor(resistance=0.0))
    found, loaded = predicted(shorted_turbine)[1], predicted(turbine)[1]
    for state in states(found):
        assert (state.voltage <= 1e-12 * state.emf).all()  # rounding of a peak less its diodes
        assert (state.power <= 1e-12 * state.wind_power).all()
    assert found.pushed.rotor_speed[0] < loaded.pushed.rotor_speed[0]
    shorted, driven = (predicted(one)[0].machine for one in (shorted_turbine, turbine))
    speed = loaded.pushed.generator_speed[0]
    assert (shorted.torque(speed) > driven.torque(speed)).all()
    assert (shorted.electrical(speed).current > driven.electrical(speed).current).all()


@pytest.mark.parametrize("name", BUILDS)
def test_endless_friction_stops_it(name):
    turbine = example(name)
    turbine = turbine.changed(bearing=turbine.bearing.changed(kind="measured", friction=Value(10.0)))
    _, found = predicted(turbine, 8.0)
    assert found.state == "stopped"
    assert not found.starts.any()
    for state in states(found):
        assert (state.rotor_speed == 0).all()
        assert (state.power == 0).all()
        assert state.path["wake"] + state.path["tower"] == pytest.approx(state.wind_power)


@pytest.mark.parametrize("name", BUILDS)
def test_a_breath_of_wind_starts_nothing_and_a_lighter_one_is_refused(name):
    _, found = predicted(example(name), 0.3)
    assert not found.starts[0]
    assert found.rest.power[0] == 0
    with pytest.raises(WhirlbenchError, match="wind speed"):
        predicted(example(name), 0.05)


def test_one_blade_and_twelve_wide_ones():
    turbine = example("geared")
    rotor = turbine.rotor
    one = predicted(turbine.changed(rotor=rotor.changed(holes=(1,))))[1]
    wide = rotor.shape.changed(root_chord=0.2, tip_chord=0.2)
    twelve = predicted(turbine.changed(rotor=rotor.changed(holes=tuple(range(1, 13)), shape=wide)))[1]
    three = predicted(turbine)[1]
    assert one.standstill[0] == pytest.approx(three.standstill[0] / 3, rel=0.01)  # the lean alone differs
    assert twelve.standstill[0] > three.standstill[0]
    assert twelve.pushed.rotor_speed[0] < three.pushed.rotor_speed[0]  # many wide blades turn slowly


def test_a_blade_of_one_millimetre_does_next_to_nothing():
    turbine = example("advanced")
    stations = tuple(one.changed(chord=0.001) for one in turbine.rotor.shape.stations)
    thin = turbine.changed(rotor=turbine.rotor.changed(shape=turbine.rotor.shape.changed(stations=stations)))
    _, found = predicted(thin)
    whole_rotor = predicted(turbine)[1]
    assert found.standstill[0] < 0.05 * whole_rotor.standstill[0]
    assert found.state == "stopped"


def test_a_narrow_smooth_blade_with_nothing_to_drive_runs_fast_instead_of_being_called_stopped():
    turbine = example("advanced")
    shape = turbine.rotor.shape
    narrow = shape.changed(stations=tuple(one.changed(chord=0.012, twist=0.0) for one in shape.stations))
    rotor = turbine.rotor.changed(holes=(1,), pitch=0.0, rod=None, weighed=(), shape=narrow)
    turbine = turbine.changed(
        rotor=rotor, drivetrain=(), load=Resistor(resistance=1e7), wind=OpenAir(speed=Value(14.0))
    )
    friction = {"friction": Value(1e-6), "breakaway": Value(1e-6)}
    turbine = turbine.changed(generator=turbine.generator.changed(**friction))
    found = predicted(turbine)[1]
    assert found.pushed.turning.all()
    assert found.pushed.tip_speed_ratio[0] > 16  # no curve may end before


def test_blades_pitched_the_wrong_way_do_not_start():
    turbine = example("starter")
    backwards = turbine.changed(rotor=turbine.rotor.changed(pitch=-math.radians(35)))
    assembly, found = predicted(backwards)
    assert found.standstill[0] < 0
    assert not found.starts.any()
    assert np.isinf(whole.start_wind(assembly, found)).all()


@pytest.mark.parametrize("name", BUILDS)
def test_more_wind_never_gives_less(name):
    turbine = example(name)
    assembly = whole.assemble(turbine, world.best_estimate())
    power = [whole.predict(assembly, speed).pushed.power[0] for speed in np.arange(2, 12.1, 0.5)]
    assert (np.diff(power) >= 0).all()


def test_a_settled_load_beats_its_neighbours():
    turbine = example("geared")
    settled = whole.settled(turbine.changed(load=FreeLoad()), 4.5)
    assert settled.load.kind == "resistor"
    best = best_power(settled)
    for other in (10.0, 15.0, 22.0, 33.0, 47.0):
        assert best >= best_power(turbine.changed(load=Resistor(resistance=other)))
    assert whole.settled(turbine, 4.5) is turbine


def best_power(turbine):
    assembly = whole.assemble(turbine, world.best_estimate())
    return whole.predict(assembly, 4.5).rest.power[0]
