"""The main job: what holds the turbine back, and what to change, in watts."""

from whirlbench.actions import improve_report as answer
from whirlbench.actions.judge import Judge
from whirlbench.actions.predict import point
from whirlbench.advise.learn import learn
from whirlbench.advise.path import Path, path
from whirlbench.advise.score import Scorer
from whirlbench.errors import within
from whirlbench.predict import turbine as whole
from whirlbench.predict import world

_MOST_WINDS = 12
STAGES = ("learning from the readings", "listing moves", "valuing moves", "looking for a path")


def improve(
    turbine, parts_bin, *, readings=(), event=None, wind_speeds=(), search=None, seed=0, tick=lambda stage: None
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
    event : Event, optional
        Rules and scoring; without it a start by itself in the turbine's own wind.
    wind_speeds : sequence of float
        Winds to score in [m/s]; empty takes the event's, or else the turbine's own.
    search : str, optional
        ``quick``, ``normal`` or ``thorough``: look for the best build of all, on two cores; without it the path takes
        the best next move again and again.
    seed : int
        Of the search: same seed, same answer.
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
    lesson = learn(turbine, readings, prior)
    beliefs = lesson.fit.beliefs if lesson.fit else prior
    worlds = world.draw(beliefs, world.COUNT)
    now = scorer.worth(turbine, worlds)
    judge = Judge(scorer, parts_bin, now)
    tick(STAGES[1])
    moves = judge.screened(now)
    tick(STAGES[2])
    ranked = judge.ranked(now, moves)
    tick(STAGES[3])
    if search is None:
        best = path(now, ranked, rank_after=judge.rank_after, acceptable=judge.acceptable)
    else:
        best = _searched(judge, now, search, seed=seed)
    seen = {"readings": lesson.believed, "fit": lesson.fit}
    here = point(whole.assemble(turbine, worlds), scorer.winds(turbine)[-1], pushed=not judge.must_start, **seen)
    return answer.report(
        judge, now, here, ranked=ranked, best=best, beliefs=beliefs, fit=lesson.fit, asked=lesson.asked
    )


def _searched(judge, now, effort, *, seed):
    """Path to the best build that bin and event allow."""
    from whirlbench.advise.search import search  # brings scipy and worker processes

    found = search(
        judge.scorer,
        now.assembly.turbine,
        now.assembly.worlds,
        parts_bin=judge.parts_bin,
        event=judge.event,
        acceptable=lambda worth: not judge.broken(worth),
        effort=effort,
        seed=seed,
    )
    return Path(tuple(judge.judged(one) for one in found.path.steps), found.path.worth)
