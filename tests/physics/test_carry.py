"""What one build teaches about the next."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from turbines import example

from whirlbench.advise import carry, kin
from whirlbench.advise.calibrate import calibrate
from whirlbench.advise.goal import beyond
from whirlbench.advise.learn import learn_in_turn
from whirlbench.advise.path import path
from whirlbench.advise.plausible import worlds_after
from whirlbench.advise.score import Scorer, fresh_worlds
from whirlbench.measure.readings import Reading
from whirlbench.parts.load import Resistor
from whirlbench.predict import turbine as whole
from whirlbench.predict import world

SPEED = 4.4


def lesson(turbine, **off):
    """A build whose truth was found to be off by some factors."""
    mean, sigma = np.zeros(len(world.FACTORS)), np.full(len(world.FACTORS), 0.01)
    for name, number in off.items():
        mean[world.FACTORS.index(name)] = np.log(number)
    beliefs = world.Beliefs(mean, np.diag(sigma**2))
    return carry.Lesson(turbine, beliefs, world.draw(beliefs, world.COUNT))


def at(beliefs, name):
    return beliefs.mean[world.FACTORS.index(name)], beliefs.sigma(name)


def test_a_part_that_comes_along_brings_what_was_learned_of_it():
    old = example("starter")
    new = old.changed(load=Resistor(resistance=10.0))
    found = carry.believed([lesson(old, emf=1.1, lift=0.8, wind=0.95)], new)
    for name, factor in (("emf", 1.1), ("lift", 0.8), ("wind", 0.95)):
        assert at(found, name) == pytest.approx((np.log(factor), 0.01))


def test_a_new_part_is_a_stranger_and_an_old_one_is_known_again():
    starter = example("starter")
    bent = starter.changed(rotor=starter.rotor.changed(section=starter.rotor.section.changed(camber=0.06)))
    prior = whole.priors(bent)
    first = lesson(starter, lift=0.8, emf=1.1)
    found = carry.believed([first], bent)
    own = whole.priors(starter).sigma(
        "lift"
    )  # of two sections half the doubt is common, and so half of what is learned
    pull, rest = 0.5 * np.log(0.8) / own, 1 - 0.25 * (1 - (0.01 / own) ** 2)
    assert at(found, "lift") == pytest.approx((prior.sigma("lift") * pull, prior.sigma("lift") * np.sqrt(rest)))
    assert at(found, "emf") == pytest.approx((np.log(1.1), 0.01))
    back = carry.believed([first, lesson(bent, lift=1.2, emf=1.0)], starter)
    assert at(back, "lift") == pytest.approx((np.log(0.8), 0.01))
    assert at(back, "emf") == pytest.approx((0.0, 0.01)), "of two lessons on one part the later one counts"


def test_two_sections_that_fell_short_tell_more_of_a_third_than_one():
    starter = example("starter")
    bent = [
        starter.changed(rotor=starter.rotor.changed(section=starter.rotor.section.changed(camber=camber)))
        for camber in (0.03, 0.06)
    ]
    one, two = [lesson(starter, drag=1.3)], [lesson(starter, drag=1.3), lesson(bent[0], drag=1.3)]
    (less, wide), (more, narrow) = (at(carry.believed(each, bent[1]), "drag") for each in (one, two))
    assert 0 < less < more
    assert narrow < wide < whole.priors(bent[1]).sigma("drag")
    first = world.draw(whole.priors(starter), world.COUNT, lessons=two)
    drawn = fresh_worlds(first, bent[1], ("lift", "drag", "stall"), "third").log_factors[:, world.FACTORS.index("drag")]
    assert drawn.mean() == pytest.approx(more)
    assert drawn.std() == pytest.approx(narrow, rel=0.25)  # of 32 pairs


def test_without_lessons_the_parts_speak():
    turbine = example("geared")
    found, prior = carry.believed([], turbine), whole.priors(turbine)
    assert np.array_equal(found.mean, prior.mean)
    assert np.array_equal(found.covariance, prior.covariance)


def test_a_section_bent_a_little_more_is_the_same_section():
    flat = example("starter").rotor.section
    assert kin.same_section(flat.changed(camber=0.04), flat.changed(camber=0.05))
    assert not kin.same_section(flat.changed(camber=0.04), flat.changed(camber=0.07))
    assert not kin.same_section(flat, flat.changed(camber=0.01))
    assert not kin.same_section(flat, flat.changed(thickness=0.002))


def test_a_move_back_to_known_blades_does_not_draw_them_anew():
    starter = example("starter")
    bent = starter.changed(rotor=starter.rotor.changed(section=starter.rotor.section.changed(camber=0.06)))
    worlds = world.draw(whole.priors(bent), world.COUNT, lessons=[lesson(starter, lift=0.8)])
    place = world.FACTORS.index("lift")
    known, strange = (fresh_worlds(one, starter, ("lift",)) for one in (worlds, replace(worlds, lessons=())))
    assert known.log_factors[:, place].mean() == pytest.approx(np.log(0.8), abs=0.005)
    assert known.log_factors[:, place].std() == pytest.approx(0.01, rel=0.2)
    assert strange.log_factors[:, place].std() > 0.1


def test_builds_read_in_turn_teach_together():
    starter, ohms = example("starter"), (47.0, 22.0)
    truth = np.zeros((1, len(world.FACTORS)))
    truth[0, world.FACTORS.index("emf")] = np.log(1.1)
    earlier = []
    for number in ohms:
        built = starter.changed(load=Resistor(resistance=number))
        state = whole.predict(whole.assemble(built, world.Worlds(truth)), SPEED).rest
        reading = Reading(1, SPEED, number, float(state.voltage[0]), rotor_speed=float(state.rotor_speed[0]))
        earlier.append((built, [reading]))
    one, two = (learn_in_turn(earlier[:count], Scorer()) for count in (1, 2))
    sigmas = [history.lessons[-1].beliefs.sigma("emf") for history in (one, two)]
    assert sigmas[1] < sigmas[0] < whole.priors(starter).sigma("emf")
    mean, sigma = at(two.lessons[-1].beliefs, "emf")
    assert abs(mean - np.log(1.1)) < 2 * sigma
    assert two.in_hand >= one.in_hand > 0


def test_a_turbine_seen_running_is_not_believed_to_crawl():
    geared = whole.settled(example("geared"), SPEED)
    state = whole.predict(whole.assemble(geared, world.best_estimate()), SPEED).rest
    ohms = geared.load.resistance
    readings = [Reading(1, SPEED, ohms, float(state.voltage[0]), rotor_speed=float(state.rotor_speed[0]))]
    fit = calibrate(geared, readings)
    drawn, agreeing = world.draw(fit.beliefs, world.COUNT), worlds_after(fit, geared, readings)
    volts = [whole.predict(whole.assemble(geared, one), SPEED).rest.voltage for one in (drawn, agreeing)]
    assert len(agreeing) == world.COUNT
    assert np.array_equal(agreeing.log_factors[0], drawn.log_factors[0])
    off = [np.abs(np.log(one / volts[0][0])) for one in volts]
    assert off[0].max() > 1.0, "some of the worlds drawn from the fit crawl"
    assert off[1].max() < 0.2


@pytest.mark.parametrize("pushed", [False, True])
def test_a_turbine_seen_to_come_up_by_itself_is_believed_to(pushed):
    # by best estimate it crawls from rest and runs only after a push
    built = example("advanced")
    built = built.changed(load=Resistor(resistance=22.0), rotor=built.rotor.changed(pitch=np.radians(8.0)))
    found = whole.predict(whole.assemble(built, world.best_estimate()), SPEED)
    assert found.rest.power[0] < 0.1 * found.pushed.power[0]
    state = found.pushed
    readings = [Reading(1, SPEED, 22.0, state.voltage[0], rotor_speed=state.rotor_speed[0], pushed=pushed)]
    worlds = worlds_after(calibrate(built, readings), built, readings)
    power = whole.predict(whole.assemble(built, worlds), SPEED).rest.power
    comes = power > 0.7 * state.power[0]
    assert len(worlds) == world.COUNT
    assert comes.all() or pushed
    assert not comes.all() or not pushed


def test_a_push_that_nobody_wrote_down_is_thought_of():
    # no world that is believed lets it come up by itself: then somebody helped
    built = example("advanced")
    built = built.changed(load=Resistor(resistance=22.0), rotor=built.rotor.changed(pitch=np.radians(0.0)))
    state = whole.predict(whole.assemble(built, world.best_estimate()), SPEED).pushed
    readings = [Reading(1, SPEED, 22.0, state.voltage[0], rotor_speed=state.rotor_speed[0])]
    worlds = worlds_after(calibrate(built, readings), built, readings)
    found = whole.predict(whole.assemble(built, worlds), SPEED)
    assert np.median(found.rest.power) < 0.1 * state.power[0]
    assert np.allclose(found.pushed.power, state.power[0], rtol=0.4)


def test_only_what_goes_beyond_the_best_so_far_is_won():
    sure, bold = np.full(65, 1.02), np.where(np.arange(65) % 2, 0.5, 1.4)
    assert beyond(sure) > beyond(bold)
    assert beyond(bold, 1.0) > beyond(sure, 1.0)
    assert beyond(sure, 1e-9) == pytest.approx(beyond(sure), rel=1e-6)
    # half of a scatter of 3 % lies above the mean, on average 0.4 of it
    assert beyond(np.ones(65), 1.0) == pytest.approx(0.03 * 0.3989, rel=1e-3)
    assert beyond(np.zeros(65), 1.0) == pytest.approx(0.0, abs=1e-9)


def test_a_path_that_ends_before_gains_that_may_not_be_had_says_so():
    now = SimpleNamespace(power=np.ones(3))

    def move(gain, may):
        one = SimpleNamespace(mean=gain, chance=1.0, worth=now, move=SimpleNamespace(family=str(gain)))
        return SimpleNamespace(one=one, may=may)

    for offers, steps, noise, held in (
        ([move(0.5, True), move(0.01, True)], 1, True, False),
        ([move(0.5, True), move(0.2, False)], 1, False, True),
        ([move(0.01, True)], 0, True, False),
        ([move(0.3, False)], 0, False, True),
    ):
        left = [each for each in offers if not each.may or each.one.mean < 0.1]
        found = path(now, offers, rank_after=lambda *_, left=left: left, acceptable=lambda each: each.may)
        assert (len(found.steps), found.rest_is_noise, found.held_back) == (steps, noise, held)
