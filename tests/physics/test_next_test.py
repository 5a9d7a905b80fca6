"""What a measurement is worth: never less than nothing, nothing where nothing hangs on it, and exact where known."""

import functools
import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from turbines import example

from whirlbench.advise import next_test as tests
from whirlbench.advise.bench_tests import BenchTest, bench_tests
from whirlbench.advise.information import information, perfect
from whirlbench.advise.move import Move
from whirlbench.advise.rank import valued
from whirlbench.advise.score import Scorer
from whirlbench.parts.load import Resistor
from whirlbench.physics import base
from whirlbench.predict import turbine as whole
from whirlbench.predict import world

RESISTORS = [4.7, 10.0, 22.0, 47.0, 100.0, 220.0]


def grid(points=8):
    """Two factors that know nothing of each other, every pair of their values once."""
    one, other = np.meshgrid(np.linspace(-1, 1, points), np.linspace(-1, 1, points))
    return one.ravel(), other.ravel()


def choices(*gains):
    return np.column_stack([*gains, np.zeros(len(gains[0]))])


def test_a_perfect_test_of_the_deciding_factor_is_worth_what_the_hand_says():
    """Half of the worlds are good for the first move (3 W against 0 W), half for the second (1 W against 2 W).

    Now the first gives 2.0 W and the second 1.0 W on average; knowing, one takes 3 and 2: 2.5 W, so 0.5 W more.
    """
    good = np.repeat([0.0, 1.0], 32)
    gains = choices(np.where(good, 3.0, 1.0), np.where(good, 0.0, 2.0))
    found = information(good[:, None], [0.0], gains)
    assert found.value == pytest.approx(0.5, rel=1e-9)
    assert perfect(gains) == pytest.approx(0.5, rel=1e-9)


def test_to_leave_it_is_a_choice():
    """A gamble of +1 or -3 W is left alone; knowing takes it half of the time: 0.5 W."""
    good = np.repeat([0.0, 1.0], 20)
    gains = choices(np.where(good, 1.0, -3.0))
    assert information(good[:, None], [0.0], gains).value == pytest.approx(0.5, rel=1e-9)


def test_a_factor_on_which_nothing_depends_is_worth_nothing():
    deciding, idle = grid()
    gains = choices(deciding, -deciding)
    assert information(deciding[:, None], [0.1], gains).value > 0.3
    for doubt in (0.0, 0.1, 1.0):
        assert information(idle[:, None], [doubt], gains).value == pytest.approx(0.0, abs=1e-12)


def test_chance_agreement_of_few_worlds_is_not_taken_for_knowledge():
    """Random readings of 65 random worlds: what is left of chance stays small beside what knowing all is worth."""
    rng = np.random.default_rng(5)
    gains = choices(*rng.standard_normal((3, 65)))
    idle = [information(reading[:, None], [0.3], gains).value for reading in rng.standard_normal((100, 65))]
    assert np.mean(idle) < 0.05 * perfect(gains)
    naive = rng.standard_normal(65)
    weights = np.exp(-0.5 * ((naive[:, None] - naive) / 0.3) ** 2)
    means = (weights / weights.sum(axis=1, keepdims=True)) @ gains
    assert means.max(axis=1).mean() - gains.mean(axis=0).max() > 3 * np.mean(idle)  # without that care


@given(st.integers(0, 10**6), st.floats(0, 3), st.integers(1, 3))
@settings(max_examples=60, deadline=None)
def test_knowledge_is_never_worth_less_than_nothing(seed, doubt, count):
    rng = np.random.default_rng(seed)
    predicted, gains = rng.standard_normal((33, count)), choices(*rng.standard_normal((4, 33)))
    found = information(predicted, np.full(count, doubt), gains)
    assert found.value >= -1e-12


@given(st.floats(-1, 1), st.floats(0.2, 3))
@settings(max_examples=40, deadline=None)
def test_a_sharper_reading_is_worth_at_least_as_much(level, slope):
    deciding, other = grid(16)
    gains = choices(level + slope * deciding + other, 0.3 - deciding)
    values = [information(deciding[:, None], [doubt], gains).value for doubt in (0.05, 0.2, 0.5, 1.0, 3.0)]
    assert all(sharp >= blunt - 2e-3 * slope for sharp, blunt in itertools.pairwise(values))
    assert values[0] <= perfect(gains) + 1e-9


def test_a_linear_gain_read_with_normal_doubt_agrees_with_the_closed_form():
    """Gain x of unit spread against nothing, read with doubt s: E[max(0, E[x|y])] = 1/sqrt(2 pi (1 + s^2))."""
    from scipy.stats import norm

    x = norm.ppf((np.arange(400) + 0.5) / 400)
    for doubt in (0.3, 1.0):
        exact = 1 / np.sqrt(2 * np.pi * (1 + doubt**2))
        assert information(x[:, None], [doubt], choices(x)).value == pytest.approx(exact, rel=0.02)  # 16 draws


def test_two_instruments_know_at_least_as_much_as_one():
    deciding, other = grid(12)
    gains = choices(deciding + other, -deciding)
    both = information(np.column_stack([deciding, other]), [0.2, 0.2], gains).value
    alone = information(deciding[:, None], [0.2], gains).value
    assert both > alone


@functools.cache
def geared():
    """The geared example in its worlds, and two moves that may be made."""
    turbine = example("geared")
    scorer, worlds = Scorer(), world.draw(whole.priors(turbine), world.COUNT)
    now = scorer.worth(turbine, worlds)
    moves = [
        Move(name, "load", name, "", "", turbine.changed(load=Resistor(resistance=ohms)), "load")
        for name, ohms in (("load 47", 47.0), ("load 15", 15.0))
    ]
    ranked = sorted((valued(scorer, now, move, worlds) for move in moves), key=lambda one: -one.mean)
    return ranked, worlds, now


def made_up(gains):
    """The two moves with gains of our own making."""
    ranked, worlds, now = geared()
    made = [
        replace(one, gain=gain, worth=replace(one.worth, power=gain + now.power))
        for one, gain in zip(ranked, gains, strict=True)
    ]
    return made, worlds, now


def factor(name):
    return geared()[1].log_factors[:, world.FACTORS.index(name)]


def reading_of(name):
    """Whether a test is the bench measurement of one factor."""
    words = {
        "emf": "the open-circuit voltage at 1000 rpm",
        "wind": "the cube mean of the wind over the disc",
        "joint": "the way of the tower top",
        "grip": "the angle at which it slides",
        "resistance": "the loaded voltage as a share of the open-circuit voltage",
    }
    return lambda test: test.reads[0][0] == words[name]


@pytest.mark.parametrize("name", ["emf", "wind", "joint", "grip"])
def test_the_factor_that_decides_is_measured(name):
    push = 4 * factor(name) / factor(name).std()
    ranked, worlds, now = made_up([0.1 + push, 0.0 - push])
    values = {
        one.test.reads[0][0]: one.found.value for one in tests.weigh(ranked, now, RESISTORS) if not one.test.build
    }
    best = max(values, key=values.get)
    assert reading_of(name)(next(test for test in bench_tests(now, RESISTORS) if test.reads[0][0] == best))
    found = tests.next_test(ranked, worlds, now, RESISTORS)
    assert found.value_W > 0 and 0 < found.share <= 1 and found.minutes > 0


def test_where_nothing_is_in_doubt_the_build_is_tried():
    same = np.ones(world.COUNT)
    ranked, worlds, now = made_up([2 * same, same])
    found = tests.next_test(ranked, worlds, now, RESISTORS)
    assert found.measure.startswith(f"try it: {ranked[0].move.change}")
    assert found.value_W == pytest.approx(0, abs=1e-9)


def test_where_no_move_gains_the_turbine_is_left_alone():
    same = np.ones(world.COUNT)
    ranked, worlds, now = made_up([-1 * same, -2 * same])
    assert tests.next_test(ranked, worlds, now, RESISTORS).measure == tests.LEAVE


def test_outcomes_part_all_that_may_be_read():
    push = 4 * factor("wind") / factor("wind").std()
    ranked, worlds, now = made_up([0.1 + push, 0.0 - push])
    outcomes = tests.next_test(ranked, worlds, now, RESISTORS).outcomes
    assert 2 <= len(outcomes) <= 3
    assert sum(one.chance for one in outcomes) == pytest.approx(1)
    assert "below" in outcomes[0].reading and "above" in outcomes[-1].reading
    assert outcomes[0].best == ranked[1].move.change and outcomes[-1].best == ranked[0].move.change
    cut = outcomes[0].reading.rsplit("below ", 1)[1]
    middle = outcomes[1].reading
    assert cut in middle  # the next range begins where the last one ends


def test_acting_on_ranges_is_worth_no_more_than_acting_on_the_reading():
    push = 4 * factor("emf") / factor("emf").std()
    ranked, worlds, now = made_up([0.1 + push, 0.0 - push])
    found = tests.next_test(ranked, worlds, now, RESISTORS)
    by_ranges = sum(one.chance * one.gain_W for one in found.outcomes) - max(one.mean for one in ranked)
    assert 0 < by_ranges <= found.value_W + 1e-9


def test_among_equals_a_measurement_comes_before_a_build():
    """Where only the speed of the turbine decides, many readings tell nearly all of it: the quickest is taken."""
    _, _, now = geared()
    speed = np.log(now.predictions[0].rest.rotor_speed)
    speed = 4 * (speed - speed.mean()) / speed.std()
    ranked, _, now = made_up([0.1 + speed, 0.0 - speed])
    weighed = tests.weigh(ranked, now, RESISTORS)
    equal = [one for one in weighed if one.found.value >= 0.9 * max(one.found.value for one in weighed)]
    assert len(equal) > 1 and not weighed[0].test.build
    assert weighed[0].test.minutes == min(one.test.minutes for one in equal if not one.test.build)


def test_bench_readings_of_the_best_estimate_by_hand():
    _, _, now = geared()
    machine, stand = now.assembly.machine, now.assembly.stand
    read = {test.reads[0][0]: np.exp(test.predicted[0]) for test in bench_tests(now, RESISTORS)}
    assert read["the open-circuit voltage at 1000 rpm"][0] == pytest.approx(
        float(machine.emf_constant[0, 0]) * 104.72, rel=1e-4
    )
    assert read["the angle at which it slides"][0] == pytest.approx(np.degrees(np.arctan(stand.grip.number)))
    assert read["the cube mean of the wind over the disc"][0] == pytest.approx(now.predictions[-1].wind_speed)
    share = 10 / (10 + float(machine.circuit.winding_resistance[0, 0]))
    assert read["the loaded voltage as a share of the open-circuit voltage"][0] == pytest.approx(100 * share)
    mass = float(now.predictions[-1].breakaway[0]) / base.GRAVITY / now.assembly.turbine.rotor.hub.radius
    assert read["the mass that turns it"][0] == pytest.approx(1000 * mass)


def test_every_test_is_told_in_full():
    _, _, now = geared()
    for test in bench_tests(now, RESISTORS):
        assert isinstance(test, BenchTest) and test.measure and test.narrows and test.minutes > 0
        assert test.predicted.shape == (world.COUNT, len(test.reads)) and np.all(np.isfinite(test.predicted))
        assert np.all(test.doubt >= 0.03)


def test_the_answer_may_be_asked_for_without_the_turbine_as_it_is():
    ranked, worlds, _ = geared()
    assert tests.next_test(ranked, worlds).measure
