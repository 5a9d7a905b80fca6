"""Changes to the drivetrain: direct drive, every gear pair, compound train and belt that the bin can build."""

import collections
import itertools

import numpy as np

from whirlbench.advise.move import Move
from whirlbench.errors import WhirlbenchError
from whirlbench.parts.belts import BeltStage
from whirlbench.parts.gears import GearStage
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
    now = describe(turbine.drivetrain)
    seen = {_key(turbine.drivetrain)}
    for train in _trains(parts_bin):
        if _key(train) in seen:
            continue
        seen.add(_key(train))
        after = describe(train)
        yield Move(
            family=f"drivetrain {_effort(train)}" if train else "direct drive",
            part="drivetrain",
            change=f"drive through {after}" if train else "drive the generator directly",
            before=now,
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
    return tuple(sorted((stage.kind, round(float(drivetrain.step_up(stage)), 3)) for stage in train))


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


def _trains(parts_bin):
    """Stages from the largest step to the smallest, so that the fast shafts carry little."""
    yield ()
    singles = [*_pairs(parts_bin), *_belts(parts_bin)]
    yield from ((stage,) for stage, _ in singles)
    if parts_bin.shafts < 1:
        return
    stock = _stock(parts_bin)
    for one, two in itertools.combinations_with_replacement(singles, 2):
        used = one[1] + two[1]
        train = tuple(sorted((one[0], two[0]), key=lambda stage: -drivetrain.step_up(stage)))
        step = float(np.prod([drivetrain.step_up(stage) for stage in train]))
        if step <= _LARGEST and all(stock[part] >= count for part, count in used.items()):
            yield train


def _stock(parts_bin):
    stock = collections.Counter()
    for part in (*parts_bin.gears, *parts_bin.pulleys, *parts_bin.belts):
        stock[part.model_copy(update={"count": 1})] += part.count
    return stock


def _pairs(parts_bin):
    """Gear pairs that step up and mesh, with what they use up."""
    gears = [gear.model_copy(update={"count": 1}) for gear in parts_bin.gears]
    for wheel, pinion in itertools.permutations(gears, 2):
        if wheel.module != pinion.module or wheel.teeth <= pinion.teeth:
            continue
        try:
            stage = GearStage(
                rotor_teeth=wheel.teeth,
                generator_teeth=pinion.teeth,
                module=wheel.module,
                rotor_shift=wheel.shift,
                generator_shift=pinion.shift,
                teeth=_teeth(wheel.material, pinion.material),
            )
            if drivetrain.mesh(stage).contact_ratio < 1:
                continue
        except WhirlbenchError:
            continue
        yield stage, collections.Counter([wheel, pinion])


def _teeth(one, two):
    """Row of the friction table for two tooth materials; the worse material stands for an unlisted pair."""
    if one == two:
        return f"{one}_{two}"
    listed = {("nylon", "pom"): "nylon_pom", ("brass", "steel"): "brass_steel", ("pom", "steel"): "pom_steel"}
    return listed.get(tuple(sorted((one, two))), "pla_pla")


def _belts(parts_bin):
    """Pulley pairs that step up and that a belt of the bin can span."""
    pulleys = [pulley.model_copy(update={"count": 1}) for pulley in parts_bin.pulleys]
    for (large, small), belt in itertools.product(itertools.permutations(pulleys, 2), parts_bin.belts):
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
        yield stage, collections.Counter([large, small, belt.model_copy(update={"count": 1})])
