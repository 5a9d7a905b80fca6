"""Value every move the room can make and put them in order."""

import itertools
from dataclasses import dataclass, replace

import numpy as np

from whirlbench.advise import moves_drivetrain, moves_electric, moves_rotor, moves_stand
from whirlbench.advise.score import build_scatter, fresh_worlds
from whirlbench.errors import InputError
from whirlbench.parts.load import Resistor

_KEPT = {"rotor": 3, "drivetrain": 40, "generator": 3, "load": 40, "tower": 3}  # of each family, to be valued in full
_LIKELY = 0.5


@dataclass(frozen=True)
class Valued:
    """A move with its worth.

    Attributes
    ----------
    move : Move
        The change.
    worth : Worth
        The turbine after it.
    gain : array, shape (n,)
        Scored power after less before, in every world [W].
    """

    move: object
    worth: object
    gain: np.ndarray

    @property
    def mean(self):
        """Expected gain [W]."""
        return float(self.gain.mean())

    @property
    def sigma(self):
        """Standard deviation of the gain [W]."""
        return float(self.gain.std())

    @property
    def chance(self):
        """Share of worlds in which it is a gain."""
        return float((self.gain > 0).mean())

    @property
    def starts(self):
        """Whether the turbine starts by itself after the move, best estimate."""
        return bool(self.worth.starts[0])

    @property
    def stands(self):
        """Whether it neither slides nor tips in most worlds."""
        return bool(self.worth.stands.mean() > _LIKELY)


def all_moves(turbine, parts_bin, event):
    """Every change the room can make.

    Parameters
    ----------
    turbine : Turbine
        The turbine now, its load settled.
    parts_bin : PartsBin
        What there is to build from.
    event : Event or None
        Bounds on size.

    Returns
    -------
    list of Move
        All that can be described; a change that no part allows is left out.
    """
    offers = (
        *moves_rotor.moves(turbine, parts_bin, event),
        *moves_drivetrain.moves(turbine, parts_bin),
        *moves_electric.moves(turbine, parts_bin),
        *moves_stand.moves(turbine, parts_bin, event),
    )
    return [move for move in offers if move.turbine is not None]


def screened(scorer, moves, parts_bin, worlds, *, allowed=lambda worth: True):
    """The best few of each family by best estimate, with a better resistor where that clearly pays.

    Parameters
    ----------
    scorer : Scorer
        Values builds.
    moves : sequence of Move
        All moves.
    parts_bin : PartsBin
        Its resistors.
    worlds : Worlds
        The first world is used.
    allowed : callable
        Whether a build may be made; those that may not come last in their family.

    Returns
    -------
    list of Move
        Strongest first. A build that cannot be computed is left out.

    Notes
    -----
    The order is that of steady power by straight lines, some 0.1 % off; what running up to speed costs is counted when
    a move is valued in every world.
    """
    resistances = moves_electric.resistances(parts_bin)
    best = worlds.only([0])
    families = {}
    for move in moves:
        try:
            sketch = scorer.sketch(move.turbine, fresh_worlds(best, move.turbine, move.fresh))
        except InputError:  # such as LEDs on a machine without diodes: no build at all
            continue
        offer = _with_load(scorer, move, sketch, resistances if move.part != "load" else ())
        families.setdefault((move.part, move.family), []).append(offer)

    def good(move):
        worth = scorer.worth(move.turbine, fresh_worlds(best, move.turbine, move.fresh))
        return bool(worth.stands[0]) and allowed(worth)

    kept = itertools.chain.from_iterable(_first_good(good, offers, _KEPT[key[0]]) for key, offers in families.items())
    return [move for _, move in sorted(kept, key=lambda offer: -offer[0])]


def _first_good(good, offers, count):
    """The strongest offers that are good, and the strongest of the others where these are too few."""
    found, others = [], []
    for power, move in sorted(offers, key=lambda offer: -offer[0]):
        (found if good(move) else others).append((power, move))
        if len(found) == count:  # the weaker ones need no closer look
            break
    return (found + others)[:count]


def best_of_families(judged, acceptable):
    """Of several valued moves of one family the best that may be done; all of a family of separate parts.

    Parameters
    ----------
    judged : iterable
        Each with ``one``, a Valued.
    acceptable : callable
        Whether one of them may be done.

    Returns
    -------
    list
        Those kept, what may be done first, then by expected gain.
    """
    order = sorted(judged, key=lambda each: (not acceptable(each), -each.one.mean))
    kept, seen = [], set()
    for each in order:
        move = each.one.move
        if move.part in ("drivetrain", "load") or (move.part, move.family) not in seen:
            kept.append(each)
        seen.add((move.part, move.family))
    return kept


def valued(scorer, now, move, worlds):
    """A move valued in every world.

    Parameters
    ----------
    scorer : Scorer
        Values builds.
    now : Worth
        The turbine before the move.
    move : Move
        The change.
    worlds : Worlds
        Belief about the turbine before the move.

    Returns
    -------
    Valued
        Gain in every world.
    """
    worth = scorer.worth(move.turbine, fresh_worlds(worlds, move.turbine, move.fresh, move.family))
    remade = move.part in ("rotor", "drivetrain", "generator") and move.family not in ("pitch", "number of blades")
    after = worth.power * (build_scatter(len(worlds), move.family) if remade else 1.0)
    return Valued(move, worth, after - now.power)


def _with_load(scorer, move, build, resistances):
    """Power [W] of a move, and the move with the resistor that suits it, where that clearly pays."""
    ohms, power = scorer.best_load(build, resistances)
    if ohms is None:
        return power, move
    turbine = move.turbine.changed(load=Resistor(resistance=ohms))
    load = moves_electric.describe(turbine.load)
    new = replace(move, turbine=turbine, change=f"{move.change}, loaded with {load}", after=f"{move.after}, {load}")
    return power, new
