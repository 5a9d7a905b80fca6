"""The best build that bin and event allow: a search over rotors with every chain, then a choice in all worlds."""

import concurrent.futures
import functools
import multiprocessing
import time
from dataclasses import dataclass, field, replace

import numpy as np

from whirlbench.advise import build_path, chain_choice, designs, moves_electric, moves_stand, problems, search_jobs
from whirlbench.advise.path import Path
from whirlbench.advise.score import Scorer
from whirlbench.errors import WhirlbenchError
from whirlbench.predict import world
from whirlbench.predict.stand import stand

_CHUNK = 3  # kinds of blades in one job of the sampling
_WORKERS = 2
_POLL = 0.1  # [s] between looks at whether to stop
_RETUNED, _CHAINS = 5, 8  # finalists whose other chains are valued too, and how many of them
_LEAST_SAFETY = 1.0  # on sliding and tipping, where no event asks for more
_DOUBT = 1.22  # three equal points this many sigma apart have the believed spread
_SHARES = (0.15, 0.15, 0.4, 0.25, 0.05)  # of the work: sampling twice, evolving, valuing, the path; roughly


@dataclass(frozen=True)
class Effort:
    """How hard to look.

    Attributes
    ----------
    samples : tuple of 2 int
        Points of each kind of blades in the first and the second round.
    kept : tuple of 2 int
        Kinds that reach the second round, and that evolve.
    population, generations : int
        Of the evolution.
    valued : int
        Designs that are valued in all worlds.
    polish : tuple of float
        Steps by which the numbers of the best are moved at last, as shares of their range.
    """

    samples: tuple
    kept: tuple
    population: int
    generations: int
    valued: int
    polish: tuple


EFFORTS = {
    "quick": Effort((4, 10), (6, 2), 12, 6, 6, (0.06,)),
    "normal": Effort((8, 20), (12, 4), 22, 14, 12, (0.08, 0.03)),
    "thorough": Effort((24, 60), (20, 12), 40, 60, 32, (0.1, 0.05, 0.02, 0.02)),
}


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
        Rotors looked at, each with every chain at hand.
    seconds : float
        Time that it took [s].
    """

    turbine: object
    worth: object = field(compare=False)
    path: Path = field(compare=False)
    evaluations: int
    seconds: float = field(compare=False)


class _Stopped(Exception):
    """Raised between two chunks when the caller has had enough."""


def search(
    scorer,
    turbine,
    worlds,
    *,
    parts_bin,
    event,
    acceptable=lambda worth: True,
    start_guarantee=0.9,
    executor=None,
    seed=0,
    effort="normal",
    tick=lambda share: None,
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
    executor : concurrent.futures.Executor, optional
        Where the work is done; without it in two processes of this machine.
    seed : int
        Same seed, same answer, whatever the executor.
    effort : str
        ``quick``, ``normal`` or ``thorough``.
    tick : callable
        Called with the share of the work that is done.
    cancelled : callable
        Asked now and then; True ends the search.

    Returns
    -------
    BestReachable or None
        None when cancelled.

    Notes
    -----
    Every rotor is solved once for all drivetrains, generators and loads together. A start counts as sure enough when
    the best estimate has the margin that the guarantee asks for; the finalists are held to it world by world.
    """
    begun = time.perf_counter()
    run = _Run(Scorer(scorer.event, scorer.wind_speeds), turbine, worlds, parts_bin=parts_bin, event=event)
    run.settle(acceptable, start_guarantee, Progress(tick, cancelled))
    own = executor is None
    try:
        pool = _processes() if own else executor
        archive, looked = _archive(run, pool, seed, EFFORTS[effort])
        best = _choice(run, archive, EFFORTS[effort])
        path = build_path.build_path(
            run.scorer, run.now, best.assembly.turbine, run.judge, resistances=moves_electric.resistances(parts_bin)
        )
        best = path.worth if _better(path.worth, best) else best  # its loads are chosen in all worlds
        run.progress.stage(4, 1.0)
    except _Stopped:
        return None
    finally:
        if own:
            pool.shutdown(wait=False, cancel_futures=True)
    return BestReachable(best.assembly.turbine, best, path, looked, time.perf_counter() - begun)


class Progress:
    """Tells how far the search is, and stops it when asked to.

    Parameters
    ----------
    tick : callable
        Called with the share of the work that is done.
    cancelled : callable
        True ends the search.
    """

    def __init__(self, tick, cancelled):
        self._tick, self.cancelled = tick, cancelled

    def stage(self, number, share):
        """Report a share of one stage.

        Parameters
        ----------
        number : int
            0 and 1 sampling, 2 evolving, 3 valuing, 4 the path.
        share : float
            Of that stage, 0 to 1.
        """
        self.check()
        self._tick(sum(_SHARES[:number]) + share * _SHARES[number])

    def check(self):
        """Stop when asked to."""
        if self.cancelled():
            raise _Stopped


class _Run:
    """What all stages of one search share."""

    def __init__(self, scorer, turbine, worlds, *, parts_bin, event):
        self.scorer, self.turbine, self.worlds = scorer, turbine, worlds
        self.parts_bin, self.event = parts_bin, event
        self.must_start = event is None or event.must_start
        self.stands = _stands(turbine, parts_bin, event)

    def settle(self, acceptable, start_guarantee, progress):
        """Value the turbine as it is, and prepare the task of the jobs."""
        self.progress = progress
        self.now = self.scorer.worth(self.turbine, self.worlds)
        before = problems.problems(self.now)

        def may_run(worth):
            if not worth.stands.mean() > 0.5 or not acceptable(worth):
                return False
            return not any(one.unsafe for one in problems.change(before, problems.problems(worth))[1])

        self.space = designs.space(self.turbine, self.parts_bin, self.event)
        makeable = functools.partial(designs.makeable, self.space)
        self.judge = build_path.Judge(may_run, makeable, self.must_start, start_guarantee)
        choice = chain_choice.chains_at_hand(
            self.turbine,
            self.parts_bin,
            self.event,
            worlds=self.worlds,
            start_guarantee=start_guarantee,
            most_thrust=_most_thrust(self.stands[-1], self.worlds, self.event),
        )
        best = world.Worlds(self.worlds.log_factors[:1])
        self.task = search_jobs.Task(self.space, choice, self.plain_scorer(), best)

    def plain_scorer(self):
        """Return a scorer that remembers no rotor yet."""
        return Scorer(self.scorer.event, self.scorer.wind_speeds)

    def worth(self, scorer, target):
        """Value a build in every world, what is new in it unread."""
        moves = build_path.exchange_all(self.turbine, target, build_path.differences(self.turbine, target))
        return build_path.valued(scorer, self.now, moves).worth if moves else self.now

    def gather(self, pool, stage, jobs):
        """Results of jobs in their own order, whatever order they finish in."""
        futures = [pool.submit(*job) for job in jobs]
        waiting = set(futures)
        while waiting:
            _, waiting = concurrent.futures.wait(waiting, _POLL, concurrent.futures.FIRST_COMPLETED)
            try:
                self.progress.stage(stage, 1 - len(waiting) / len(futures))
            except _Stopped:
                for one in waiting:
                    one.cancel()
                raise
        return [found for future in futures for found in future.result()]


def _processes():
    context = multiprocessing.get_context("spawn")
    return concurrent.futures.ProcessPoolExecutor(_WORKERS, mp_context=context)


def _archive(run, pool, seed, effort):
    """Distinct designs, best first by best estimate, and how many rotors were looked at."""
    task, kinds = run.task, list(range(len(run.space.kinds)))
    first = run.gather(pool, 0, _sampling(task, kinds, effort.samples[0], (seed, 0)))
    leaders = _leaders(first, effort.kept[0])
    near = {chain for one in leaders for chain in one.near}
    few = replace(task, choice=task.choice.only(near) if near else task.choice, doubt=_DOUBT)
    kinds = [one.kind for one in leaders]
    second = run.gather(pool, 1, _sampling(few, kinds, effort.samples[1], (seed, 1)))
    population = {}
    for one in sorted(second, key=lambda each: -each.value):
        population.setdefault(one.kind, []).append(one)
    last = [one.kind for one in _leaders(second, effort.kept[1])]
    jobs = [
        (search_jobs.evolve_kind, few, population[kind][: effort.population], effort.generations, seed) for kind in last
    ]
    third = run.gather(pool, 2, jobs)
    found = sorted((one for one in [*second, *third] if one.chain), key=lambda each: -each.value)
    looked = len(run.space.kinds) * effort.samples[0] + len(kinds) * effort.samples[1]
    looked += sum(len(job[2]) for job in jobs) * (effort.generations + 1)
    return search_jobs.distinct(found, 3 * effort.valued), looked


def _sampling(task, kinds, count, seed):
    chunks = [kinds[i : i + _CHUNK] for i in range(0, len(kinds), _CHUNK)]
    return [(search_jobs.sample, task, chunk, count, seed) for chunk in chunks]


def _leaders(found, most):
    """The best design of each of the best kinds."""
    best = {}
    for one in sorted(found, key=lambda each: -each.value):
        best.setdefault(one.kind, one)
    return list(best.values())[:most]


def _choice(run, archive, effort):
    """Of the archive the build with the largest expected scored power that may be run; else the turbine as it is."""
    best, at, tried, kept, task = run.now, None, [], 0, replace(run.task, doubt=_DOUBT)
    for number, one in enumerate(archive):
        run.progress.stage(3, 0.5 * number / len(archive))
        found = search_jobs.look(task, one.kind, one.point)  # again with every chain
        if found.chain:
            [(chain, worth)] = _standing(run, found, found.near[:1])
            tried.append((worth.power.mean() if worth else found.value, found))
            kept += worth is not None
            if _better(worth, best):
                best, at = worth, (found, chain)
        if kept == effort.valued:
            break
    tried.sort(key=lambda pair: -pair[0])
    for number, (_, found) in enumerate(tried[:_RETUNED]):
        run.progress.stage(3, 0.5 + 0.2 * number / _RETUNED)
        for chain, worth in _standing(run, found, found.near[1 : 1 + _CHAINS]):
            if _better(worth, best):
                best, at = worth, (found, chain)
    return _polished(run, best, at, effort.polish) if at else best


def _better(one, other):
    return one is not None and one.power.mean() > other.power.mean()


def _polished(run, best, at, steps):
    """A build whose free numbers have been moved up and down while that gains in the mean of all worlds."""
    found, chain = at
    for number, step in enumerate(steps):
        for axis in range(len(found.point)):
            run.progress.stage(3, 0.7 + 0.3 * (number + axis / len(found.point)) / len(steps))
            for way in (step, -step):
                point = np.array(found.point)
                point[axis] = min(max(point[axis] + way, 0.0), 1.0)
                moved = replace(found, point=tuple(point.tolist()))
                [(_, worth)] = _standing(run, moved, [chain])
                if _better(worth, best):
                    best, found = worth, moved
                    break
    return best


def _standing(run, found, chains):
    """A rotor with each of several chains, in every world on the first stand that bears it; None where none does."""
    scorer = run.plain_scorer()  # it remembers this rotor only as long as it is wanted
    made = designs.build(run.space, run.space.kinds[found.kind], found.point)
    for supply, train, load in chains:
        part = run.task.choice.supplies[supply]
        fields = {"drivetrain": run.task.choice.trains[train], "generator": part.generator, "load": part.loads[load]}
        target = made and run.turbine.changed(rotor=made.rotor, **fields)
        yield (supply, train, load), target and _held(run, scorer, target)


def _held(run, scorer, target):
    """A build in every world on the first stand that bears it, or None."""
    for held in run.stands:
        try:
            worth = run.worth(scorer, target.changed(tower=held.tower, base=held.base))
        except WhirlbenchError:
            return None
        if run.must_start and worth.starts.mean() < run.judge.start_guarantee:
            return None  # no stand mends that
        if run.judge.allows(worth):
            return worth
    return None


def _stands(turbine, parts_bin, event):
    """The stand as it is, then firmer and firmer ones."""
    stands = [turbine]
    for family in ("feet", "ballast", "base", "joint"):
        offers = [move.turbine for move in moves_stand.moves(stands[-1], parts_bin, event) if move.family == family]
        widest = event.max_base_width if event is not None and event.max_base_width else np.inf
        stands.extend(one for one in offers if family != "base" or one.base.width <= widest + 1e-9)
    return stands


def _most_thrust(turbine, worlds, event):
    """Push that the firmest stand bears, best estimate [N]."""
    foot, push = stand(turbine.tower, turbine.base), np.ones((1, 1))
    least = event.min_safety if event is not None else _LEAST_SAFETY
    sliding = foot.sliding_safety(push, world.Worlds(worlds.log_factors[:1]))
    return float(min(sliding[0, 0], foot.tipping_safety(push)[0, 0])) / least
