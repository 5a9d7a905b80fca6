"""Test plans: fair, as long as they must be, the same from the same seed, and honest about what looks alike."""

import itertools
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from whirlbench import tables
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.measure import detectable, fractions
from whirlbench.measure.design import design
from whirlbench.measure.plan import REFERENCE, Factor, Plan, settings_of
from whirlbench.measure.plan_size import MOST_RUNS, Shape

PITCH = Factor(name="pitch", levels=("8 deg", "12 deg"))
LOAD = Factor(name="load", levels=("10 ohm", "22 ohm"))
BLADES = Factor(name="blades", levels=("2", "3"))
SHEET = Factor(name="sheet", levels=("card", "balsa"))
FOUR = Factor(name="pitch", levels=("6 deg", "8 deg", "10 deg", "12 deg"))
ASKED = {"gain": 0.08, "scatter": 0.04}
PLANS = {
    "two": ([PITCH], {}),
    "pairs": ([PITCH], {"paired": True}),
    "two in blocks": ([PITCH], {"blocks": 3, "block_name": "day"}),
    "four": ([FOUR], {}),
    "four in blocks": ([FOUR], {"blocks": 2}),
    "factorial": ([PITCH, LOAD, BLADES], {}),
    "factorial in blocks": ([PITCH, LOAD], {"blocks": 2}),
    "mixed": ([FOUR, LOAD], {}),
    "half": ([PITCH, LOAD, BLADES, SHEET], {"generators": ("D=ABC",)}),
}


def made(name, **more):
    factors, kind = PLANS[name]
    return design(factors, **{**ASKED, **kind, **more})


@pytest.mark.parametrize("name", PLANS)
def test_every_block_holds_every_setting_equally_often(name):
    plan = made(name)
    counts = Counter((run.block, run.settings) for run in plan.test_runs)
    assert len(set(counts.values())) == 1
    blocks, runs = {block for block, _ in counts}, {setting for _, setting in counts}
    assert len(counts) == len(blocks) * len(runs)
    assert len(plan.test_runs) == plan.replicates * len(runs)
    assert [run.number for run in plan.runs] == list(range(1, len(plan.runs) + 1))
    assert [run.block for run in plan.runs] == sorted(run.block for run in plan.runs)


@pytest.mark.parametrize("name", PLANS)
def test_it_is_the_shortest_that_sees_the_gain(name):
    plan = made(name)
    assert plan.chance >= detectable.CHANCE
    shape = Shape(tuple(dict.fromkeys(run.settings for run in plan.test_runs)), made(name).blocks, False)
    if plan.layout == "paired":
        shape = Shape(shape.settings, 1, True)
    fewer = plan.replicates - shape.step
    least = 3 if len(plan.factors) == 1 else 1
    if fewer >= least:
        assert (shape.chance(2.0, fewer) or 0) < detectable.CHANCE


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_survives_as_text_and_goes_on_where_it_was(name):
    plan = made(name, seed=7)
    assert Plan.model_validate_json(plan.model_dump_json()) == plan == made(name, seed=7)
    assert made(name, seed=8).runs != plan.runs
    done = [1, 2, 5]
    assert [run.number for run in plan.left(done)] == [run.number for run in plan.runs if run.number not in done]
    assert plan.left(range(1, 500)) == ()


def test_reference_runs_open_and_close_and_come_back():
    plan = made("four", reference_every=5)
    watching = [run.number for run in plan.runs if run.reference]
    assert watching[0] == 1
    assert watching[-1] == len(plan.runs)
    assert all(run.settings == ("6 deg",) for run in plan.runs if run.reference)
    assert max(after - before for before, after in itertools.pairwise(watching)) == 6
    assert not any(run.reference for run in made("four", reference_every=0).runs)
    assert not any(run.reference for run in made("pairs").runs)


def test_every_day_opens_with_a_reference_run():
    plan = made("two in blocks")
    first = {}
    for run in plan.runs:
        first.setdefault(run.block, run)
    assert len(first) == 3
    assert all(run.reference for run in first.values())


def test_the_plan_in_one_sentence():
    assert made("pairs").sentence == "14 runs, about 40 minutes; sees a gain of 8 % or more in 8 of 10 cases."
    in_watts = design([PITCH], gain=0.006, scatter=0.003, size_unit="W", minutes_per_run=10)
    assert in_watts.sentence.startswith("15 runs, 3 of them to watch the fan, about 2.5 hours; sees a gain of 6 mW or")
    once = design([PITCH, LOAD, BLADES], replicates=1, reference_every=0)
    assert once.gain is None
    assert "cannot be sure of any gain" in once.sentence


def test_without_a_gain_it_says_what_it_sees():
    plan = design([PITCH], scatter=0.04)
    assert plan.replicates == 3
    again = design([PITCH], scatter=0.04, gain=plan.gain, replicates=3)
    assert again.chance == pytest.approx(detectable.CHANCE, abs=1e-4)


def test_the_order_is_shuffled_fairly():
    """In 200 seeds each setting opens the runs about half the time."""
    opened = Counter(design([PITCH], **ASKED, reference_every=0, seed=seed).runs[0].settings for seed in range(200))
    assert 70 < opened["8 deg",] < 130  # four standard deviations


# --- how many runs ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [2, 3, 5, 10, 40])
@pytest.mark.parametrize("effect", [0.5, 1.5, 3.0])
def test_welch_sees_a_little_less_than_student(effect, count):
    freedom = 2 * count - 2
    student = detectable.chance(effect * (count / 2) ** 0.5, detectable.critical(freedom), freedom)
    welch = detectable.welch_chance(effect, count)
    assert welch < student + 1e-9
    if count >= 10:
        assert welch == pytest.approx(student, abs=0.006)


def test_with_no_gain_each_side_is_seen_one_time_in_forty():
    for freedom in (1, 4, 30, 500):
        assert detectable.chance(0.0, detectable.critical(freedom), freedom) == pytest.approx(0.025, abs=1e-9)
    assert detectable.welch_chance(0.0, 8) < 0.0255


@pytest.mark.parametrize("freedom", [2, 9998, 1e6])
@pytest.mark.parametrize("apart", [0.0, 3.0, 60.0, 5e3])
def test_the_chance_is_a_number_far_in_the_tail(freedom, apart):
    assert 0 <= detectable.chance(apart, 1.96, freedom) <= 1


def test_separation_answers_chance():
    for freedom, threshold in ((3, 3.18), (20, 2.09), (200, 1.97), (2, 14.0)):
        apart = detectable.separation(threshold, freedom)
        assert detectable.chance(apart, threshold, freedom) == pytest.approx(0.8, abs=1e-9)


@given(effect=st.floats(0.4, 50), blocks=st.integers(1, 3), paired=st.booleans())
@settings(max_examples=40, deadline=None)
def test_more_gain_never_takes_more_runs(effect, blocks, paired):
    shape = Shape((("A",), ("B",)), 1 if paired else blocks, paired)
    count = shape.replicates(effect)
    assert shape.replicates(1.2 * effect) <= count
    assert shape.effect(count) <= effect * (1 + 1e-5)


# --- fractions --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", tables.load("plans/generators").rows, ids=lambda row: row.key)
def test_shipped_fractions_have_their_resolution_and_balance(row):
    count, words = int(row.key[0]), row.generators.split()
    assert fractions.resolution(count, words) == row.resolution
    runs = fractions.signs(count, words)
    assert len(runs) == len(set(runs)) == 2 ** (count - len(words))
    for i, j in itertools.combinations(range(count), 2):
        assert sum(run[i] * run[j] for run in runs) == 0
    share = int(row.key.rpartition("/")[2])
    assert fractions.generators(count, share) == tuple(words)
    assert 2 ** len(words) == share


@pytest.mark.parametrize(("count", "words"), [(4, ["D=ABC"]), (5, ["D=AB", "E=-AC"]), (3, ["C=AB"])])
def test_what_is_called_alike_is_alike(count, words):
    """Two roads: bits of the defining relation, and the columns of the runs themselves."""
    names = fractions.LETTERS[:count]
    runs = fractions.signs(count, words)

    def column(effect):
        product = [1] * len(runs)
        for name in effect.split(" x "):
            product = [one * run[names.index(name)] for one, run in zip(product, runs, strict=True)]
        return tuple(product) if product[0] > 0 else tuple(-one for one in product)

    effects = [*names, *(" x ".join(pair) for pair in itertools.combinations(names, 2))]
    groups = {}
    for effect in effects:
        groups.setdefault(column(effect), []).append(effect)
    wanted = {tuple(group) for group in groups.values() if len(group) > 1}
    assert {tuple(group) for group in fractions.alike(names, words)} == wanted


def test_alike_in_plain_words():
    plan = design([PITCH, LOAD, BLADES], generators=("C=AB",), replicates=4)
    assert plan.alike[0] == "The effect of pitch alone cannot be told from that of load and blades acting together."
    assert made("half").alike[0] == (
        "The effect of pitch and load acting together cannot be told from that of blades and sheet acting together."
    )


# --- refusals ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("factors", "more", "words"),
    [
        ([Factor(name="pitch", levels=("8 deg",))], {}, "two different levels"),
        ([Factor(name="pitch", levels=("8 deg", "8 deg"))], {}, "two different levels"),
        ([PITCH, PITCH], {}, "each factor once"),
        ([Factor(name="a=b", levels=("1", "2"))], {}, "without = and ;"),
        ([], {}, "factors"),
        ([FOUR], {"paired": True}, "one factor of two levels"),
        ([FOUR, LOAD], {"generators": ("B=AA",)}, "two levels of every factor"),
        ([PITCH, LOAD, BLADES], {"generators": ("C=AZ",)}, "product of AB"),
        ([PITCH, LOAD, BLADES], {"generators": ("B=AC",)}, "product of AB"),
        ([PITCH, LOAD, BLADES, SHEET], {"generators": ("D=AB", "D=AB")}, "one generator each"),
        ([PITCH], {"gain": 0.004, "scatter": 0.04}, f"{MOST_RUNS} runs can see"),
        ([PITCH], {"replicates": 200}, "runs of this plan"),
        ([PITCH], {"blocks": 0}, "blocks"),
        ([PITCH], {"scatter": 0.0}, "scatter"),
    ],
)
def test_what_does_not_fit_is_refused(factors, more, words):
    with pytest.raises(InputError, match=words):
        design(factors, **more)


def test_an_unknown_fraction_names_those_there_are():
    with pytest.raises(InputError, match=r"got 1/8 of 5 factors, needs one of 1/2, 1/4\."):
        fractions.generators(5, 8)
    with pytest.raises(InputError, match="3 to 7 factors"):
        fractions.generators(2, 2)


@given(st.lists(st.text("ABCDEFGH=- ", max_size=8), min_size=1, max_size=3))
@settings(max_examples=100, deadline=None)
def test_any_generator_is_used_or_refused(words):
    try:
        runs = fractions.signs(5, words)
    except WhirlbenchError:
        return
    assert len(runs) == 2 ** (5 - len(words))


# --- names ------------------------------------------------------------------------------------------------------------


def test_a_build_carries_its_settings_there_and_back():
    plan = made("factorial")
    for run in plan.runs:
        name = plan.build_of(run)
        assert (
            name == REFERENCE
            if run.reference
            else settings_of(name) == dict(zip(plan.names, run.settings, strict=True))
        )
    assert settings_of("Team Kittiwake's second hub") == {}
    assert settings_of("") == {}
