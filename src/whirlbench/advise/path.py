"""A path of moves, each the best next one: where the bin can take this turbine step by step."""

from dataclasses import dataclass

WORTH_IT = 0.03  # a step must gain this share of what there is: below it noise and building scatter win
_LIKELY = 0.6  # and be a gain in this share of the believed worlds


@dataclass(frozen=True)
class Path:
    """Moves in order.

    Attributes
    ----------
    steps : tuple
        Judged moves, each valued after the steps before it.
    worth : Worth
        The turbine at the end.
    rest_is_noise : bool
        What could still be gained after the last step is below noise and building scatter, as far as was looked.
    held_back : bool
        There is more to gain, by moves that would not start surely enough, keep the rules or hold.
    """

    steps: tuple
    worth: object
    rest_is_noise: bool = True
    held_back: bool = False


def path(worth, judged, *, rank_after, acceptable, most=3):
    """Take the best acceptable move again and again.

    Parameters
    ----------
    worth : Worth
        The turbine now.
    judged : list
        Its ranked moves, each with ``one``, a Valued.
    rank_after : callable
        Ranked moves of a later build, from its Worth and the families already used up.
    acceptable : callable
        Whether a judged move is allowed, safe and starts.
    most : int
        Steps at most.

    Returns
    -------
    Path
        Shorter than ``most`` where nothing more is worth its work.

    Notes
    -----
    Greedy: it can miss pairs of changes that only pay together. A family is used once, since its parts may be used up.
    """
    steps, used, good, paying = [], set(), True, False
    while len(steps) < most:
        paying = [each for each in judged if pays(each.one, worth)]
        good = [each for each in paying if acceptable(each)]
        if not good:
            break
        best = max(good, key=lambda each: each.one.mean)
        steps.append(best)
        used.add(best.one.move.family)
        worth = best.one.worth
        if len(steps) < most:
            judged = rank_after(worth, used)
    return Path(tuple(steps), worth, rest_is_noise=not paying, held_back=bool(paying) and not good)


def pays(one, worth, likely=_LIKELY):
    """Whether a move gains more than noise and building scatter.

    Parameters
    ----------
    one : Valued
        The move.
    worth : Worth
        The turbine before it.
    likely : float
        Share of the believed worlds in which it has to be a gain [-].

    Returns
    -------
    bool
        True for at least 3 % of the power there is, in most believed worlds.
    """
    return one.mean > WORTH_IT * worth.power.mean() and one.chance >= likely
