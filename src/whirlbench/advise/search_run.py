"""What all stages of one search share: task, judge and progress, and builds on the first stand that bears them."""

import concurrent.futures
import functools
from dataclasses import replace

import numpy as np

from whirlbench.advise import build_path, chain_choice, designs, moves_stand, problems, search_jobs
from whirlbench.advise.archive import Archive
from whirlbench.advise.goal import beyond
from whirlbench.advise.score import Scorer
from whirlbench.errors import WhirlbenchError
from whirlbench.predict.stand import stand

STAGES = (
    "looking at every kind of blades",
    "climbing from the best kinds in one hard world",
    "looking closer at the best kinds",
    "climbing from the best in every world",
    "moving the numbers of the best up and down",
    "holding the best to the rules",
    "putting the steps in order",
)
STOPPING = "stopping: weighing the best so far"
_SHARES = (0.15, 0.2, 0.05, 0.45, 0.05, 0.05, 0.05)  # of the work; roughly
_POLL = 0.1  # [s] between looks at whether to stop
_WORTH_A_TRY = 0.005  # share of the power in hand that a try must be expected to win
_HARD_BY = (
    0.8  # doubts: of 0, 0.25, 0.5, 0.65, 0.8 and 1 tried on two examples with four seeds, the one that ended best
)
_LEAST_SAFETY = 1.0  # on sliding and tipping, where no event asks for more


class Stopped(Exception):
    """Raised once, between two pieces of work, when the caller has had enough."""


class Progress:
    """Tells how far the search is, and stops it when asked to.

    Parameters
    ----------
    tick : callable
        Called with the name of the stage and the share of the whole work that is done.
    cancelled : callable
        True ends the search.
    """

    def __init__(self, tick, cancelled):
        self._tick, self._cancelled, self.stopped = tick, cancelled, False

    def stage(self, number, share):
        """Report a share of one stage.

        Parameters
        ----------
        number : int
            Index of ``STAGES``.
        share : float
            Of that stage, 0 to 1.

        Raises
        ------
        Stopped
            The first time that the search is asked to stop.
        """
        if not self.stopped and self._cancelled():
            self.stopped = True
            raise Stopped
        name = STOPPING if self.stopped else STAGES[number]
        self._tick(name, sum(_SHARES[:number]) + share * _SHARES[number])


class Run:
    """What all stages of one search share.

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
        Bounds.
    acceptable : callable
        Whether a Worth keeps the rules.
    start_guarantee : float
        Least chance of a start by itself [-].
    in_hand : float
        Power of the best build so far [W].
    tried : sequence of Turbine
        Not offered.
    progress : Progress
        Told of every step.
    """

    def __init__(
        self, scorer, turbine, worlds, *, parts_bin, event, acceptable, start_guarantee, in_hand, progress, tried=()
    ):
        self.turbine, self.parts_bin, self.progress, self.tried = turbine, parts_bin, progress, [*map(_turning, tried)]
        self.scorer = Scorer(scorer.event, scorer.wind_speeds)
        self.now = self.scorer.worth(turbine, worlds)
        self.stands = _stands(turbine, parts_bin, event)
        space = designs.space(turbine, parts_bin, event)
        must_start = event is None or event.must_start
        makeable = functools.partial(designs.makeable, space)
        self.judge = build_path.Judge(self._may_run(acceptable), makeable, must_start, start_guarantee)
        choice = chain_choice.chains_at_hand(
            turbine,
            parts_bin,
            event,
            worlds=worlds,
            start_guarantee=start_guarantee,
            most_thrust=_most_thrust(self.stands[-1], worlds, event),
        )
        scorer = self._plain_scorer()
        self.finished = Archive(1)  # what has been valued in full
        task = search_jobs.Task(space, choice, scorer, worlds, self.stands[-1], start_guarantee, in_hand)
        self.begin(replace(task, harder=_HARD_BY), 1)

    def better(self, one, other):
        """Whether a build, or None, is worth more than another."""
        if one is None or (one is not self.now and _turning(one.assembly.turbine) in self.tried):
            return False
        return self._value(one) > self._value(other)

    def _value(self, worth):
        in_hand = self.task.in_hand
        if in_hand and worth is self.now:
            return _WORTH_A_TRY * in_hand  # to build what stands there already wins nothing
        return beyond(worth.power, in_hand)

    def _may_run(self, acceptable):
        before = problems.problems(self.now)

        def may_run(worth):
            if not worth.stands.mean() > 0.5 or not acceptable(worth):
                return False
            return not any(one.unsafe for one in problems.change(before, problems.problems(worth))[1])

        return may_run

    def begin(self, task, most):
        """Begin a round of its own task with nothing found.

        Parameters
        ----------
        task : Task
            What its jobs look for; chains in what they find are numbered by it.
        most : int
            Designs to keep of each kind of blades.
        """
        self.task, self.found = task, Archive(most)

    def gather(self, pool, stage, jobs, archive=None):
        """Keep the best of the designs that jobs find, as they come, and stop when asked to.

        Parameters
        ----------
        pool : concurrent.futures.Executor
            Where the jobs are done.
        stage : int
            Index of ``STAGES``.
        jobs : iterable of tuple
            Function and arguments; its result is a sequence of Found.
        archive : Archive, optional
            Where to keep them, if not in that of the round.

        Raises
        ------
        Stopped
            When asked to; jobs that have not begun are called off.
        """
        archive = self.found if archive is None else archive
        waiting = {pool.submit(*job) for job in jobs}
        count = len(waiting)
        try:
            self.progress.stage(stage, 0.0)
            while waiting:
                done, waiting = concurrent.futures.wait(waiting, _POLL, concurrent.futures.FIRST_COMPLETED)
                for future in done:
                    archive.add(future.result())
                self.progress.stage(stage, 1 - len(waiting) / count)
        finally:
            for future in waiting:
                future.cancel()

    def standing(self, found):
        """Value a design in every world, on the first stand that bears it.

        Parameters
        ----------
        found : Found
            The design.

        Returns
        -------
        Worth or None
            None where it may not be run on any stand.
        """
        scorer = self._plain_scorer()
        made = designs.build(self.task.space, self.task.space.kinds[found.kind], found.point)
        target = search_jobs.with_chain(self.task.choice, made, found.chain)
        for held in self.stands:
            try:
                worth = self._worth(scorer, target.changed(tower=held.tower, base=held.base))
            except WhirlbenchError:
                return None
            if self.judge.must_start and worth.starts.mean() < self.judge.start_guarantee:
                return None  # no stand mends that
            if self.judge.allows(worth) and _turning(worth.assembly.turbine) not in self.tried:
                return worth
        return None

    def _worth(self, scorer, target):
        """Value a build in every world, what is new in it unread."""
        moves = build_path.exchange_all(self.turbine, target, build_path.differences(self.turbine, target))
        return build_path.valued(scorer, self.now, moves).worth if moves else self.now

    def _plain_scorer(self):
        """Return a scorer that remembers no rotor yet: it forgets this one when it is no longer wanted."""
        return Scorer(self.scorer.event, self.scorer.wind_speeds)


def _turning(turbine):
    """All that turns, and the load: on another stand it is the same try."""
    return turbine.rotor, turbine.bearing, turbine.drivetrain, turbine.generator, turbine.load


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
    sliding = foot.sliding_safety(push, worlds.only([0]))
    return float(min(sliding[0, 0], foot.tipping_safety(push)[0, 0])) / least
