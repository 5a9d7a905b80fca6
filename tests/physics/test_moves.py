"""Moves: all that the bin can build and nothing else, valued in common worlds."""

import functools
import itertools
from importlib import resources

import numpy as np
import pytest

from whirlbench.advise import moves_drivetrain, moves_electric, rank
from whirlbench.advise.move import Move
from whirlbench.advise.score import Scorer, fresh_worlds
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.files import read_bin, read_event, read_turbine
from whirlbench.parts.load import Resistor
from whirlbench.physics import hub
from whirlbench.predict import drivetrain, world
from whirlbench.predict import turbine as whole
from whirlbench.value import Value

EXAMPLES = resources.files("whirlbench") / "examples"


@functools.cache
def example(name):
    return read_turbine(EXAMPLES / f"{name}.toml")


@functools.cache
def shelves():
    return read_bin(EXAMPLES / "parts-bin.toml")


def test_every_gear_pair_of_the_bin_is_offered():
    """Brute force over the shelves: equal module, stepping up."""
    wanted = {
        (one.teeth, two.teeth)
        for one, two in itertools.permutations(shelves().gears, 2)
        if one.module == two.module and one.teeth > two.teeth
    }
    found = {
        (move.turbine.drivetrain[0].rotor_teeth, move.turbine.drivetrain[0].generator_teeth)
        for move in moves_drivetrain.moves(example("starter"), shelves())
        if len(move.turbine.drivetrain) == 1 and move.turbine.drivetrain[0].kind == "gears"
    }
    ratios = {round(a / b, 3) for a, b in wanted}
    assert found <= wanted
    assert {round(a / b, 3) for a, b in found} == ratios  # one of each ratio


def test_trains_never_use_more_than_the_shelves_hold():
    stock = {gear.teeth: gear.count for gear in shelves().gears}
    for move in moves_drivetrain.moves(example("starter"), shelves()):
        used = [
            teeth
            for stage in move.turbine.drivetrain
            if stage.kind == "gears"
            for teeth in (stage.rotor_teeth, stage.generator_teeth)
        ]
        assert all(used.count(teeth) <= stock[teeth] for teeth in used), move.change
        assert len(move.turbine.drivetrain) <= 1 + shelves().shafts


def test_no_shaft_no_compound_train():
    bare = shelves().changed(shafts=0)
    assert all(len(move.turbine.drivetrain) <= 1 for move in moves_drivetrain.moves(example("starter"), bare))


def test_a_belt_must_reach():
    short = PartsBin(
        pulleys=shelves().pulleys,
        belts=(shelves().belts[0].changed(length=0.12),),
    )
    assert not [move for move in moves_drivetrain.moves(example("starter"), short) if move.turbine.drivetrain]


def test_a_pinion_as_it_lies_on_the_shelf_brings_its_profile_shift():
    move = next(
        move for move in moves_drivetrain.moves(example("starter"), shelves()) if move.after.startswith("gears 64:8 (")
    )
    stage = move.turbine.drivetrain[0]
    assert stage.generator_shift == 0.45
    assert drivetrain.mesh(stage).contact_ratio_real > 1.2


def test_blade_counts_balance_and_say_when_they_are_uneven():
    moves = [move for move in rank.all_moves(example("starter"), shelves(), None) if move.family == "number of blades"]
    assert {len(move.turbine.rotor.holes) for move in moves} == {2, 4, 5, 6, 7, 8, 9, 10, 12}
    for move in moves:
        count = move.turbine.rotor.blade_count
        even = 12 % count == 0
        assert ("evenly spaced" in move.change) == even
        assert hub.can_balance(count, 12)
        turns = np.exp(2j * np.pi * np.array(move.turbine.rotor.holes) / 12)
        assert abs(turns.sum()) < 1e-9


def test_every_load_and_generator_of_the_bin_is_offered():
    moves = list(moves_electric.moves(example("starter"), shelves()))
    assert sum(move.part == "generator" for move in moves) == len(shelves().generators) - 1  # one is in use
    ohms = {move.turbine.load.resistance for move in moves if move.family == "load"}
    assert ohms == set(shelves().resistors) - {47.0}


def test_longer_blades_keep_within_event_stock_and_wind_map():
    event = read_event(EXAMPLES / "event.toml")
    for move in rank.all_moves(example("starter"), shelves(), event):
        assert move.turbine.rotor.radius <= min(event.max_rotor_diameter / 2, 0.3048) + 1e-9, move.change


def test_a_move_that_changes_nothing_gains_exactly_nothing():
    turbine = example("geared")
    scorer, worlds = Scorer(), world.draw(whole.priors(turbine), 33)
    now = scorer.worth(turbine, worlds)
    nothing = Move("none", "load", "leave it", "so", "so", turbine, "load")
    found = rank.valued(scorer, now, nothing, worlds)
    assert found.gain == pytest.approx(np.zeros(33), abs=0)
    assert found.chance == 0


def test_common_worlds_cancel_what_both_builds_share():
    """A load change is known better than the power itself: wind and blades are the same before and after."""
    turbine = example("geared")
    scorer, worlds = Scorer(), world.draw(whole.priors(turbine), 65)
    now = scorer.worth(turbine, worlds)
    lighter = next(move for move in moves_electric.moves(turbine, shelves()) if move.after == "15 ohm")
    found = rank.valued(scorer, now, lighter, worlds)
    apart = np.hypot(now.power.std(), found.worth.power.std())
    assert found.sigma < 0.5 * apart


def test_new_parts_bring_new_doubt_but_keep_the_best_estimate():
    turbine = example("geared")
    worlds = world.draw(whole.priors(turbine), 65)
    fresh = fresh_worlds(worlds, turbine, ("lift", "drag"))
    i = world.FACTORS.index("lift")
    assert fresh.log_factors[0, i] == 0
    assert abs(np.corrcoef(fresh.log_factors[:, i], worlds.log_factors[:, i])[0, 1]) < 0.4
    j = world.FACTORS.index("wind")
    assert fresh.log_factors[:, j] == pytest.approx(worlds.log_factors[:, j])


def test_a_stand_that_slides_earns_nothing_until_it_is_ballasted():
    turbine = example("geared")
    light = turbine.changed(
        base=turbine.base.changed(mass=0.05, ballast=0.0, friction=Value(0.1, 0.01)),
        tower=turbine.tower.changed(top_mass=0.05),
    )
    scorer, worlds = Scorer(), world.draw(whole.priors(light), 33)
    now = scorer.worth(light, worlds)
    assert now.power[0] == 0
    assert not now.stands[0]
    ballast = [move for move in rank.all_moves(light, shelves(), None) if move.family == "ballast"]
    assert max(rank.valued(scorer, now, move, worlds).mean for move in ballast) > 0.1


def test_screening_by_many_loads_agrees_with_one_at_a_time():
    turbine = example("geared")
    scorer, worlds = Scorer(), world.best_estimate()
    ohms = [4.7, 15.0, 47.0, 150.0]
    together = scorer.by_load(scorer.worth(turbine, worlds), ohms)
    alone = [scorer.worth(turbine.changed(load=Resistor(resistance=value)), worlds).power[0] for value in ohms]
    assert together == pytest.approx(alone, rel=1e-9)


def test_screening_keeps_what_valuing_every_move_would_keep():
    """Two roads: screening takes powers off straight lines and looks closely only at the strongest."""
    turbine, event = example("geared"), read_event(EXAMPLES / "event.toml")
    scorer, worlds = Scorer(event), world.best_estimate()
    moves = [move for move in rank.all_moves(turbine, shelves(), event) if move.family in ("pitch", "ballast", "gears")]

    def allowed(worth):
        return worth.power[0] > 0.2 and worth.assembly.stand.mass < 2.0

    kept = rank.screened(scorer, moves, PartsBin(name="empty"), worlds, allowed=allowed)
    assert {move.family for move in kept} >= {"pitch", "ballast"}
    for family in {move.family for move in kept}:
        worths = {move.change: scorer.worth(move.turbine, worlds) for move in moves if move.family == family}
        order = sorted(worths, key=lambda name: (not allowed(worths[name]), -worths[name].power[0]))
        found = [move.change for move in kept if move.family == family]
        strongest = [worths[name].power[0] for name in order[: len(found)]]
        assert sorted((worths[name].power[0] for name in found), reverse=True) == pytest.approx(strongest, rel=3e-3)


def test_a_sketch_gives_the_power_of_the_whole_build():
    turbine = example("geared")
    scorer, worlds = Scorer(), world.best_estimate()
    sketch, worth = scorer.sketch(turbine, worlds), scorer.worth(turbine, worlds)
    assert scorer.by_load(sketch, [turbine.load.resistance]) == pytest.approx(worth.power, rel=3e-3)
    assert scorer.best_load(sketch, [15.0, 47.0]) == scorer.best_load(worth, [15.0, 47.0])
