"""The main job: what holds the turbine back, and what to change, in watts."""

from dataclasses import dataclass

import numpy as np
from pydantic import Field

from whirlbench.actions.predict import point
from whirlbench.actions.report import Point, Report
from whirlbench.advise import calibrate, moves_electric, problems, rank, slips
from whirlbench.advise.holding_back import holding_back
from whirlbench.advise.next_test import next_test
from whirlbench.advise.path import path
from whirlbench.advise.score import Scorer
from whirlbench.errors import within
from whirlbench.event.rules import broken
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.predict.facts import facts

_MOST_WINDS = 12
_TRIED = 12  # moves of a later step that are valued in every world
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
    safe: bool
    allowed: bool
    broken_rules: tuple[str, ...]
    puts_right: tuple[str, ...]
    brings: tuple[str, ...]
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


class BeliefReport(Report):
    """Joint belief about the logarithms of all factors, readings included."""

    factors: tuple[str, ...]
    log_mean: tuple[float, ...]
    log_covariance: tuple[tuple[float, ...], ...]

    def belief(self):
        """Return the same as numbers for a prediction."""
        return world.Beliefs(np.array(self.log_mean), np.array(self.log_covariance))


class ReadingCheck(Report):
    """A reading against the model before and after learning."""

    line: int
    quantity: str
    read: float
    before: float
    after: float


class Question(Report):
    """A reading that is asked about and was not learned from."""

    line: int
    question: str


class BestBuild(Report):
    """Where the bin can take this turbine step by step."""

    power_W: float
    power_sd_W: float
    gain_W: float
    starts: bool
    steps: tuple[RankedMove, ...]


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


@dataclass(frozen=True)
class _Judged:
    """A valued move with the rules it would break and the problems it mends and brings."""

    one: object
    rules: tuple
    mended: tuple
    brought: tuple
    mends_rules: bool  # breaks none that is kept now, and fewer than now where some are broken

    @property
    def safe(self):
        return self.one.stands and not any(problem.unsafe for problem in self.brought)

    def acceptable(self, must_start):
        return self.safe and self.mends_rules and (self.one.starts or not must_start)


class _Judge:
    """Values moves of one turbine, and holds rules and problems against those of the turbine as it is."""

    def __init__(self, scorer, parts_bin, now):
        self.scorer, self.event, self.parts_bin = scorer, scorer.event, parts_bin
        self.problems = problems.problems(now)
        self.rules = self.broken(now)
        self.must_start = self.event is None or self.event.must_start

    def broken(self, worth):
        return tuple(broken(self.event, facts(worth.assembly, *worth.predictions))) if self.event else ()

    def acceptable(self, each):
        return each.acceptable(self.must_start)

    def screened(self, worth, used=frozenset()):
        """Moves of a build that are worth valuing in every world."""
        moves = rank.all_moves(worth.assembly.turbine, self.parts_bin, self.event)
        moves = [move for move in moves if move.family not in used]
        worlds = worth.assembly.worlds
        return rank.screened(self.scorer, moves, self.parts_bin, worlds, allowed=lambda each: not self.broken(each))

    def ranked(self, worth, moves):
        """Moves valued in every world, the best of each family, what may be done first."""
        worlds = worth.assembly.worlds
        judged = [self._judged(rank.valued(self.scorer, worth, move, worlds)) for move in moves]
        return rank.best_of_families(judged, self.acceptable)

    def rank_after(self, worth, used):
        """Ranked moves of a later build on the path; only the strongest are valued."""
        return self.ranked(worth, self.screened(worth, used)[:_TRIED])

    def _judged(self, one):
        rules = self.broken(one.worth)
        mended, brought = problems.change(self.problems, problems.problems(one.worth))
        mended += tuple(f"rule '{rule}'" for rule in self.rules if rule not in rules)
        better = set(rules) <= set(self.rules) and (len(rules) < len(self.rules) or not self.rules)
        return _Judged(one, rules, mended, brought, better)


def improve(turbine, parts_bin, *, readings=(), event=None, wind_speeds=(), tick=lambda stage: None):
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
    wind_speeds : sequence of float
        Winds to score in [m/s]; empty takes the event's, or else the turbine's own.
    tick : callable
        Called with the name of each stage of ``STAGES`` as it begins.

    Returns
    -------
    ImproveReport
        Verdict, ranked moves, path, next test.

    Raises
    ------
    InputError
        A part or wind that cannot be computed, told in four pieces; more than 12 winds.
    """
    within(
        "winds to score in", len(wind_speeds), low=0, high=_MOST_WINDS, unit="", try_="name the few winds that count"
    )
    scorer = Scorer(event, wind_speeds)
    turbine = whole.settled(turbine, scorer.winds(turbine))
    prior = whole.priors(turbine)
    tick(STAGES[0])
    asked = slips.slips(turbine, readings, prior)
    doubtful = {slip.row for slip in asked}
    readings = [reading for reading in readings if reading.row not in doubtful]
    fit = calibrate.calibrate(turbine, readings, prior) if readings else None
    beliefs = fit.beliefs if fit else prior
    worlds = world.draw(beliefs, world.COUNT)
    now = scorer.worth(turbine, worlds)
    judge = _Judge(scorer, parts_bin, now)
    tick(STAGES[1])
    moves = judge.screened(now)
    tick(STAGES[2])
    ranked = judge.ranked(now, moves)
    tick(STAGES[3])
    best = path(now, ranked, rank_after=judge.rank_after, acceptable=judge.acceptable)
    here = point(whole.assemble(turbine, worlds), scorer.winds(turbine)[-1], pushed=not judge.must_start)
    good = [each.one for each in ranked if judge.acceptable(each)]
    return ImproveReport(
        turbine=turbine.name,
        holding_back=_verdict(here, good, now),
        now=here,
        scored_power_W=float(now.power.mean()),
        scored_power_low_W=float(np.quantile(now.power, 0.1)),
        scored_power_high_W=float(np.quantile(now.power, 0.9)),
        problems=(
            *(f"{one.name}: {one.note}" for one in judge.problems.values()),
            *(f"breaks the rule '{rule}'" for rule in judge.rules),
        ),
        moves=tuple(_ranked(each) for each in ranked),
        best_build=_best_build(best, now),
        next_test=_test(good or [each.one for each in ranked], now, parts_bin),
        beliefs=BeliefReport(factors=world.FACTORS, log_mean=beliefs.mean, log_covariance=beliefs.covariance.tolist()),
        learned=_learned(fit),
        readings=_checks(fit),
        questions=tuple(Question(line=slip.row, question=slip.question) for slip in asked),
        cannot_tell_apart=_tied(fit),
    )


def _verdict(here, good, now):
    found = holding_back(here.sentence, good, now)
    return Verdict(part=found.part, why=found.why, sure=found.sure)


def _ranked(each):
    one = each.one
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
        safe=each.safe,
        allowed=not each.rules,
        broken_rules=each.rules,
        puts_right=each.mended,
        brings=tuple(f"{problem.name}: {problem.note}" for problem in each.brought),
        effort_min=one.move.minutes,
        caution=one.move.caution,
    )


def _best_build(best, now):
    power = best.worth.power
    return BestBuild(
        power_W=float(power.mean()),
        power_sd_W=float(power.std()),
        gain_W=float(power.mean() - now.power.mean()),
        starts=bool(best.worth.starts[0]),
        steps=tuple(_ranked(each) for each in best.steps),
    )


def _test(ranked, now, parts_bin):
    if not ranked:
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
    found = next_test(ranked, now.assembly.worlds, now, moves_electric.resistances(parts_bin))
    return Test(
        measure=found.measure,
        narrows=found.narrows,
        value_W=found.value_W,
        share_of_doubt=found.share,
        effort_min=found.minutes,
        why=found.why,
        outcomes=tuple(Outcome(**vars(outcome)) for outcome in found.outcomes),
    )


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
