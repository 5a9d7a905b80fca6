"""What ``improve`` answers with, and how findings become that answer."""

import numpy as np
from pydantic import Field

from whirlbench.actions.lesson import BeliefReport, Learned, Question, belief_report, learned, questions, tied
from whirlbench.actions.report import Point, Report
from whirlbench.advise import moves_electric
from whirlbench.advise.holding_back import holding_back
from whirlbench.advise.next_test import next_test
from whirlbench.advise.path import WORTH_IT


class BestInPart(Report):
    """The best move of one part group."""

    part: str
    change: str
    gain_W: float
    chance_of_gain: float


class Verdict(Report):
    """Which part holds the turbine back; ``opening`` without what the best moves would change."""

    part: str
    why: str
    sure: bool
    opening: str
    best: tuple[BestInPart, ...]


class RankedMove(Report):
    """One move in watts; the turbine after it stays out of the JSON."""

    turbine: object = Field(exclude=True, repr=False)
    change: str
    part: str
    before: str = Field(serialization_alias="from")
    after: str = Field(serialization_alias="to")
    gain_W: float
    gain_sd_W: float
    gain_low_W: float
    gain_high_W: float
    chance_of_gain: float
    power_W: float
    starts: bool
    start_chance: float
    stands: bool
    safe: bool
    allowed: bool
    broken_rules: tuple[str, ...]
    puts_right: tuple[str, ...]
    brings: tuple[str, ...]
    effort_min: float
    caution: str


class ReadingCheck(Report):
    """A reading against the model before and after learning."""

    line: int
    quantity: str
    read: float
    before: float
    after: float


class BestBuild(Report):
    """Where the bin can take this turbine step by step."""

    power_W: float
    power_sd_W: float
    gain_W: float
    starts: bool
    start_chance: float
    effort_min: float
    steps: tuple[RankedMove, ...]
    searched: bool
    stopped_early: bool
    stop_here: bool
    then: str


class Outcome(Report):
    """What may be read in the next test, and what would then be best."""

    reading: str
    chance: float
    best: str
    gain_W: float


class Test(Report):
    """The measurement that would help most to choose."""

    measure: str
    narrows: str
    value_W: float
    share_of_doubt: float
    effort_min: float
    why: str
    outcomes: tuple[Outcome, ...]


class ImproveReport(Report):
    """Answer of ``improve``."""

    turbine: str
    holding_back: Verdict
    now: Point
    scored_power_W: float
    scored_power_low_W: float
    scored_power_high_W: float
    problems: tuple[str, ...]
    moves: tuple[RankedMove, ...]
    best_build: BestBuild
    next_test: Test
    beliefs: BeliefReport
    learned: tuple[Learned, ...]
    readings: tuple[ReadingCheck, ...]
    questions: tuple[Question, ...]
    cannot_tell_apart: tuple[str, ...]


def report(judge, now, here, *, ranked, best, searched, stopped_early, beliefs, fit, asked):
    """The whole answer of ``improve``.

    Parameters
    ----------
    judge : Judge
        Rules and problems of the turbine as it is.
    now : Worth
        The turbine as it is, in every world.
    here : Point
        The same as ``predict`` tells it.
    ranked : list of Judged
        All moves, what may be done first.
    best : Path
        Moves in order.
    searched, stopped_early : bool
        They lead to the best of all builds that were looked at; before all were looked at.
    beliefs : Beliefs
        After the readings.
    fit : Fit or None
        What the readings taught.
    asked : sequence of Slip
        Readings that were asked about.

    Returns
    -------
    ImproveReport
        Verdict, moves, path, next test.
    """
    good = [each.one for each in ranked if judge.acceptable(each)]
    rules = (f"breaks the rule '{rule}'" for rule in judge.rules)
    return ImproveReport(
        turbine=now.assembly.turbine.name,
        holding_back=_verdict(here, good, now),
        now=here,
        scored_power_W=float(now.power.mean()),
        scored_power_low_W=float(np.quantile(now.power, 0.1)),
        scored_power_high_W=float(np.quantile(now.power, 0.9)),
        problems=(*(f"{one.name}: {one.note}" for one in judge.problems.values()), *rules),
        moves=tuple(_ranked(each) for each in ranked),
        best_build=_best_build(best, now, searched=searched, stopped_early=stopped_early),
        next_test=_test(good or [each.one for each in ranked], now, judge.parts_bin),
        beliefs=belief_report(beliefs),
        learned=learned(fit),
        readings=_checks(fit),
        questions=questions(asked),
        cannot_tell_apart=tied(fit),
    )


def _verdict(here, good, now):
    """Verdict from the moves that may be done."""
    found = holding_back(here.sentence, good, now)
    best = (
        BestInPart(part=one.move.part, change=one.move.change, gain_W=one.mean, chance_of_gain=one.chance)
        for one in found.best
    )
    return Verdict(part=found.part, why=found.why, sure=found.sure, opening=found.opening, best=tuple(best))


def _ranked(each):
    """A judged move as it is reported."""
    one = each.one
    low, high = np.quantile(one.gain, [0.1, 0.9])
    return RankedMove(
        turbine=one.move.turbine,
        change=one.move.change,
        part=one.move.part,
        before=one.move.before,
        after=one.move.after,
        gain_W=one.mean,
        gain_sd_W=one.sigma,
        gain_low_W=float(low),
        gain_high_W=float(high),
        chance_of_gain=one.chance,
        power_W=float(one.worth.power.mean()),
        starts=one.starts,
        start_chance=float(one.worth.starts.mean()),
        stands=one.stands,
        safe=each.safe,
        allowed=not each.rules,
        broken_rules=each.rules,
        puts_right=each.mended,
        brings=tuple(f"{problem.name}: {problem.note}" for problem in each.brought),
        effort_min=one.move.minutes,
        caution=one.move.caution,
    )


def _best_build(best, now, *, searched, stopped_early):
    """Where a path of moves leads."""
    power = best.worth.power
    return BestBuild(
        power_W=float(power.mean()),
        power_sd_W=float(power.std()),
        gain_W=float(power.mean() - now.power.mean()),
        starts=bool(best.worth.starts[0]),
        start_chance=float(best.worth.starts.mean()),
        effort_min=sum(each.one.move.minutes for each in best.steps),
        steps=tuple(_ranked(each) for each in best.steps),
        searched=searched,
        stopped_early=stopped_early,
        stop_here=best.rest_is_noise or best.held_back,
        then=_then(best, stopped_early),
    )


def _then(best, stopped_early):
    """What comes after the steps, in a sentence."""
    if stopped_early:
        return "The search was stopped early: there may be better builds than the best so far."
    if best.held_back:
        rest = "what more there is to gain would not start surely enough, keep the rules, or hold"
        return f"Then stop: {rest}." if best.steps else f"Stop here: {rest}."
    if not best.rest_is_noise:
        return "Then ask again: there is more to gain after these steps."
    left = f"what is left is below noise and building scatter ({100 * WORTH_IT:.0f} % of the power)"
    if not best.steps:
        return f"No move is worth its work: {left}. Stop here."
    return f"Then stop: {left}."


def _test(good, now, parts_bin):
    """The next test as it is reported."""
    if not good:
        nothing = "nothing in the bin changes this turbine"
        return Test(
            measure="fill the parts bin",
            narrows="what the room can build",
            value_W=0.0,
            share_of_doubt=0.0,
            effort_min=0.0,
            why=nothing,
            outcomes=(),
        )
    found = next_test(good, now.assembly.worlds, now, moves_electric.resistances(parts_bin))
    return Test(
        measure=found.measure,
        narrows=found.narrows,
        value_W=found.value_W,
        share_of_doubt=found.share,
        effort_min=found.minutes,
        why=found.why,
        outcomes=tuple(Outcome(**vars(outcome)) for outcome in found.outcomes),
    )


def _checks(fit):
    """Readings against the model, before and after learning."""
    rows = fit.rows if fit else ()
    return tuple(
        ReadingCheck(line=row.row, quantity=row.quantity, read=row.read, before=row.before, after=row.after)
        for row in rows
    )
