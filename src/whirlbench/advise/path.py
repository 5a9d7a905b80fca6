"""A path of moves, each the best next one: where the bin can take this turbine step by step."""

from dataclasses import dataclass

from whirlbench.advise import rank
from whirlbench.advise.score import fresh_worlds

_TRIED = 4  # moves of each step that are valued in every world
_WORTH_IT = 0.03  # a step must gain this share of what there is: below it noise and building scatter win


@dataclass(frozen=True)
class Path:
    """Moves in order.

    Attributes
    ----------
    steps : tuple of Valued
        Each valued after the steps before it.
    worth : Worth
        The turbine at the end.
    turbine : Turbine
        Its parts.
    """

    steps: tuple
    worth: object
    turbine: object


def path(scorer, turbine, worlds, *, parts_bin, event, acceptable, offers, most=3):
    """Take the best acceptable move again and again.

    Parameters
    ----------
    scorer : Scorer
        Values builds.
    turbine : Turbine
        The turbine now, its load settled.
    worlds : Worlds
        Belief about it.
    parts_bin : PartsBin
        What there is to build from; parts already in the turbine count as still there.
    event : Event or None
        Bounds on size.
    acceptable : callable
        Whether a valued move is allowed, stands and starts.
    offers : list of tuple (Move, power [W])
        The first step's moves, as ``rank.screened`` gives them.
    most : int
        Steps at most.

    Returns
    -------
    Path
        Shorter than ``most`` where nothing more is worth its work.

    Notes
    -----
    Greedy: it can miss pairs of changes that only pay together.
    """
    worth, steps = scorer.worth(turbine, worlds), []
    while len(steps) < most:
        tried = [rank.valued(scorer, worth, move, worlds) for move, _ in offers[:_TRIED]]
        good = [one for one in tried if acceptable(one) and one.mean > _WORTH_IT * worth.power.mean()]
        if not good:
            break
        best = max(good, key=lambda one: one.mean)
        steps.append(best)
        turbine, worth = best.move.turbine, best.worth
        worlds = fresh_worlds(worlds, turbine, best.move.fresh, seed=7 + len(steps))
        if len(steps) < most:
            offers = rank.screened(scorer, rank.all_moves(turbine, parts_bin, event), parts_bin, worlds)
    return Path(tuple(steps), worth, turbine)
