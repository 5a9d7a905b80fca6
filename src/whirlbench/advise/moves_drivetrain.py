"""Changes to the drivetrain: direct drive, every gear pair, compound train and belt that the bin can build."""

import collections
import functools
import itertools

import numpy as np

from whirlbench import tables
from whirlbench.advise.move import Move
from whirlbench.errors import WhirlbenchError
from whirlbench.parts.belts import BeltStage
from whirlbench.parts.bin import Belt, Gear, Pulley
from whirlbench.parts.gears import GearStage
from whirlbench.parts.part import build
from whirlbench.physics import belts
from whirlbench.predict import drivetrain

_LARGEST = 40.0
_TENSION = 3.0  # [N] in a round belt at a usual stretch: common practice
_FINGERS = "Keep fingers, hair and sleeves out of the gears; stop the rotor before you touch them."


def moves(turbine, parts_bin):
    """Every drivetrain that the bin can build, one of each ratio and kind.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    parts_bin : PartsBin
        Gears, pulleys, belts and shafts.

    Yields
    ------
    Move
        One drivetrain each.
    """
    for train in _best_of_each(_trains(turbine, parts_bin), _key(turbine.drivetrain)):
        yield exchange(turbine, train)


def trains(turbine, parts_bin):
    """Every drivetrain at hand, one of each ratio and kind.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    parts_bin : PartsBin
        Gears, pulleys, belts and shafts.

    Returns
    -------
    tuple
        The turbine's own drivetrain first.
    """
    return turbine.drivetrain, *_best_of_each(_trains(turbine, parts_bin), _key(turbine.drivetrain))


def exchange(turbine, train):
    """Move that puts in another drivetrain.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    train : tuple of GearStage or BeltStage
        The new stages; empty is direct drive.

    Returns
    -------
    Move
        The change.
    """
    after = describe(train)
    return Move(
        family=f"drivetrain {_effort(train)}" if train else "direct drive",
        part="drivetrain",
        change=f"drive through {after}" if train else "drive the generator directly",
        before=describe(turbine.drivetrain),
        after=after,
        turbine=turbine.changed(drivetrain=train),
        effort=_effort(train),
        caution=_caution(train),
        fresh=("teeth",),
    )


def describe(train):
    """Drivetrain in a few words.

    Parameters
    ----------
    train : tuple of GearStage or BeltStage
        The stages.

    Returns
    -------
    str
        Such as ``gears 64:16 (1:4)``.
    """
    if not train:
        return "direct drive"
    ratio = np.prod([drivetrain.step_up(stage) for stage in train])
    return f"{' then '.join(drivetrain.label(stage) for stage in train)} (1:{ratio:.3g})"


def _key(train):
    """Trains of the same kinds and the same ratio do the same work."""
    return tuple(sorted(stage.kind for stage in train)), round(
        float(np.prod([drivetrain.step_up(one) for one in train])), 3
    )


def _best_of_each(trains, taken):
    """Of trains that do the same work the one that loses least; none that does what is built already."""
    best = {}
    for train in trains:
        key = _key(train)
        if key != taken and (key not in best or _passed(train) > _passed(best[key])):
            best[key] = train
    return best.values()


def _passed(train):
    """Share of power passed on, times that of the worst moment, best estimate."""
    return float(np.prod([_passed_by(stage) for stage in train]))


@functools.lru_cache(maxsize=4096)
def _passed_by(stage):
    running, worst = drivetrain.efficiencies(stage, np.ones((1, 1)))
    return float(running[0, 0] * worst[0, 0])


def _effort(train):
    kinds = {stage.kind for stage in train}
    if kinds == {"belt", "gears"}:
        return "belt and gears"
    if kinds == {"belt"}:
        return "belt"
    return "compound gears" if len(train) > 1 else "gears"


def _caution(train):
    poor = [stage for stage in train if stage.kind == "gears" and drivetrain.mesh(stage).contact_ratio_real < 1.1]
    if poor:
        ratio = drivetrain.mesh(poor[0]).contact_ratio_real
        return (
            f"{drivetrain.label(poor[0])} barely meshes (real contact ratio {ratio:.2f}): it will rattle and may slip."
        )
    return _FINGERS if train else ""


def _trains(turbine, parts_bin):
    """Every train that bin and turbine have the parts for, the largest step first: fast shafts carry little."""
    yield ()
    stock = _stock(turbine, parts_bin)
    singles = [*_pairs(stock), *_belts(stock)]
    for count in range(1, min(parts_bin.shafts, 2) + 2):
        for chosen in itertools.combinations_with_replacement(singles, count):
            used = sum((parts for _, parts in chosen), collections.Counter())
            train = tuple(sorted((stage for stage, _ in chosen), key=lambda stage: -drivetrain.step_up(stage)))
            step = float(np.prod([drivetrain.step_up(stage) for stage in train]))
            if step <= _LARGEST and all(stock[part] >= number for part, number in used.items()):
                yield train


def _stock(turbine, parts_bin):
    """Parts at hand and how many: the bin's, and those in the turbine's own drivetrain."""
    stock = collections.Counter()
    for part in (*parts_bin.gears, *parts_bin.pulleys, *parts_bin.belts):
        stock[part.model_copy(update={"count": 1})] += part.count
    for stage in turbine.drivetrain:
        stock.update(_parts(stage))
    return stock


def _parts(stage):
    """Gears, or pulleys and belt, that a stage is made of."""
    if stage.kind == "gears":
        one, _, two = stage.teeth.partition("_")
        wheel = {"teeth": stage.rotor_teeth, "shift": stage.rotor_shift, "material": one}
        pinion = {"teeth": stage.generator_teeth, "shift": stage.generator_shift, "material": two.partition("_")[0]}
        return [build(Gear, {"module": stage.module, **gear}) for gear in (wheel, pinion)]
    ends = stage.rotor_diameter, stage.generator_diameter
    around = sorted(diameter + stage.thickness for diameter in ends)
    length = float(belts.open_belt_length(*around, stage.centre_distance))
    pulleys = [Pulley(belt=stage.belt, diameter=diameter) for diameter in ends]
    return [*pulleys, Belt(belt=stage.belt, length=length, thickness=stage.thickness)]


def _pairs(stock):
    """Gear pairs that step up and mesh, with what they use up."""
    gears = [part for part in stock if isinstance(part, Gear)]
    for wheel, pinion in itertools.permutations(gears, 2):
        if abs(wheel.module - pinion.module) > 1e-7 or wheel.teeth <= pinion.teeth:
            continue
        stage = GearStage(
            rotor_teeth=wheel.teeth,
            generator_teeth=pinion.teeth,
            module=wheel.module,
            rotor_shift=wheel.shift,
            generator_shift=pinion.shift,
            teeth=_teeth(wheel.material, pinion.material),
        )
        if _meshes(stage):
            yield stage, collections.Counter([wheel, pinion])


def _meshes(stage):
    try:
        return drivetrain.mesh(stage).contact_ratio >= 1
    except WhirlbenchError:
        return False


@functools.cache
def _teeth(one, two):
    """Row of the friction table for two tooth materials; for an unlisted pair the worst that names one of them."""
    rows = {row.pair: row.friction_high for row in tables.load("gears/sliding_friction").rows}
    for pair in (f"{one}_{two}", f"{two}_{one}"):
        if pair in rows:
            return pair
    named = {pair: high for pair, high in rows.items() if {one, two} & set(pair.split("_")) and "test" not in pair}
    return max(named, key=named.get)


def _belts(stock):
    """Pulley pairs that step up and that a belt at hand can span."""
    pulleys, loops = ([part for part in stock if isinstance(part, kind)] for kind in (Pulley, Belt))
    for (large, small), belt in itertools.product(itertools.permutations(pulleys, 2), loops):
        if not large.belt == small.belt == belt.belt or large.diameter <= small.diameter:
            continue
        try:
            around = belt.length * (1 + 0.5 * belt.stretch)
            ends = (small.diameter + belt.thickness, large.diameter + belt.thickness)
            distance = float(belts.centre_distance_for_length(*ends, around))
        except WhirlbenchError:
            continue
        stage = BeltStage(
            belt=belt.belt,
            rotor_diameter=large.diameter,
            generator_diameter=small.diameter,
            thickness=belt.thickness,
            centre_distance=round(distance, 4),
            tension=_TENSION,
            slip=0.0 if belt.belt == "timing" else 0.02,
        )
        yield stage, collections.Counter([large, small, belt])
