"""Every ailment in an invented turbine that has just that one, and none in a healthy one."""

import functools
import itertools

import numpy as np
import pytest
from turbines import example

from whirlbench.advise.calibrate import calibrate
from whirlbench.advise.match import match
from whirlbench.advise.symptom import symptom, symptoms
from whirlbench.measure.readings import Reading
from whirlbench.parts.generator import MeasuredGenerator
from whirlbench.parts.load import Resistor
from whirlbench.parts.part import build
from whirlbench.parts.tunnel import Tunnel
from whirlbench.predict import turbine as whole
from whirlbench.predict import wind, world
from whirlbench.value import Value


def generator(**changed):
    """A small machine for direct current, like the hand-wound one of the example."""
    usual = {
        "kind": "measured",
        "name": "invented",
        "emf_constant": Value(0.031, 0.002),
        "resistance": Value(7.2, 0.7),
        "friction": Value(1.5e-4, 3e-5),
        "breakaway": Value(2.5e-4, 5e-5),
    }
    return build(MeasuredGenerator, usual | changed)


@functools.cache
def healthy():
    return example("advanced").changed(generator=generator())


def loaded(turbine, ohms):
    return turbine.changed(load=Resistor(resistance=ohms))


def geared(teeth):
    gears, belt = healthy().drivetrain
    return healthy().changed(drivetrain=(gears.changed(generator_teeth=teeth), belt))


def stand(**changed):
    return healthy().changed(base=healthy().base.changed(**changed))


def tower(**changed):
    return healthy().changed(tower=healthy().tower.changed(**changed))


def bare_rods():
    """Short blades at the ends of long thick rods."""
    rotor = healthy().rotor
    shape = rotor.shape.changed(stations=tuple(one for one in rotor.shape.stations if one.radius > 0.14))
    rod = rotor.rod.changed(diameter=0.012, faired=False)
    return loaded(healthy().changed(rotor=rotor.changed(shape=shape, rod=rod, pitch=0.2)), 220.0)


def backwards():
    rotor = healthy().rotor
    return healthy().changed(rotor=rotor.changed(pitch=-rotor.pitch))


def narrow_tunnel():
    part = {"kind": "tunnel", "speed": Value(4.4, 0.1), "width": 0.75, "height": 0.75}
    return healthy().changed(wind=build(Tunnel, part))


AILING = {
    "does not start": lambda: healthy().changed(generator=generator(breakaway=Value(5e-3, 1e-3))),
    "stuck slow": lambda: healthy().changed(generator=generator(viscous=4e-6)),
    "over-geared": lambda: geared(8).changed(generator=generator(viscous=4e-6)),
    "under-geared": lambda: example("geared"),
    "load too heavy": lambda: loaded(healthy(), 2.0),
    "load too light": lambda: loaded(healthy(), 680.0),
    "generator mismatch": lambda: healthy().changed(generator=generator(resistance=Value(100.0, 5.0))),
    "pitch the wrong way": backwards,
    "slides": lambda: stand(mass=0.2, ballast=0.0, friction=Value(0.05, 0.005)),
    "tips over": lambda: stand(mass=0.2, ballast=0.0, width=0.03),
    "leans": lambda: tower(joint_stiffness=Value(3.0, 0.1)),
    "resonance": lambda: tower(height=0.3, joint="clamped"),
    "walls flatter the result": narrow_tunnel,
}


@functools.cache
def disc_wind(turbine):
    return wind.disc_speed(turbine.wind, turbine.rotor.radius).number


@functools.lru_cache(maxsize=64)
def solved(turbine, factors=()):
    """Assembly and prediction of the best estimate, or in the world of a hidden truth."""
    truth = dict(factors)
    worlds = world.Worlds(np.log([[truth.get(name, 1.0) for name in world.FACTORS]]))
    assembly = whole.assemble(turbine, worlds, 20)
    return assembly, whole.predict(assembly, disc_wind(turbine))


def names(turbine, **told):
    return [one.name for one in symptoms(*solved(turbine), **told)]


@pytest.mark.parametrize("ailment", AILING)
def test_each_ailment_is_named_first(ailment):
    found = symptoms(*solved(AILING[ailment]()))
    assert found[0].name == ailment
    assert found[0].sentence and found[0].evidence
    if ailment != "resonance":
        assert found[0].severity_W > 0


def test_bare_rods_are_named():
    assert "drag of bare rods" in names(bare_rods(), pushed=True)[:2]


def test_a_healthy_turbine_runs_well():
    for turbine in (healthy(), example("advanced")):
        assert names(turbine) == ["runs well"]
        assert names(turbine, pushed=True) == ["runs well"]


def test_the_plain_finding_still_speaks():
    _, found = solved(healthy())
    assert symptom(found, found.rest).name == "runs well"
    _, found = solved(AILING["does not start"]())
    assert symptom(found, found.rest).name == "does not start"


def test_watts_at_stake_put_the_rest_in_order():
    for ailment in AILING:
        stakes = [one.severity_W for one in symptoms(*solved(AILING[ailment]()))[1:] if one.severity_W is not None]
        assert all(a >= b for a, b in itertools.pairwise(stakes)), ailment


def test_the_match_is_what_the_whole_prediction_gives():
    """Two roads: the table of chains, and a turbine built with that resistor and predicted in full."""
    turbine = loaded(healthy(), 680.0)
    found = match(*solved(turbine))
    assert found.power == pytest.approx(float(solved(turbine)[1].rest.power[0]), rel=5e-3)
    better = loaded(turbine, found.resistance)
    assert found.by_load == pytest.approx(float(solved(better)[1].rest.power[0]), rel=5e-3)
    for other in (found.resistance / 1.3, found.resistance * 1.3):
        assert float(solved(loaded(turbine, other))[1].rest.power[0]) < 1.01 * found.by_load
    assert found.by_both >= max(found.by_load, found.by_ratio) >= found.power


def test_the_better_ratio_is_what_such_gears_give():
    """The ratio found, built from the same pair of gears in other sizes, gives about the power promised."""
    turbine = example("geared")
    assembly, prediction = solved(turbine)
    found = match(assembly, prediction)
    pair = turbine.drivetrain[0]
    teeth = round(pair.generator_teeth * found.ratio)
    built = turbine.changed(drivetrain=(pair.changed(rotor_teeth=teeth),))
    assert float(solved(built)[1].rest.power[0]) == pytest.approx(found.by_ratio, rel=0.05)  # other teeth rub otherwise


def test_over_geared_and_load_too_heavy_are_told_apart():
    """Both turn far too slowly: one is freed by a resistor, the other is not."""
    heavy, over = (match(*solved(AILING[name]())) for name in ("load too heavy", "over-geared"))
    assert heavy.by_load > 0.8 * heavy.by_both and heavy.resistance > 2.0
    assert over.by_load < 0.1 * over.by_both and over.ratio < 15


# what only readings can tell


@functools.cache
def read(**truth):
    """Readings that the healthy turbine would give if these factors were true, at three winds and four loads."""
    rows = []
    for i, (speed, ohms) in enumerate(itertools.product((3.6, 4.4, 5.0), (22.0, 47.0, 100.0, 330.0)), start=2):
        built = loaded(healthy(), ohms)
        worlds = world.Worlds(np.log([[truth.get(name, 1.0) for name in world.FACTORS]]))
        state = whole.predict(whole.assemble(built, worlds, 20), speed).pushed
        volts, turn = float(state.voltage[0]), float(state.rotor_speed[0])
        rows.append(Reading(i, speed, ohms, voltage=volts, rotor_speed=turn, pushed=True))
    return tuple(rows)


def learned(readings):
    """Symptoms as believed after the readings."""
    fit = calibrate(healthy(), readings)
    assembly = whole.assemble(healthy(), world.best_estimate(fit.beliefs), 20)
    prediction = whole.predict(assembly, disc_wind(healthy()))
    return symptoms(assembly, prediction, readings=readings, fit=fit, pushed=True)  # as it was read


def test_wind_weaker_than_believed_shows_in_the_readings():
    found = learned(read(wind=0.85))
    assert "wind weaker than believed" in [one.name for one in found[:2]]


def test_a_generator_other_than_its_label_shows_in_the_readings():
    found = learned(read(resistance=1.7, emf=0.85))
    assert "generator mismatch" in [one.name for one in found[:2]]


def test_readings_that_agree_find_nothing():
    assert [one.name for one in learned(read())] == ["runs well"]


def test_a_rotor_seen_at_rest_does_not_start_whatever_the_model_says():
    speed = disc_wind(healthy())
    still = (Reading(7, speed, 68.0, voltage=0.0, rotor_speed=0.0),)
    found = symptoms(*solved(healthy()), readings=still)
    assert found[0].name == "does not start" and "Line 7" in found[0].evidence
    weaker = (Reading(7, 0.5 * speed, 68.0, voltage=0.0, rotor_speed=0.0),)  # at rest in half the wind says nothing
    shorted = (Reading(7, speed, 0.0, voltage=0.0),)  # no volts across a short say nothing
    open_lead = (Reading(7, speed, 68.0, voltage=0.0, rotor_speed=30.0),)
    for readings in (weaker, shorted, open_lead):
        assert names(healthy(), readings=readings) == ["runs well"]
