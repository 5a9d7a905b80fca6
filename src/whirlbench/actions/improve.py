"""The main job: what holds the turbine back, and what to change, in watts."""

from dataclasses import dataclass, replace
from functools import partial

from whirlbench.actions import improve_report as answer
from whirlbench.actions.judge import Judge
from whirlbench.actions.predict import point
from whirlbench.advise import carry
from whirlbench.advise.learn import learn, learn_in_turn, worlds_of
from whirlbench.advise.path import Path, path
from whirlbench.advise.score import Scorer
from whirlbench.errors import within
from whirlbench.parts.event import SURE_START
from whirlbench.predict import turbine as whole

_MOST_WINDS = 12
_LEAST_SURE = 0.5
_BEFORE_SEARCH = 0.1  # of the time of a search, for all that comes before it
STAGES = ("learning from the readings", "listing moves", "valuing moves", "looking for a path")


@dataclass(frozen=True)
class Search:
    """A search over whole builds that is asked for.

    Attributes
    ----------
    effort : str
        ``quick``, ``normal`` or ``thorough``.
    executor : concurrent.futures.Executor or None
        Where the work is done, such as that of ``actions.cluster``; without it two processes of this machine.
    seed : int
        Same seed, same answer, wherever the work is done.
    trying : bool
        Look for the build most worth trying next, which may turn out best of all or fail, instead of the surest.
    """

    effort: str
    executor: object = None
    seed: int = 0
    trying: bool = False


def improve(
    turbine,
    parts_bin,
    *,
    readings=(),
    earlier=(),
    event=None,
    wind_speeds=(),
    search=None,
    sure_start=None,
    tick=lambda stage, share: None,
    cancelled=lambda: False,
):
    """Say what holds a turbine back and value every move the room can make.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    parts_bin : PartsBin
        What the room has to build from.
    readings : sequence of Reading
        At the fan; without them the bands are those of the parts.
    earlier : sequence of (Turbine, sequence of Reading)
        Builds of the same team that were read before, oldest first: what was learned of their parts is kept.
    event : Event, optional
        Rules and scoring; without it a start by itself in the turbine's own wind.
    wind_speeds : sequence of float
        Winds to score in [m/s]; empty takes the event's, or else the turbine's own.
    search : Search, optional
        Look for the best build of all; without it the path takes the best next move again and again.
    sure_start : float, optional
        Least chance of a start by itself of a build that is advised, 0.5 to 1 [-]; without it the event's, or else 0.9,
        and 0.5 for a try. A turbine that starts less surely need not get worse.
    tick : callable
        Called with the name of each stage as it begins, and the share of the work that is done.
    cancelled : callable
        Asked while searching; True ends the search with the best found so far.

    Returns
    -------
    ImproveReport
        Verdict, ranked moves, path, next test.

    Raises
    ------
    InputError
        A part or wind that cannot be computed, told in four pieces; more than 12 winds.
    """
    try_ = "name the few winds that count"
    within("winds to score in", len(wind_speeds), low=0, high=_MOST_WINDS, unit="", try_=try_)
    sure_start = _sure(sure_start, event, search)
    begin = _stages(tick, _BEFORE_SEARCH if search else 1.0)
    scorer = Scorer(event, wind_speeds)
    turbine = whole.settled(turbine, scorer.winds(turbine))
    begin(0)
    history = learn_in_turn(earlier, scorer)
    lesson = learn(turbine, readings, carry.believed(history.lessons, turbine))
    now = scorer.worth(turbine, _worlds(turbine, lesson, history))
    judge = Judge(scorer, parts_bin, now, sure_start=sure_start)
    begin(1)
    moves = judge.screened(now)
    begin(2)
    ranked = judge.ranked(now, moves)
    begin(3)
    if search is None:
        surely = partial(_acceptable, judge, least=min(sure_start, float(now.starts.mean())))
        best, early = path(now, ranked, rank_after=judge.rank_after, acceptable=surely), False
    else:
        given = {"in_hand": history.in_hand, "sure_start": sure_start, "tick": tick, "cancelled": cancelled}
        best, early = _searched(judge, now, search, **given)
    seen = {"readings": lesson.believed, "fit": lesson.fit}
    assembly, pushed = whole.assemble(turbine, now.assembly.worlds), not judge.must_start
    here = point(assembly, scorer.winds(turbine)[-1], pushed=pushed, **seen)
    found = {"ranked": ranked, "best": best, "searched": search is not None, "stopped_early": early}
    return answer.report(judge, now, here, beliefs=lesson.beliefs, fit=lesson.fit, asked=lesson.asked, **found)


def _worlds(turbine, lesson, history):
    """Believed worlds with all that was taught, of this build too: its blades tell a little of others."""
    worlds = worlds_of(turbine, lesson, history.lessons)
    if lesson.fit is None:
        return worlds
    return replace(worlds, lessons=(*history.lessons, carry.lesson(turbine, lesson.beliefs, worlds)))


def _sure(sure_start, event, search):
    """Chance of a start that is asked for [-]."""
    if sure_start is None:
        if search and search.trying:
            return _LEAST_SURE
        return SURE_START if event is None else event.sure_start
    try_ = "write a share such as '95 %'"
    within("sure start", sure_start, low=_LEAST_SURE, high=1.0, unit="", try_=try_)
    return sure_start


def _stages(tick, whole_share):
    """Callable that tells the stages before a search, given their numbers."""
    return lambda number: tick(STAGES[number], whole_share * number / len(STAGES))


def _acceptable(judge, each, *, least):
    """Whether a judged move may be done and leaves a start that is sure enough."""
    sure = not judge.must_start or each.one.worth.starts.mean() >= least
    return judge.acceptable(each) and bool(sure)


def _searched(judge, now, search, *, in_hand, sure_start, tick, cancelled):
    """Path to the best build that bin and event allow, or to the next try, and whether the search was stopped early."""
    from whirlbench.advise.search import search as best_build  # brings scipy and worker processes

    found = best_build(
        judge.scorer,
        now.assembly.turbine,
        now.assembly.worlds,
        parts_bin=judge.parts_bin,
        event=judge.event,
        acceptable=lambda worth: not judge.broken(worth),
        start_guarantee=sure_start,
        in_hand=max(in_hand, float(now.power.mean())) if search.trying else 0.0,
        tried=[one.turbine for one in now.assembly.worlds.lessons] if search.trying else (),
        executor=search.executor,
        effort=search.effort,
        seed=search.seed,
        tick=lambda stage, share: tick(stage, _BEFORE_SEARCH + (1 - _BEFORE_SEARCH) * share),
        cancelled=cancelled,
    )
    if search.trying:
        return _try(judge, now, found), found.stopped_early
    steps = tuple(judge.judged(one) for one in found.path.steps)
    return replace(found.path, steps=steps), found.stopped_early


def _try(judge, now, found):
    """Path of the one step that leads to a try; none where nothing is worth one."""
    from whirlbench.advise import build_path

    here, there = now.assembly.turbine, found.turbine
    moves = build_path.exchange_all(here, there, build_path.differences(here, there))
    steps = (judge.judged(build_path.valued(judge.scorer, now, moves)),) if moves else ()
    return Path(steps, found.worth, rest_is_noise=not steps)
