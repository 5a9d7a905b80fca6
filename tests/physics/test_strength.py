"""Loads and margins of the whole turbine: limits, signs, scaling, and any turbine that a file may describe."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from turbines import example, turbines

from whirlbench.parts.load import Resistor
from whirlbench.parts.tower import Tube
from whirlbench.physics import base
from whirlbench.predict import balance, wind, world
from whirlbench.predict import turbine as whole
from whirlbench.predict.facts import evenly_spaced, facts
from whirlbench.predict.loads import loads, runaway, stability, unloaded
from whirlbench.predict.strength import strength
from whirlbench.value import Value


def predicted(turbine, worlds=None, speed=None):
    speed = speed or wind.disc_speed(turbine.wind, turbine.rotor.radius).number
    assembly = whole.assemble(whole.settled(turbine, speed), worlds or world.best_estimate())
    return assembly, whole.predict(assembly, speed)


def by_name(turbine, **given_):
    assembly, prediction = predicted(turbine, **given_)
    return {margin.name: margin for margin in strength(assembly, (prediction,)).margins}


@pytest.mark.parametrize("name", ["geared", "advanced"])
def test_runaway_is_what_a_load_of_ten_megohm_ends_at(name):
    turbine = example(name)
    assembly, prediction = predicted(turbine)
    _, almost = predicted(turbine.changed(load=Resistor(resistance=1e7)))
    away = loads(assembly, prediction)[1]
    assert away.rotor_speed[0] == pytest.approx(almost.pushed.rotor_speed[0], rel=1e-4)
    assert away.thrust[0] == pytest.approx(almost.pushed.thrust[0], rel=1e-4)
    assert away.rotor_speed[0] > prediction.pushed.rotor_speed[0]


def test_a_rotor_faster_than_its_curve_is_taken_at_the_end_of_it():
    assembly, prediction = predicted(example("geared"))
    driven = replace(prediction.curve, torque=np.abs(prediction.curve.torque) + 1.0)
    spot = runaway(assembly, driven)
    assert spot.turning.all()
    assert spot.of(driven.speed)[0, 0] == pytest.approx(driven.speed[0, 0, -1])


def test_a_rotor_that_friction_holds_everywhere_does_not_run_away():
    assembly, prediction = predicted(example("geared"))
    weak = replace(prediction.curve, torque=0 * prediction.curve.torque)
    assert runaway(assembly, weak).of(weak.speed)[0, 0] == 0


def test_unloaded_asks_for_friction_alone():
    assembly, _ = predicted(example("geared"))
    machine = unloaded(assembly.machine)
    speed = np.array([[10.0, 500.0]])
    np.testing.assert_allclose(machine.torque(speed), machine.friction + machine.viscous * speed)
    assert (
        balance.demand(assembly.train, assembly.machine, speed) > balance.demand(assembly.train, machine, speed)
    ).all()


def test_stability_is_the_worst_of_three_states():
    assembly, prediction = predicted(example("geared"))
    states = loads(assembly, prediction)
    each = [stability(assembly, prediction, (state,)) for state in states]
    worst = stability(assembly, prediction)
    assert worst.sliding[0] == min(one.sliding[0] for one in each)
    assert worst.tipping[0] == min(one.tipping[0] for one in each)
    assert worst.tipping_state == min(each, key=lambda one: one.tipping[0]).tipping_state


def test_the_wind_on_the_tube_counts():
    """Two roads to the tipping moment: thrust at the axis and tube at its middle, summed about the floor."""
    turbine = example("geared")
    assembly, prediction = predicted(turbine)
    stand, (running, *_) = assembly.stand, loads(assembly, prediction)
    tube = 0.5 * assembly.air.density * prediction.wind_speed**2 * stand.outer_diameter * 1.2 * stand.height
    moment = running.thrust[0] * stand.axis_height + tube * (turbine.base.height + stand.height / 2)
    found = stability(assembly, prediction, (running,))
    assert found.tipping[0] == pytest.approx(stand.mass * base.GRAVITY * stand.base_width / 2 / moment)
    assert found.sliding[0] == pytest.approx(stand.grip.number * stand.mass * base.GRAVITY / (running.thrust[0] + tube))


def test_a_held_base_neither_slides_nor_tips():
    turbine = example("geared")
    turbine = turbine.changed(base=turbine.base.changed(held=True))
    assembly, prediction = predicted(turbine)
    own = facts(assembly, prediction)
    assert own.held
    assert math.isinf(own.sliding)
    assert math.isinf(own.tipping)
    names = {margin.name for margin in strength(assembly, (prediction,)).margins}
    assert not names & {"sliding", "tipping"}


def test_facts_are_the_worst_of_the_winds():
    turbine = example("geared")
    assembly, _ = predicted(turbine)
    low, high = (whole.predict(assembly, speed) for speed in (0.6, 5.0))
    weak, strong, both = facts(assembly, low), facts(assembly, high), facts(assembly, low, high)
    assert both == facts(assembly, high, low)
    assert both.voltage == strong.voltage > weak.voltage
    assert both.open_voltage == strong.open_voltage > strong.voltage
    assert (weak.starts, strong.starts, both.starts) == (False, True, False)
    assert both.tipping == strong.tipping < weak.tipping


def test_doubt_lies_on_the_bad_side():
    turbine = example("geared")
    sure, unsure = by_name(turbine), by_name(turbine, worlds=world.draw(whole.priors(turbine), 65))
    for name, margin in unsure.items():
        assert margin.value == pytest.approx(sure[name].value, rel=1e-9, abs=1e-12)
    for name in ("sliding", "tipping", "tower bending", "blade rod, runaway", "tower natural frequency"):
        assert unsure[name].with_doubt < unsure[name].value
    for name in ("tower tilt", "tower tip deflection", "pull on a blade root, runaway", "energy of a thrown blade"):
        assert unsure[name].with_doubt > unsure[name].value
    assert all(margin.with_doubt == pytest.approx(margin.value) for margin in sure.values())


def test_a_rod_of_twice_the_diameter_bends_eight_times_as_well():
    """Bending goes with the cube of the diameter, the pull with its square; weighed blades weigh the same."""
    turbine = example("advanced")
    thin = by_name(turbine)["blade rod, standstill"]
    rod = turbine.rotor.rod.changed(diameter=2 * turbine.rotor.rod.diameter)
    thick = by_name(turbine.changed(rotor=turbine.rotor.changed(rod=rod)))["blade rod, standstill"]
    # the bare rods drag, so the thicker ones carry a little more thrust at rest
    assert 7.5 < thick.value / thin.value < 8.0


def test_a_tube_of_unknown_strength_is_told_but_not_judged():
    turbine = example("geared")
    tube = {"outer_diameter": 0.03, "inner_diameter": 0.02, "modulus": 3e9, "density": 1400.0}
    unknown = by_name(turbine.changed(tower=turbine.tower.changed(tube=Tube(**tube))))
    assert unknown["tower bending stress"].kept is None
    known = by_name(turbine.changed(tower=turbine.tower.changed(tube=Tube(**tube, strength=30e6))))
    assert known["tower bending"].value == pytest.approx(30e6 / unknown["tower bending stress"].value)


def test_a_weak_tube_is_not_strong_enough():
    turbine = example("geared")
    stress = by_name(turbine)["tower bending"]
    outer, inner = 0.04216, 0.03453
    tube = Tube(
        outer_diameter=outer, inner_diameter=inner, modulus=2.9e9, density=1400.0, strength=51e6 * 2.9 / stress.value
    )
    assembly, prediction = predicted(turbine.changed(tower=turbine.tower.changed(tube=tube)))
    found = strength(assembly, (prediction,))
    weak = {margin.name: margin for margin in found.margins}["tower bending"]
    assert weak.value == pytest.approx(2.9, rel=1e-3)
    assert weak.kept is False
    assert not found.holds


def test_a_tower_that_falls_over_is_told():
    turbine = example("geared")
    soft = turbine.tower.changed(joint_stiffness=Value(1.0))
    assembly, prediction = predicted(turbine.changed(tower=soft))
    found = strength(assembly, (prediction,))
    assert "tower stands" in {margin.name for margin in found.margins}
    assert not found.holds


def test_blades_that_reach_the_base_do_not_hold():
    turbine = example("geared")
    low = by_name(turbine.changed(tower=turbine.tower.changed(height=0.24)))["blade tips above the base"]
    assert low.value == pytest.approx(-0.01)
    assert low.kept is False


def test_unequal_holes_shake_and_a_better_set_is_named():
    turbine = example("geared")
    turbine = turbine.changed(rotor=turbine.rotor.changed(holes=(1, 2, 3)))
    assembly, prediction = predicted(turbine)
    found = strength(assembly, (prediction,))
    blade, arm = assembly.blade, abs(1 + np.exp(1j * np.pi / 6) + np.exp(1j * np.pi / 3))
    assert found.balance.imbalance == pytest.approx(blade.mass * blade.mass_radius * arm)
    assert not found.balance.pattern_balances
    assert found.balance.better_holes == (1, 5, 9)
    assert found.balance.shaking_force == pytest.approx(found.balance.imbalance * found.running_speed**2)
    margins = {margin.name: margin for margin in found.margins}
    assert margins["rotor balance"].kept is False
    assert "1, 5, 9" in margins["rotor balance"].note


def test_best_order_and_trim_leave_less_and_less():
    turbine = example("geared")
    rotor = turbine.rotor.changed(holes=(1, 2, 7, 8), weighed=(0.010, 0.012, 0.015, 0.009), mass_radius=0.12)
    assembly, prediction = predicted(turbine.changed(rotor=rotor))
    found = strength(assembly, (prediction,)).balance
    assert sorted(found.best_holes) == [1, 2, 7, 8]
    assert 0 < found.trim_residual < found.best_imbalance < found.imbalance
    # the heaviest faces the next heaviest: opposite holes are six apart
    of = dict(zip(rotor.weighed, found.best_holes, strict=True))
    assert abs(of[0.015] - of[0.012]) in (5, 6, 7)
    spots = np.exp(2j * np.pi * np.array([*found.best_holes, found.trim_hole]) / 12)
    moments = np.array([*(0.12 * mass for mass in rotor.weighed), found.trim_mass * found.trim_radius])
    assert abs(moments @ spots) == pytest.approx(found.trim_residual)


def test_the_rod_by_hand():
    turbine = example("advanced")
    assembly, prediction = predicted(turbine)
    found = {margin.name: margin for margin in strength(assembly, (prediction,)).margins}["blade rod, running"]
    running, hub, arm = prediction.pushed, turbine.rotor.hub.radius, 2 * turbine.rotor.radius / 3
    blade, diameter = assembly.blade, turbine.rotor.rod.diameter
    flap = running.thrust[0] / 3 * (arm - hub)
    edge = running.rotor_torque[0] / 3 * (arm - hub) / arm + blade.mass * 9.80665 * (blade.mass_radius - hub)
    pull = blade.mass * running.rotor_speed[0] ** 2 * blade.mass_radius
    stress = math.hypot(flap, edge) / (math.pi * diameter**3 / 32) + pull / (math.pi * diameter**2 / 4)
    assert found.value == pytest.approx(85e6 / stress, rel=1e-9)


def test_the_foot_of_the_tower_by_hand():
    """Greatest thrust at the top and the wind on the tube at its middle bend the foot; play tilts it as it is."""
    turbine = example("starter")
    assembly, prediction = predicted(turbine)
    stand, found = assembly.stand, {m.name: m for m in strength(assembly, (prediction,)).margins}
    tube = 0.5 * assembly.air.density * prediction.wind_speed**2 * stand.outer_diameter * 1.2
    moment = max(load.thrust[0] for load in loads(assembly, prediction)) * stand.height + tube * stand.height**2 / 2
    stress = moment * stand.outer_diameter / 2 / stand.second_moment
    assert found["tower bending"].value == pytest.approx(51e6 / stress, rel=1e-9)
    firm = by_name(turbine.changed(tower=turbine.tower.changed(free_play=0.0)))["tower tilt"].value
    assert found["tower tilt"].value - firm == pytest.approx(math.radians(1), rel=0.15)  # weight on top adds to it
    assert found["tower tilt"].value - firm > math.radians(1)


def test_shaking_by_hand():
    """The turning force at runaway against what tips the stand sideways."""
    assembly, prediction = predicted(example("advanced"))
    found, stand = strength(assembly, (prediction,)), assembly.stand
    balance_, margin = found.balance, {m.name: m for m in found.margins}["shaking by imbalance, runaway"]
    force = balance_.imbalance * found.runaway_speed**2
    assert balance_.runaway_force == pytest.approx(force)
    assert margin.limit == 1
    assert margin.value == pytest.approx(stand.mass * 9.80665 * stand.base_width / 2 / stand.axis_height / force)


def test_the_nearer_resonance_is_named():
    turbine = example("geared")
    assembly, prediction = predicted(turbine)
    hertz = {m.name: m for m in strength(assembly, (prediction,)).margins}["tower natural frequency"].value
    for blades, shaking in ((1, 60 * hertz), (3, 60 * hertz / 3)):
        speed = 1.1 * shaking * math.pi / 30
        here = replace(prediction.pushed, rotor_speed=np.full(1, speed))
        near = replace(prediction, pushed=here, rest=here)
        met = next(m for m in strength(assembly, (near,)).margins if m.name.startswith("resonance"))
        assert met.value == pytest.approx(0.1, abs=1e-9), blades
        assert met.kept is False
        assert f"shaking is at {shaking:.0f} rpm" in met.note
        assert f"in about {prediction.wind_speed / 1.1:.2g} m/s" in met.note


def test_a_rotor_stuck_slowly_is_looked_at_in_both_states():
    assembly, prediction = predicted(example("advanced"))
    slow = replace(prediction.pushed, rotor_speed=0.2 * prediction.pushed.rotor_speed, voltage=np.full(1, 0.5))
    both = replace(prediction, rest=slow)
    assert facts(assembly, both).voltage == prediction.pushed.voltage[0] > 0.5
    names = [m.name for m in strength(assembly, (both,)).margins if m.name.startswith("resonance")]
    assert len(names) == 2
    assert names[1] == names[0] + " from rest"


@pytest.mark.parametrize(
    ("holes", "count", "even"),
    [((1, 5, 9), 12, True), ((9, 1, 5), 12, True), ((2, 6, 11), 12, False), ((1, 2), 4, False), ((3,), 12, True)],
)
def test_even_steps(holes, count, even):
    assert evenly_spaced(holes, count) is even


@given(turbines())
@settings(max_examples=25)
def test_any_turbine_has_margins_that_make_sense(turbine):
    assembly, prediction = predicted(turbine, worlds=world.draw(whole.priors(turbine), 5))
    own, found = facts(assembly, prediction), strength(assembly, (prediction,))
    numbers = [number for margin in found.margins for number in (margin.value, margin.with_doubt)]
    assert np.isfinite(numbers).all()
    assert min(own.sliding, own.tipping) > 0
    assert found.runaway_speed >= found.running_speed * (1 - 1e-6)
    assert own.open_voltage >= 0
    for margin in found.margins:
        assert (margin.limit is None) <= (not margin.sense)
        if margin.sense == "at least" and margin.decides:
            assert margin.kept is (margin.with_doubt >= margin.limit)
