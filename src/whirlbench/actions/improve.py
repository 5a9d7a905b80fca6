"""The main job: what holds the turbine back, and what to change, in watts."""

import numpy as np
from pydantic import Field

from whirlbench.actions.predict import WORLDS, point
from whirlbench.actions.report import Point, Report
from whirlbench.advise import calibrate, rank
from whirlbench.advise.holding_back import holding_back
from whirlbench.advise.next_test import next_test
from whirlbench.advise.path import path
from whirlbench.advise.score import Scorer
from whirlbench.event.rules import broken
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.predict.facts import facts

STAGES = ("learning from the readings", "listing moves", "valuing moves", "looking for a path")


class Verdict(Report):
    """Which part holds the turbine back."""

    part: str
    why: str
    sure: bool


class RankedMove(Report):
    """One move in watts."""

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
    allowed: bool
    broken_rules: tuple[str, ...]
    effort_min: float
    caution: str


class Learned(Report):
    """What the readings taught."""

    factor: str
    meaning: str
    factor_before: float
    sd_before: float
    factor_after: float
    sd_after: float


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
    steps: tuple[RankedMove, ...]


class Test(Report):
    """The measurement that would help most to choose."""

    measure: str
    narrows: str
    share_of_doubt: float
    why: str


class ImproveReport(Report):
    """Answer of ``improve``."""

    turbine: str
    holding_back: Verdict
    now: Point
    scored_power_W: float
    moves: tuple[RankedMove, ...]
    best_build: BestBuild
    next_test: Test
    learned: tuple[Learned, ...]
    readings: tuple[ReadingCheck, ...]
    cannot_tell_apart: tuple[str, ...]


def improve(turbine, parts_bin, *, readings=(), event=None, tick=lambda stage: None):
    """Say what holds a turbine back and value every move the room can make.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    parts_bin : PartsBin
        What the room has to build from.
    readings : sequence of Reading
        At the fan; without them the bands are those of the parts.
    event : Event, optional
        Rules and scoring; without it a start by itself in the turbine's own wind.
    tick : callable
        Called with the name of each stage of ``STAGES`` as it begins.

    Returns
    -------
    ImproveReport
        Verdict, ranked moves, path, next test.

    Raises
    ------
    InputError
        A part or wind that cannot be computed, told in four pieces.
    """
    scorer = Scorer(event)
    turbine = whole.settled(turbine, scorer.winds(turbine)[-1])
    prior = whole.priors(turbine)
    tick(STAGES[0])
    fit = calibrate.calibrate(turbine, readings, prior) if readings else None
    beliefs = fit.beliefs if fit else prior
    worlds = world.draw(beliefs, WORLDS)
    now = scorer.worth(turbine, worlds)
    tick(STAGES[1])
    moves = rank.all_moves(turbine, parts_bin, event)
    tick(STAGES[2])
    screened = rank.screened(scorer, moves, parts_bin, worlds)
    judged = [_judged(rank.valued(scorer, now, move, worlds), event) for move, _ in screened]
    judged.sort(key=lambda pair: (bool(pair[1]) or not pair[0].stands, -pair[0].mean))
    good = [one for one, rules in judged if _acceptable(one, rules, event)]
    tick(STAGES[3])
    best = path(
        scorer,
        turbine,
        worlds,
        parts_bin=parts_bin,
        event=event,
        acceptable=lambda one: _acceptable(one, _judged(one, event)[1], event),
        offers=screened,
    )
    here = point(now.assembly, scorer.winds(turbine)[-1], pushed=event is not None and not event.must_start)
    verdict = holding_back(here.sentence, good, now)
    return ImproveReport(
        turbine=turbine.name,
        holding_back=Verdict(part=verdict.part, why=verdict.why, sure=verdict.sure),
        now=here,
        scored_power_W=float(now.power.mean()),
        moves=tuple(_ranked(one, rules) for one, rules in judged),
        best_build=_best_build(best, now, event),
        next_test=_test(good or [one for one, _ in judged], worlds),
        learned=_learned(fit),
        readings=_checks(fit),
        cannot_tell_apart=_tied(fit),
    )


def _judged(one, event):
    """A valued move and the rules that it would break."""
    if event is None:
        return one, ()
    return one, tuple(broken(event, facts(one.worth.assembly, *one.worth.predictions)))


def _acceptable(one, rules, event):
    must_start = event is None or event.must_start
    return not rules and one.stands and (one.starts or not must_start)


def _ranked(one, rules):
    low, high = np.quantile(one.gain, [0.1, 0.9])
    return RankedMove(
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
        allowed=not rules,
        broken_rules=rules,
        effort_min=one.move.minutes,
        caution=one.move.caution,
    )


def _best_build(best, now, event):
    power = best.worth.power
    return BestBuild(
        power_W=float(power.mean()),
        power_sd_W=float(power.std()),
        gain_W=float(power.mean() - now.power.mean()),
        starts=bool(best.worth.starts[0]),
        steps=tuple(_ranked(one, _judged(one, event)[1]) for one in best.steps),
    )


def _test(ranked, worlds):
    if not ranked:
        nothing = "nothing in the bin changes this turbine"
        return Test(measure="fill the parts bin", narrows="what the room can build", share_of_doubt=0.0, why=nothing)
    found = next_test(ranked, worlds)
    return Test(measure=found.measure, narrows=found.narrows, share_of_doubt=found.share, why=found.why)


def _learned(fit):
    if fit is None:
        return ()
    return tuple(
        Learned(
            factor=name,
            meaning=world.MEANING[name],
            factor_before=1.0,
            sd_before=fit.prior.sigma(name),
            factor_after=float(np.exp(fit.beliefs.mean[world.FACTORS.index(name)])),
            sd_after=fit.beliefs.sigma(name),
        )
        for name in (*fit.learned, *fit.unlearned)
    )


def _checks(fit):
    rows = fit.rows if fit else ()
    return tuple(
        ReadingCheck(line=row.row, quantity=row.quantity, read=row.read, before=row.before, after=row.after)
        for row in rows
    )


def _tied(fit):
    return tuple(f"{world.MEANING[one]} and {world.MEANING[two]}" for one, two in fit.tied) if fit else ()
