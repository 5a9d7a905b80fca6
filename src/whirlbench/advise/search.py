"""The best build that bin and event allow: a search over rotors with every chain, in all believed worlds."""

import contextlib
import time
from dataclasses import dataclass, field, replace

from whirlbench.advise import build_path, moves_electric, search_jobs
from whirlbench.advise.path import Path
from whirlbench.advise.search_run import Progress, Run, Stopped
from whirlbench.advise.workers import Workers

_CHUNK = 3  # kinds of blades in one job of the sampling
_HURRIED = 4  # designs that are held to the rules when the search is stopped


@dataclass(frozen=True)
class Effort:
    """How hard to look.

    Attributes
    ----------
    samples : int
        Points of each kind of blades that are looked at in one hard world.
    kept : tuple of 2 int
        Kinds from which the search climbs in that world, and in every world.
    climb, robust : tuple of 3 float
        Beginnings of each of these kinds, designs looked at on each way, and the first step as a share of each
        number's range: in the hard world, and in every world.
    closer : int
        Designs of each kind that are looked at in every world between the two.
    chains : int
        Drivetrains with their generator and load that are looked at in every world behind a rotor.
    finished : int
        Designs whose numbers are moved one by one at last, with the rotor solved in every world.
    valued : int
        Designs that are at last valued in full and held to the rules.
    """

    samples: int
    kept: tuple
    climb: tuple
    robust: tuple
    closer: int
    chains: int
    finished: int
    valued: int


EFFORTS = {
    "quick": Effort(6, (8, 4), (1, 80, 0.2), (1, 40, 0.1), 4, 2, 0, 4),
    "normal": Effort(8, (10, 5), (2, 90, 0.2), (2, 60, 0.1), 6, 3, 2, 6),
    "thorough": Effort(24, (24, 12), (4, 110, 0.25), (4, 90, 0.15), 6, 3, 6, 20),
}
_LAST_STEP = (0.02,)  # of the numbers of what is finished, as a share of their range


@dataclass(frozen=True)
class BestReachable:
    """The best build found, and the way there.

    Attributes
    ----------
    turbine : Turbine
        The build; the turbine itself where nothing better was found.
    worth : Worth
        It in every believed world.
    path : Path
        Steps from the turbine, each a Valued; its end may lack what gains less than noise.
    evaluations : int
        Rotors looked at, as planned at most and without the last polish.
    stopped_early : bool
        The caller ended the search: there may be better builds.
    seconds : float
        Time that it took [s].
    """

    turbine: object
    worth: object = field(compare=False)
    path: Path = field(compare=False)
    evaluations: int
    stopped_early: bool
    seconds: float = field(compare=False)


def search(
    scorer,
    turbine,
    worlds,
    *,
    parts_bin,
    event,
    acceptable=lambda worth: True,
    start_guarantee=0.9,
    in_hand=0.0,
    tried=(),
    executor=None,
    seed=0,
    effort="normal",
    tick=lambda stage, share: None,
    cancelled=lambda: False,
):
    """Look for the best build that bin and event allow.

    Parameters
    ----------
    scorer : Scorer
        Values builds in the scored winds.
    turbine : Turbine
        The turbine now, its load settled.
    worlds : Worlds
        Belief about it.
    parts_bin : PartsBin
        What there is to build from.
    event : Event or None
        Bounds on size, volts and generators.
    acceptable : callable
        Whether a Worth keeps the rules; that no part may break or tip is looked at here.
    start_guarantee : float
        Least chance of a start by itself, where it has to [-].
    in_hand : float
        Power of the best build so far [W]: then the build most worth trying next is looked for, which may well be one
        of which little is known; with 0 the build of the largest expected power.
    tried : sequence of Turbine
        Builds that were read already: none of them is offered.
    executor : concurrent.futures.Executor, optional
        Where the work is done; without it in two processes of this machine.
    seed : int
        Same seed, same answer, whatever the executor.
    effort : str
        ``quick``, ``normal`` or ``thorough``.
    tick : callable
        Called with the name of the stage and the share of the whole work that is done.
    cancelled : callable
        Asked some ten times a second; True ends the search with the best found so far.

    Returns
    -------
    BestReachable
        Of one search that ran to its end with a seed always the same.

    Notes
    -----
    Every rotor is solved once for all drivetrains, generators and loads together; in the later rounds the best few of
    these are weighed in all believed worlds, by the expected scored power. What is kept meanwhile does not grow with
    the number of designs looked at.
    """
    begun, effort = time.perf_counter(), EFFORTS[effort]
    run = Run(
        scorer,
        turbine,
        worlds,
        parts_bin=parts_bin,
        event=event,
        acceptable=acceptable,
        start_guarantee=start_guarantee,
        in_hand=in_hand,
        tried=tried,
        progress=Progress(tick, cancelled),
    )
    with _workers(executor) as pool, contextlib.suppress(Stopped):
        _explore(run, pool, seed=seed, effort=effort)
    best = _best_standing(run, _HURRIED if run.progress.stopped else effort.valued)
    ohms = moves_electric.resistances(parts_bin)
    path = build_path.build_path(run.scorer, run.now, best.assembly.turbine, run.judge, resistances=ohms)
    best = path.worth if run.better(path.worth, best) else best  # its loads are chosen in all worlds
    run.progress.stage(6, 1.0)
    early, seconds = run.progress.stopped, time.perf_counter() - begun
    path = replace(path, rest_is_noise=not early)
    return BestReachable(best.assembly.turbine, best, path, _evaluations(run, effort), early, seconds)


@contextlib.contextmanager
def _workers(executor):
    """Lend the executor given, or two processes that are ended at the end."""
    if executor is not None:
        yield executor
        return
    own = Workers()
    try:
        yield own
    finally:
        own.stop()


def _explore(run, pool, *, seed, effort):
    """Find the designs that are worth most in all worlds."""
    every = range(len(run.task.space.kinds))
    count, looks, radius = effort.climb
    run.begin(run.task, count)
    run.gather(pool, 0, _sampling(run.task, [(kind, ()) for kind in every], effort.samples, (seed, 0)))
    starts = [run.found.of(one.kind) for one in _leaders(run, effort.kept[0])]
    run.begin(_with_few_chains(run, (mine[0] for mine in starts)), effort.closer)
    run.gather(pool, 1, [(search_jobs.climb_kind, run.task, mine, looks, radius) for mine in starts])
    climbed = [(mine[0].kind, [one.point for one in run.found.of(mine[0].kind)]) for mine in starts]
    task = replace(_with_few_chains(run, run.found.best()), robust=True, chains=effort.chains)
    count, looks, radius = effort.robust
    run.begin(task, effort.closer)
    run.gather(pool, 2, _sampling(task, climbed, 1, (seed, 1), chunk=1))
    starts = [run.found.of(one.kind)[:count] for one in _leaders(run, effort.kept[1])]
    run.gather(pool, 3, [(search_jobs.climb_kind, task, mine, looks, radius) for mine in starts])
    exact, best = replace(task, exact=True), search_jobs.distinct(run.found.best(), effort.finished)
    run.gather(pool, 4, [(search_jobs.polish, exact, one, _LAST_STEP) for one in best], run.finished)


def _with_few_chains(run, found):
    """Task with the chains alone that are near to the best behind some rotor."""
    near = {chain for one in found for chain in one.near}
    return replace(run.task, choice=run.task.choice.only(near)) if near else run.task


def _leaders(run, most):
    """Leaders; in a search for a try the best of every section before the second of any."""
    return (_first_of_each_section(run) if run.task.in_hand else run.found.leaders())[:most]


def _first_of_each_section(run):
    """Leaders, the best of every section before the second of any: what was never read may turn out best."""
    leaders, kinds, first = run.found.leaders(), run.task.space.kinds, {}
    for one in leaders:
        first.setdefault(kinds[one.kind].section, one)
    return [*first.values(), *(one for one in leaders if one not in first.values())]


def _sampling(task, starts, count, seed, *, chunk=_CHUNK):
    chunks = [starts[i : i + chunk] for i in range(0, len(starts), chunk)]
    return [(search_jobs.sample, task, some, count, seed) for some in chunks]


def _evaluations(run, effort):
    """Rotors looked at before the last polish, at most."""
    kinds = len(run.task.space.kinds)
    first, second = (min(kinds, kept) for kept in effort.kept)
    climbed, robust = (starts * looks for starts, looks, _ in (effort.climb, effort.robust))
    return kinds * effort.samples + first * (climbed + effort.closer + 1) + second * robust


def _best_standing(run, most):
    """Of what was found the build with the largest expected scored power that may be run; else the turbine as it is."""
    best, kept = run.now, 0
    offers = [*run.finished.best(), *search_jobs.distinct(run.found.best(), 3 * most)]
    with contextlib.suppress(Stopped):
        for number, one in enumerate(offers):
            run.progress.stage(5, number / len(offers))
            worth = run.standing(one)
            kept += worth is not None
            best = worth if run.better(worth, best) else best
            if kept == most:
                break
    return best
