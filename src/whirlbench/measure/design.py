"""Making a test plan: settings, replicates from the gain that matters, and an order that is fair."""

import itertools

import numpy as np

from whirlbench.errors import InputError, within
from whirlbench.measure import detectable, fractions
from whirlbench.measure.plan import Plan, PlannedRun
from whirlbench.measure.plan_size import FEWER, MOST_RUNS, Shape

SCATTER = 0.05  # run-to-run, of a careful team at a steady fan: common practice
MINUTES = 3.0  # to set, start, wait and write: common practice
_REFERENCE_EVERY = 6


def design(
    factors,
    *,
    gain=None,
    scatter=SCATTER,
    size_unit="",
    replicates=None,
    blocks=1,
    block_name="block",
    paired=False,
    generators=(),
    reference_every=None,
    minutes_per_run=MINUTES,
    seed=0,
):
    """Plan that changes one or several things, fairly.

    Parameters
    ----------
    factors : sequence of Factor
        What is changed; the first level of each is the starter build's.
    gain, scatter : float
        Gain that must not be missed and standard deviation from run to run, both as shares of the starter build's
        output or both in ``size_unit``; without a gain the plan says what it sees.
    size_unit : str
        ``""`` for shares, ``W`` for watts.
    replicates : int, optional
        Runs of each setting; without it as many as the gain needs, or else three (of a factorial two).
    blocks : int
        Days, teams or fan warm-ups that the runs are spread over; each holds every setting equally often.
    block_name : str
        What a block is, such as ``day``.
    paired : bool
        Run two settings close after each other, again and again; each such pair is a block.
    generators : sequence of str
        For a fraction of a two-level plan, such as ``("D=ABC",)``; factors are A, B, C in their order.
    reference_every : int, optional
        A run of the starter build after so many runs, and at begin and end; 0 is none. Without it every 6 runs; none
        where all runs are in pairs.
    minutes_per_run : float
        For the plan's length [min].
    seed : int
        Same seed, same order.

    Returns
    -------
    Plan
        With its order of runs.

    Raises
    ------
    InputError
        Factors, blocks or generators that do not fit, a gain that 240 runs would not see, or more than 240 runs.
    """
    _check(factors, paired, generators, blocks)
    within("scatter", scatter, low=1e-9, high=1e3, unit=size_unit, try_="run one build six times and take its spread")
    shape = Shape(tuple(_settings(factors, generators)), blocks, paired)
    effect = None if gain is None else gain / scatter
    count = shape.replicates(effect) if replicates is None else shape.whole(replicates)
    within("runs of this plan", count * len(shape.settings), low=2, high=MOST_RUNS, unit="", try_=FEWER)
    every = (0 if paired else _REFERENCE_EVERY) if reference_every is None else reference_every
    return Plan(
        title=_listed([factor.name for factor in factors]),
        kind=_kind(factors, generators),
        layout="paired" if paired else "blocked" if blocks > 1 else "randomised",
        factors=tuple(factors),
        runs=_numbered(_order(shape, count, seed), tuple(factor.levels[0] for factor in factors), every),
        replicates=count,
        blocks=shape.groups(count),
        block_name="pair" if paired else block_name,
        generators=tuple(generators),
        alike=_alike(factors, generators),
        **_sight(shape, count, gain, scatter),
        size_unit=size_unit,
        reference_every=every,
        minutes_per_run=minutes_per_run,
        seed=seed,
    )


def _check(factors, paired, generators, blocks):
    names = [factor.name for factor in factors]
    within("factors", len(names), low=1, high=len(fractions.LETTERS), unit="", try_="change fewer things at once")
    within("blocks", blocks, low=1, high=30, unit="", try_="2 to 6 blocks serve most plans")
    twice = [name for name in names if names.count(name) > 1]
    if twice:
        raise InputError("factor", f"'{twice[0]}' twice", "each factor once", try_="put all its levels into one")
    for factor in factors:
        if len(set(factor.levels)) < max(2, len(factor.levels)):
            got = ", ".join(factor.levels) or "nothing"
            raise InputError(f"factor {factor.name}", got, "two different levels or more", try_="8 deg, 12 deg")
        for text in (factor.name, *factor.levels):
            if not text.strip() or set(text) & set("=;\n"):
                raise InputError("factor", f"'{text}'", "a name without = and ;", try_="pitch=8 deg,12 deg")
    levels = [len(factor.levels) for factor in factors]
    if paired and (levels != [2] or blocks > 1):
        got = f"{len(levels)} factors of {', '.join(map(str, levels))} levels in {blocks} blocks"
        raise InputError("pairs", got, "one factor of two levels and no other blocks", try_="use blocks instead")
    if generators and set(levels) != {2}:
        raise InputError("fraction", f"levels {levels}", "two levels of every factor", try_="leave out levels")


def _settings(factors, generators):
    if generators:
        rows = fractions.signs(len(factors), generators)
        return [tuple(factor.levels[sign > 0] for factor, sign in zip(factors, row, strict=True)) for row in rows]
    return list(itertools.product(*(factor.levels for factor in factors)))


def _listed(names):
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _kind(factors, generators):
    if len(factors) == 1:
        return "one factor"
    return "fractional factorial" if generators else "factorial"


def _alike(factors, generators):
    return fractions.in_words(fractions.alike([factor.name for factor in factors], generators)) if generators else ()


def _sight(shape, count, gain, scatter):
    """The gain of the plan and the chance to see it."""
    if gain is None:
        effect = shape.effect(count)
        gain, chance = (None, None) if effect is None else (effect * scatter, detectable.CHANCE)
    else:
        chance = shape.chance(gain / scatter, count)
    return {"gain": gain if chance is not None else None, "scatter": scatter, "chance": chance}


def _order(shape, count, seed):
    """Settings of every block, shuffled inside the block."""
    chooser = np.random.default_rng(seed)
    groups = shape.groups(count)
    pool = shape.settings * (count // groups)
    return [[pool[place] for place in chooser.permutation(len(pool))] for _ in range(groups)]


def _numbered(order, start, every):
    """Runs with their numbers; reference runs open every block, come back after ``every`` runs, and close the plan."""
    rows = []
    for block, group in enumerate(order, start=1 if len(order) > 1 else 0):
        for place, setting in enumerate(group):
            if every and place % every == 0:
                rows.append((block, start, True))
            rows.append((block, setting, False))
    if every:
        rows.append((rows[-1][0], start, True))
    return tuple(
        PlannedRun(number=number, block=block, settings=setting, reference=reference)
        for number, (block, setting, reference) in enumerate(rows, start=1)
    )
