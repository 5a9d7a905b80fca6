"""Verdicts against the library's own tests, and in words."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from trials import outcomes, runs_of

from whirlbench.errors import InputError, UnknownKey, WhirlbenchError
from whirlbench.measure.anova import anova, effects, lenth, one_way, residual_checks, tukey
from whirlbench.measure.design import design
from whirlbench.measure.gain import gain_between
from whirlbench.measure.model import model
from whirlbench.measure.plan import Factor
from whirlbench.measure.runs import Runs, in_order
from whirlbench.measure.verdict import compare

PITCH = Factor(name="pitch", levels=("8 deg", "12 deg"))
LOAD = Factor(name="load", levels=("10 ohm", "22 ohm"))
BLADES = Factor(name="blades", levels=("2", "3"))
FOUR = Factor(name="pitch", levels=("6 deg", "8 deg", "10 deg", "12 deg"))


def two(first, second, **more):
    labels = ("A",) * len(first) + ("B",) * len(second)
    return Runs((*first, *second), {"build": labels}, **more)


def drawn(factors, seed=3, gain=0.1, **more):
    plan = design(factors, **more)
    return runs_of(plan, outcomes(plan, np.random.default_rng(seed), gain=gain))


A = (0.081, 0.078, 0.083, 0.080, 0.079)
B = (0.088, 0.091, 0.087, 0.090)


def test_welch_is_the_librarys():
    (gain,) = compare(two(A, B)).gains
    known = stats.ttest_ind(B, A, equal_var=False).confidence_interval()
    assert (gain.low, gain.high) == pytest.approx((known.low, known.high), rel=1e-12)
    assert gain.gain == pytest.approx(np.mean(B) - np.mean(A))
    assert gain.verdict == "better"


def test_pairs_are_the_librarys():
    first, second = np.array([0.08, 0.075, 0.09, 0.083, 0.07]), np.array([0.084, 0.081, 0.093, 0.09, 0.074])
    found = compare(two(first, second, blocks=tuple("12345") * 2))
    known = stats.ttest_rel(second, first).confidence_interval()
    assert found.design == "paired"
    assert (found.gains[0].low, found.gains[0].high) == pytest.approx((known.low, known.high), rel=1e-9)
    assert compare(two(first, second)).gains[0].verdict != "better", "pairs see what the scatter of the days hides"


def test_several_settings_are_the_librarys_tukey():
    runs = drawn([FOUR], replicates=5)
    groups = [
        [y for y, one in zip(runs.outcomes, runs.columns[0], strict=True) if one == level] for level in FOUR.levels
    ]
    differences, low, high = tukey(groups)
    for gain in compare(runs).gains:
        i, j = FOUR.levels.index(gain.first), FOUR.levels.index(gain.second)
        assert (gain.gain, gain.low, gain.high) == pytest.approx((differences[j, i], low[j, i], high[j, i]), rel=1e-6)


def test_one_lost_run_is_no_trouble():
    runs = drawn([FOUR], replicates=5)
    short = Runs(runs.outcomes[1:], {"pitch": runs.columns[0][1:]}, runs.levels)
    groups = [
        [y for y, one in zip(short.outcomes, short.columns[0], strict=True) if one == level] for level in FOUR.levels
    ]
    _, low, high = tukey(groups)
    for gain in compare(short).gains:
        i, j = FOUR.levels.index(gain.first), FOUR.levels.index(gain.second)
        assert (gain.low, gain.high) == pytest.approx((low[j, i], high[j, i]), rel=1e-6)


def test_a_block_effect_cancels():
    runs = drawn([PITCH], blocks=3, replicates=6)
    moved = [y + 0.05 * int(block) for y, block in zip(runs.outcomes, runs.blocks, strict=True)]
    (before,), (after,) = compare(runs).gains, compare(Runs(tuple(moved), runs.labels, runs.levels, runs.blocks)).gains
    assert (after.gain, after.low, after.high) == pytest.approx((before.gain, before.low, before.high), rel=1e-9)


def test_a_factorial_sees_its_factor_and_no_other():
    found = compare(drawn([PITCH, LOAD, BLADES], replicates=3, gain=0.15))
    assert found.design == "factorial"
    assert [(one.factor, one.verdict) for one in found.gains] == [
        ("pitch", "better"),
        ("load", "no difference"),
        ("blades", "no difference"),
    ]
    assert found.depends == ()


def test_factors_that_depend_on_each_other_are_told():
    runs = drawn([PITCH, LOAD], replicates=4, gain=0.0)
    joint = [
        y + 0.03 * ((one == "12 deg") == (other == "22 ohm"))
        for y, one, other in zip(runs.outcomes, *runs.columns, strict=True)
    ]
    assert compare(Runs(tuple(joint), runs.labels, runs.levels)).depends == (("pitch", "load"),)


def test_one_run_each_goes_by_lenth():
    plan = design([PITCH, LOAD, BLADES], replicates=1, reference_every=0)
    runs = runs_of(plan, outcomes(plan, np.random.default_rng(1), gain=3.0))
    found = compare(runs)
    limits = lenth([one.effect for one in effects(runs)])
    assert found.design == "one run each"
    for gain, effect in zip(found.gains, effects(runs), strict=False):
        assert gain.gain == pytest.approx(effect.effect)
        assert gain.high - gain.low == pytest.approx(2 * limits.sure)
    assert found.better


def test_mirrored_runs_give_the_mirrored_verdict():
    there, back = compare(two(A, B)).gains[0], compare(two(B, A)).gains[0]
    assert (there.verdict, back.verdict) == ("better", "worse")
    assert (there.low, there.high) == pytest.approx((-back.high, -back.low))


def test_the_start_is_chosen():
    runs = drawn([FOUR], replicates=4)
    assert {one.first for one in compare(runs.starting_at("12 deg")).gains[:3]} == {"12 deg"}
    with pytest.raises(UnknownKey, match="12 deg"):
        runs.starting_at("12deg")


@given(st.lists(st.floats(0.01, 1), min_size=3, max_size=8), st.lists(st.floats(0.01, 1), min_size=3, max_size=8))
@settings(max_examples=150, deadline=None)
def test_percent_and_watts_never_disagree(first, second):
    (gain,) = compare(two(first, second)).gains
    if gain.share_low is not None and not math.isnan(gain.low):
        edge = 1e-9 * max(map(abs, (gain.low, gain.high)))
        assert (gain.low > edge) <= (gain.share_low > -1e-9)
        assert (gain.high < -edge) <= (gain.share_high < 1e-9)
        assert gain.share_low - 1e-9 <= gain.share <= gain.share_high + 1e-9


# --- words ------------------------------------------------------------------------------------------------------------


def test_better_in_words():
    found = compare(two(A, B))
    assert found.sentence == "B is better than A: +8.8 mW (+11 %), 95 % interval +5.8 mW to +12 mW."
    assert found.why == "the runs carry neither pairs nor blocks"


def test_no_difference_tells_what_would_have_been_missed():
    found = compare(two(A, (0.0805, 0.0795, 0.0822, 0.0788)))
    assert found.gains[0].verdict == "no difference"
    assert found.sentence.startswith("No difference seen between A and B; a gain below 3.")
    assert found.sentence.endswith("would have been missed.")


def test_what_would_be_missed_is_seen_four_times_in_five():
    """Runs with just this gain and the same scatter: the library's power of a t test."""
    (gain,) = compare(two(A, (0.0805, 0.0795, 0.0822, 0.0788, 0.081))).gains
    error = (gain.high - gain.low) / 2 / stats.t.ppf(0.975, gain.freedom)
    assert stats.nct.sf(stats.t.ppf(0.975, gain.freedom), gain.freedom, gain.seen / error) == pytest.approx(
        0.8, abs=1e-3
    )


@pytest.mark.parametrize(
    ("first", "second"),
    [((0.08,), (0.09,)), ((0.08, 0.08), (0.09, 0.09)), ((0.08, 0.081), (0.09,)), ((0.05, 0.11), (0.06, 0.12))],
    ids=["one run each", "no scatter at all", "one run of B", "wild"],
)
def test_not_enough_runs(first, second):
    found = compare(two(first, second))
    assert found.gains[0].verdict == "not enough runs"
    assert found.sentence.startswith("Not enough runs to compare B with A")
    assert not found.better


def test_a_wanted_gain_tells_no_difference_from_not_enough():
    runs = two(A, (0.0805, 0.0795, 0.0822, 0.0788))
    assert compare(runs, wanted=0.01).gains[0].verdict == "no difference"
    assert compare(runs, wanted=0.001).gains[0].verdict == "not enough runs"


def test_a_bare_number_is_called_by_its_factor():
    gain = gain_between(("blades", "2", "3"), (0.08, 0.09), np.diag([1e-7, 1e-7]), freedom=10)
    assert gain.sentence.startswith("blades 3 is better than blades 2")


def test_runs_that_stand_together_are_minded():
    assert any("warming fan" in caution for caution in compare(two(A, B)).cautions)
    mixed = Runs((0.08, 0.09, 0.081, 0.091), {"build": ("A", "B", "A", "B")})
    assert not compare(mixed).cautions


def test_half_a_pair_is_told():
    runs = Runs(
        (0.08, 0.09, 0.081, 0.092, 0.083), {"build": ("A", "B", "A", "B", "A")}, blocks=("1", "1", "2", "2", "3")
    )
    found = compare(runs)
    assert found.design == "paired"
    assert found.cautions == ("1 of 3 blocks hold one setting only and tell nothing.",)


# --- refusals ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("runs", "more", "words"),
    [
        (two(A, ()), {}, "two settings or more"),
        (two(A, (0.08, math.nan)), {}, "a number in each"),
        (two(A[:2], B[:2], blocks=("1", "1", "2", "2")), {}, "settings that share blocks"),
        (two(A, B), {"design": "paired"}, "two blocks or more"),
        (two(A[:2], B[:2], blocks=("1", "1", "1", "2")), {"design": "paired"}, "stand once in every pair"),
        (two(A, B), {"design": "pared"}, "write 'paired'"),
    ],
)
def test_what_does_not_fit_is_refused(runs, more, words):
    with pytest.raises(InputError, match=words):
        compare(runs, **more)


def test_a_day_that_may_be_the_gain_can_be_overruled():
    found = compare(two(A[:2], B[:2], blocks=("1", "1", "2", "2")), design="welch")
    assert found.why == "you asked to leave blocks out"


@pytest.mark.parametrize("columns", [{"build": ("A",)}, {"build": ("A", "B", "B")}])
def test_columns_of_another_length_are_refused(columns):
    with pytest.raises(InputError, match="one for each run"):
        Runs((0.08, 0.09), columns)


@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_any_labels_give_a_verdict_or_a_reason(data):
    count = data.draw(st.integers(1, 12))
    label = st.sampled_from("ABC")
    column = st.lists(label, min_size=count, max_size=count).map(tuple)
    powers = data.draw(st.lists(st.floats(0, 5), min_size=count, max_size=count).map(tuple))
    labels = {name: data.draw(column) for name in data.draw(st.sampled_from([("one",), ("one", "two")]))}
    blocks = data.draw(st.one_of(st.just(()), column))
    try:
        found = compare(Runs(powers, labels, blocks=blocks))
    except WhirlbenchError:
        return
    assert all(gain.sentence for gain in found.gains)


# --- analysis of variance ---------------------------------------------------------------------------------------------


def test_two_roads_to_one_way():
    runs = drawn([FOUR], replicates=5)
    groups = [
        [y for y, one in zip(runs.outcomes, runs.columns[0], strict=True) if one == level] for level in FOUR.levels
    ]
    short, long = one_way(groups), anova(runs)
    for one, other in zip(short, long, strict=True):
        assert (one.freedom, one.square_sum) == pytest.approx((other.freedom, other.square_sum), rel=1e-9)
    assert short[0].chance == pytest.approx(long[0].chance, rel=1e-9)


def test_a_balanced_plan_splits_all_squares():
    runs = drawn([FOUR, LOAD], replicates=4, blocks=2)
    lines = anova(runs)
    assert [line.source for line in lines] == ["blocks", "pitch", "load", "pitch x load", "scatter"]
    assert sum(line.square_sum for line in lines) == pytest.approx(len(runs.outcomes) * np.var(runs.outcomes))
    assert sum(line.freedom for line in lines) == len(runs.outcomes) - 1


def test_an_alias_is_left_out_of_the_model():
    columns = tuple(
        zip(*(("-+"[a], "-+"[b], "-+"[a == b]) for a, b in itertools.product((0, 1), repeat=2)), strict=True)
    )
    fitted = model(columns)
    assert fitted.lost == ((0, 1), (0, 2), (1, 2))
    assert fitted.freedom == 0


def test_squares_without_a_spare_run_are_refused():
    with pytest.raises(InputError, match="a few more"):
        anova(Runs((0.08, 0.09), {"build": ("A", "B")}))
    with pytest.raises(InputError, match="two groups"):
        one_way([[1.0, 2.0]])
    with pytest.raises(InputError, match="three or more"):
        lenth([1.0, 2.0])
    with pytest.raises(InputError, match="analysis of variance"):
        effects(drawn([FOUR], replicates=2))


def quiet(count=24, seed=0):
    return 0.08 + 0.002 * np.random.default_rng(seed).normal(size=count)


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda y: y, None),
        (lambda y: np.where(np.arange(len(y)) == 5, 0.11, y), "Run 6 in order is far"),
        (lambda y: 0.08 + 0.002 * np.exp(2 * (y - 0.08) / 0.002), "lopsided"),
        (lambda y: np.where(np.arange(len(y)) % 2, 0.08 + 20 * (y - 0.08), y), "at build B scatter more"),
        (lambda y: y + 0.0015 * np.arange(len(y)), "one after the other are alike"),
    ],
    ids=["honest", "one slip", "lopsided", "loose", "drift"],
)
def test_residuals_in_plain_words(spoil, words):
    powers = spoil(quiet())
    told = residual_checks(Runs(tuple(powers), {"build": ("A", "B") * 12}))
    assert (words is None and not told) or any(words in sentence for sentence in told)


def test_honest_noise_is_seldom_suspected():
    suspected = [bool(residual_checks(Runs(tuple(quiet(seed=i)), {"build": ("A", "B") * 12}))) for i in range(150)]
    assert sum(suspected) <= 13  # four checks at 1 % or less each: 6 expected, three standard deviations more


def test_levels_stand_in_their_order():
    assert in_order(["12 deg", "8 deg", "balsa", "8 deg", "-4 deg", "card"]) == (
        "-4 deg",
        "8 deg",
        "12 deg",
        "balsa",
        "card",
    )
