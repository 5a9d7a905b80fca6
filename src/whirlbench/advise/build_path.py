"""The way from a turbine to a better one: what differs, in an order in which every step may be run."""

import functools
import itertools
from dataclasses import dataclass, replace

from whirlbench import units
from whirlbench.advise import kin, moves_blades, moves_drivetrain, moves_electric, moves_rotor
from whirlbench.advise.move import Move
from whirlbench.advise.path import Path, pays
from whirlbench.advise.rank import Valued
from whirlbench.advise.score import build_scatter, fresh_worlds
from whirlbench.errors import WhirlbenchError
from whirlbench.physics import hub

COMPONENTS = ("blades", "number of blades", "covers", "drivetrain", "generator", "load", "stand")
_BLADES = ("section", "shape", "pitch")
_LIKELY = 0.5  # the end is known to be worth it, so a step need only be a gain more often than not
_SCATTERED = ("rotor", "drivetrain", "generator")


@dataclass(frozen=True)
class Judge:
    """What a step must keep.

    Attributes
    ----------
    acceptable : callable
        Whether a Worth is legal and safe.
    makeable : callable
        Whether the bin can make a turbine's rotor.
    must_start : bool
        It has to start by itself.
    start_guarantee : float
        Least chance of a start [-].
    """

    acceptable: object
    makeable: object
    must_start: bool
    start_guarantee: float

    def allows(self, worth, least=1.0):
        """Tell whether a build may be run.

        Parameters
        ----------
        worth : Worth
            The build in every world.
        least : float
            Chance of a start that is enough where it is below the guarantee [-].

        Returns
        -------
        bool
            Legal, safe, and sure enough of its start.
        """
        sure = worth.starts[0] and worth.starts.mean() >= min(self.start_guarantee, least) - 1e-9
        return bool(sure or not self.must_start) and bool(self.acceptable(worth))


def differences(turbine, target):
    """Components in which two turbines differ.

    Parameters
    ----------
    turbine, target : Turbine
        Before and after.

    Returns
    -------
    tuple of str
        Of ``COMPONENTS``, in their order.
    """
    old, new = turbine.rotor, target.rotor
    differ = {
        "blades": any(getattr(old, name) != getattr(new, name) for name in _BLADES),
        "number of blades": old.holes != new.holes,
        "covers": old.rod != new.rod,
        "drivetrain": turbine.drivetrain != target.drivetrain,
        "generator": turbine.generator != target.generator,
        "load": turbine.load != target.load,
        "stand": (turbine.tower, turbine.base) != (target.tower, target.base),
    }
    return tuple(name for name in COMPONENTS if differ[name])


def exchanged(turbine, target, component):
    """Move that takes one component over from another turbine.

    Parameters
    ----------
    turbine, target : Turbine
        Before and after.
    component : str
        One of ``COMPONENTS``.

    Returns
    -------
    Move
        Its turbine is None where the component does not fit the rest.
    """
    if component == "drivetrain":
        return moves_drivetrain.exchange(turbine, target.drivetrain)
    if component == "generator":
        return moves_electric.exchange(turbine, target.generator)
    if component == "load":
        return moves_electric.connect(turbine, target.load)
    if component == "covers":
        return moves_rotor.cover(turbine)
    if component == "number of blades":
        new = moves_blades.with_rotor(turbine, holes=target.rotor.holes, weighed=())
        return moves_rotor.recount(turbine, new, _spacing(target.rotor))
    return _stand(turbine, target) if component == "stand" else _blades(turbine, target)


def exchange_all(turbine, target, components):
    """Moves that take several components over, one after the other.

    Parameters
    ----------
    turbine, target : Turbine
        Before and after.
    components : sequence of str
        Of ``COMPONENTS``.

    Returns
    -------
    tuple of Move
        Each starts from the turbine of the one before; empty where they do not fit together.
    """
    moves = []
    for component in components:
        move = exchanged(turbine, target, component)
        if move.turbine is None:
            return ()
        moves.append(move)
        turbine = move.turbine
    return tuple(moves)


def believed(worlds, moves):
    """Belief after several moves.

    Parameters
    ----------
    worlds : Worlds
        Belief before them.
    moves : sequence of Move
        One after the other.

    Returns
    -------
    Worlds
        What is new is drawn anew.
    """
    for move in moves:
        worlds = fresh_worlds(worlds, move.turbine, move.fresh, move.family)
    return worlds


def valued(scorer, now, moves, *, resistances=(), load=None):
    """Several moves done at once, valued in every world.

    Parameters
    ----------
    scorer : Scorer
        Values builds.
    now : Worth
        The turbine before.
    moves : sequence of Move
        One after the other.
    resistances : sequence of float
        Resistors to choose from where that clearly pays [ohm].
    load : Resistor or Leds, optional
        A load to choose where it gives more in the mean of all worlds.

    Returns
    -------
    Valued
        As one move.
    """
    worlds, scatter = believed(now.assembly.worlds, moves), 1.0
    for move in moves:
        if move.part in _SCATTERED and move.family not in ("pitch", "number of blades"):
            scatter = scatter * build_scatter(len(worlds), move.family)
    move = _joined(moves)
    worth = scorer.worth(move.turbine, worlds)
    if not any(one.part == "load" for one in moves):
        worth = _loaded(scorer, worth, resistances, load)
    tuned = worth.assembly.turbine
    if tuned.load != move.turbine.load:
        words = moves_electric.describe(tuned.load)
        change, after = f"{move.change}, loaded with {words}", f"{move.after}, {words}"
        move = replace(move, turbine=tuned, change=change, after=after)
    return Valued(move, worth, worth.power * scatter - now.power)


def _loaded(scorer, worth, resistances, load):
    """Build with the load that suits it best in the mean of all worlds."""
    turbine = worth.assembly.turbine
    offers = [scorer.with_best_load(worth, resistances)]
    if load is not None and (load.kind != "leds" or moves_electric.feeds_leds(turbine.generator)):
        offers.append(turbine.changed(load=load))
    tried = [scorer.worth(one, worth.assembly.worlds) for one in offers if one.load != turbine.load]
    return max([worth, *tried], key=lambda each: each.power.mean())


def build_path(scorer, now, target, judge, *, resistances=()):
    """Steps from a turbine to a better one, the largest gain first.

    Parameters
    ----------
    scorer : Scorer
        Values builds.
    now : Worth
        The turbine in every world.
    target : Turbine
        Where to go.
    judge : Judge
        What every step must keep.
    resistances : sequence of float
        Resistors at hand [ohm].

    Returns
    -------
    Path
        Its steps are Valued. Changes that only pay together make one step; what gains less than noise is left out.
    """
    steps, here = [], now
    while left := differences(here.assembly.turbine, target):
        step = _best_step(scorer, here, target, left, judge=judge, resistances=resistances)
        if step is None:
            break
        steps.append(step)
        here = step.worth
    return Path(tuple(steps), here)


def _best_step(scorer, here, target, left, *, judge, resistances):
    """Of the smallest steps that pay and may be run the one that gains most."""
    before = float(here.starts.mean())
    for size in sorted({1, min(2, len(left)), min(3, len(left)), len(left)}):
        best = None
        for components in itertools.combinations(left, size):
            one = _valued_if_any(scorer, here, target, components, judge=judge, resistances=resistances)
            better = one is not None and pays(one, here, _LIKELY) and (best is None or one.mean > best.mean)
            if better and judge.allows(one.worth, before):
                best = one
        if best is not None:
            return best
    return None


def _valued_if_any(scorer, here, target, components, *, judge, resistances):
    moves = exchange_all(here.assembly.turbine, target, components)
    if not moves or not judge.makeable(moves[-1].turbine):
        return None
    try:
        return valued(scorer, here, moves, resistances=resistances, load=target.load)
    except WhirlbenchError:  # a mixture that cannot be computed, such as LEDs on a machine without diodes
        return None


def _joined(moves):
    """Several moves told as one."""
    if len(moves) == 1:
        return moves[0]
    return Move(
        family=" + ".join(move.family for move in moves),
        part=moves[0].part,
        change="; ".join(move.change for move in moves),
        before=", ".join(move.before for move in moves),
        after=", ".join(move.after for move in moves),
        turbine=moves[-1].turbine,
        effort=tuple(row for move in moves for row in move.rows),
        caution=" ".join(dict.fromkeys(filter(None, (move.caution for move in moves)))),
        fresh=tuple(dict.fromkeys(name for move in moves for name in move.fresh)),
    )


def _blades(turbine, target):
    """Move that sets, bends or makes the blades anew."""
    old, new = turbine.rotor, target.rotor
    weighed = new.weighed if len(new.weighed) == old.blade_count else ()
    fields = {name: getattr(new, name) for name in _BLADES} | {"weighed": weighed, "mass_radius": new.mass_radius}
    after, pitch = moves_blades.with_rotor(turbine, **fields), units.plain(new.pitch, "deg")
    before = f"{moves_blades.named(old.section)}, pitch {units.plain(old.pitch, 'deg')}"
    if (old.section, old.shape) == (new.section, new.shape):
        change = f"set the pitch to {pitch}"
        return Move("pitch", "rotor", change, before, pitch, after, "pitch", fresh=unread(old, new))
    described = _described(target)
    if _only_bent(old, new):
        change = f"bend the blades: {described}"
        return Move("camber", "rotor", change, before, described, after, "bend", moves_blades.KNIFE, unread(old, new))
    family = (
        "chord"
        if old.section == new.section
        else f"{new.section.kind}: {getattr(new.section, 'name', new.section.material)}"
    )
    change = f"new blades: {described}"
    effort = moves_blades.effort(new)
    return Move(family, "rotor", change, before, described, after, effort, moves_blades.KNIFE, unread(old, new))


def unread(old, new):
    """Factors that no reading on one rotor tells of another.

    Parameters
    ----------
    old, new : Rotor
        Before and after.

    Returns
    -------
    tuple of str
        Of ``world.FACTORS``.
    """
    if not kin.same_section(old.section, new.section):
        return moves_blades.AIR
    return moves_blades.SET if (old.shape, old.pitch) != (new.shape, new.pitch) else ()


def _described(turbine):
    """Blades in as many words as it takes to make them."""
    rotor, shape = turbine.rotor, turbine.rotor.shape
    twist = shape.twist if shape.kind == "straight" else shape.stations[0].twist
    return (
        f"{moves_blades.named(rotor.section)}, from {units.length(shape.inner_radius)} to "
        f"{units.length(shape.tip_radius)} off the axis, chord {moves_blades.chords(turbine)}, "
        f"twist {units.plain(twist, 'deg')}, pitch {units.plain(rotor.pitch, 'deg')}"
    )


def _only_bent(old, new):
    """Whether the same pieces of sheet can be given the new camber and twist."""
    if not old.section.kind == new.section.kind == "sheet":
        return False
    if new.section.changed(camber=old.section.camber) != old.section:
        return False
    straight = old.shape.kind == new.shape.kind == "straight"
    return new.shape == old.shape or (straight and new.shape.changed(twist=old.shape.twist) == old.shape)


def _spacing(rotor):
    return _spacings(rotor.blade_count, rotor.hub.holes).get(tuple(sorted(rotor.holes)), "")


@functools.cache  # asked for every build that a search looks at
def _spacings(blade_count, holes):
    """Names of the balanced sets of holes."""
    return {tuple(hole + 1 for hole in one.holes): one.kind for one in hub.balanced_placements(blade_count, holes)}


def _stand(turbine, target):
    """Move that makes the stand firmer, however many things that takes."""
    old, new = (turbine.tower, turbine.base), (target.tower, target.base)
    words, work, fresh = [], [], []
    if new[1].ballast != old[1].ballast:
        words.append(f"add {units.plain(new[1].ballast - old[1].ballast, 'kg')} of ballast")
        work.append("ballast")
    if new[1].surface != old[1].surface:
        words.append(f"change the feet: {new[1].surface}")
        work.append("feet")
        fresh.append("grip")
    if new[1].width != old[1].width:
        words.append(f"a wider base: {units.length(new[1].width)}")
        work.append("base")
    if new[0].joint != old[0].joint:
        words.append("glue the tower's foot joint")
        work.append("glue")
        fresh.append("joint")
    after = turbine.changed(tower=target.tower, base=target.base)
    words = "; ".join(words) or "a firmer stand"
    return Move("stand", "tower", words, "as it stands", words, after, tuple(work), fresh=tuple(fresh))
