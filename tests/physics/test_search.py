"""The search for the best reachable build: a known optimum, limits kept, the same answer however it is worked out."""

import collections
import functools
import gc
import itertools
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from evidence import rows
from section_polars import polar_of
from turbines import BUILDS, EXAMPLES, example

from whirlbench.advise import build_path, chain_choice, climb, designs, moves_drivetrain, problems, rank, search_jobs
from whirlbench.advise.archive import Archive
from whirlbench.advise.path import path
from whirlbench.advise.score import Scorer
from whirlbench.advise.search import search
from whirlbench.advise.search_run import STAGES, STOPPING
from whirlbench.event.rules import broken
from whirlbench.parts.files import read_bin, read_event
from whirlbench.physics.rotor import RotorShape, rotor_curve
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.predict.facts import facts

BIN, EVENT = read_bin(EXAMPLES / "parts-bin.toml"), read_event(EXAMPLES / "event.toml")
SMALL = BIN.changed(sheets=BIN.sheets[:1], airfoils=(BIN.airfoils[0].changed(names=("sg6043",)),))
GUARANTEE = 0.9


@functools.cache
def scene(name, count=9):
    """Scorer, settled turbine, worlds and the turbine's worth."""
    scorer = Scorer(EVENT)
    turbine = whole.settled(example(name), scorer.winds(example(name)))
    worlds = world.draw(whole.priors(turbine), count)
    return scorer, turbine, worlds, scorer.worth(turbine, worlds)


def legal(worth):
    return not broken(EVENT, facts(worth.assembly, *worth.predictions))


def judge_of(now):
    """What a step must keep, written again from scratch."""
    before = problems.problems(now)

    def allows(worth):
        brought = problems.change(before, problems.problems(worth))[1]
        sure = worth.starts[0] and worth.starts.mean() >= min(GUARANTEE, now.starts.mean())
        return sure and worth.stands.mean() > 0.5 and legal(worth) and not any(one.unsafe for one in brought)

    return allows


def found_in(name, parts_bin=SMALL, **options):
    scorer, turbine, worlds, _ = scene(name)
    options = {"effort": "quick", "acceptable": legal, "start_guarantee": GUARANTEE} | options
    if "executor" in options:
        return search(scorer, turbine, worlds, parts_bin=parts_bin, event=EVENT, **options)
    with ThreadPoolExecutor(2) as pool:
        return search(scorer, turbine, worlds, parts_bin=parts_bin, event=EVENT, executor=pool, **options)


@functools.cache
def starter_search():
    return found_in("starter")


@functools.cache
def task_of(name, parts_bin=BIN):
    scorer, turbine, worlds, _ = scene(name)
    space = designs.space(turbine, parts_bin, EVENT)
    choice = chain_choice.chains_at_hand(
        turbine, parts_bin, EVENT, worlds=worlds, start_guarantee=GUARANTEE, most_thrust=20.0
    )
    return search_jobs.Task(space, choice, scorer, worlds, turbine, GUARANTEE)


def drawn(name, count=6):
    """Buildable designs drawn over all kinds of blades: index of the kind, point, turbine."""
    task = task_of(name)
    for number, kind in enumerate(task.space.kinds):
        for point in climb.latin_hypercube(count, len(kind.free), number):
            turbine = designs.build(task.space, kind, point)
            if turbine is not None:
                yield number, point, turbine


def greedy(name, parts_bin):
    """Power at the end of the path that takes the best single move again and again."""
    scorer, _, _, now = scene(name)
    allows = judge_of(now)

    def ranked(worth, used=frozenset()):
        moves = [each for each in rank.all_moves(worth.assembly.turbine, parts_bin, EVENT) if each.family not in used]
        worlds = worth.assembly.worlds
        best = rank.screened(scorer, moves, parts_bin, worlds, allowed=legal)[:8]
        return [SimpleNamespace(one=rank.valued(scorer, worth, move, worlds)) for move in best]

    end = path(now, ranked(now), rank_after=ranked, acceptable=lambda each: allows(each.one.worth), most=2)
    return end.worth.power.mean()


def test_a_small_search_is_no_worse_than_the_greedy_path():
    assert starter_search().worth.power.mean() >= greedy("starter", SMALL)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["geared", "advanced"])  # the starter in the small bin above
def test_the_search_is_no_worse_than_the_greedy_path(name):
    assert found_in(name, BIN, effort="normal").worth.power.mean() >= greedy(name, BIN)


def test_the_answer_does_not_hang_on_the_number_of_workers():
    two = starter_search()
    with ThreadPoolExecutor(1) as pool:
        one = found_in("starter", executor=pool)
    assert one == two
    assert np.array_equal(one.worth.power, two.worth.power)
    assert [step.move for step in one.path.steps] == [step.move for step in two.path.steps]


def test_other_processes_give_the_same_answer():
    # the shipped default: two spawned processes
    assert found_in("starter", executor=None) == starter_search()


def test_another_seed_looks_elsewhere_and_ends_near():
    one, other = starter_search(), found_in("starter", seed=5)
    assert one.turbine != other.turbine
    assert other.worth.power.mean() == pytest.approx(one.worth.power.mean(), rel=0.25)  # a quick look only


def test_the_answer_is_the_worth_of_its_turbine():
    scorer, _, worlds, now = scene("starter")
    best = starter_search()
    assert best.worth.assembly.turbine == best.turbine
    assert best.worth.power.mean() > now.power.mean()
    again = scorer.worth(best.turbine, best.worth.assembly.worlds)
    assert np.allclose(again.power, best.worth.power)
    # what is not new is believed as before
    for factor in ("wind", "start"):
        assert np.array_equal(best.worth.assembly.worlds.factor(factor), worlds.factor(factor))


@pytest.mark.parametrize("guarantee", [0.5, 1.0])
def test_the_start_is_as_sure_as_asked_for(guarantee):
    best = found_in("geared", start_guarantee=guarantee)
    assert best.worth.starts.mean() >= guarantee


def test_every_step_is_legal_safe_and_starts():
    _, turbine, _, now = scene("starter")
    allows, steps = judge_of(now), starter_search().path.steps
    assert steps
    for step in steps:
        assert allows(step.worth)
        assert step.move.turbine == step.worth.assembly.turbine
        assert step.mean > 0.03 * now.power.mean()
        assert step.move.minutes > 0
    assert build_path.differences(turbine, steps[0].move.turbine)


def test_the_path_leads_to_the_best_build_but_for_noise():
    best = starter_search()
    end = best.path.worth
    assert end.assembly.turbine == best.path.steps[-1].move.turbine
    assert end.power.mean() >= 0.9 * best.worth.power.mean()


def test_nothing_acceptable_leaves_the_turbine_as_it_is():
    _, turbine, _, now = scene("starter")
    best = found_in("starter", acceptable=lambda worth: False)
    assert best.turbine == turbine
    assert best.path.steps == ()
    assert np.array_equal(best.worth.power, now.power)


def test_progress_rises_to_one():
    seen = []
    found_in("starter", tick=lambda *told: seen.append(told))
    stages, shares = zip(*seen, strict=True)
    assert list(shares) == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)
    assert set(stages) == set(STAGES)


@pytest.mark.parametrize("stage", [0, 2, 5])
def test_a_stopped_search_tells_the_best_so_far(stage):
    now, told = scene("starter")[3], []
    best = found_in("starter", tick=lambda name, share: told.append(name), cancelled=lambda: STAGES[stage] in told)
    assert best.stopped_early
    assert not best.path.rest_is_noise
    assert set(told[told.index(STOPPING) :]) == {STOPPING}
    assert not set(STAGES[stage + 1 :]) & set(told)
    assert best.worth is now or judge_of(now)(best.worth)
    assert best.worth.power.mean() >= now.power.mean()
    assert starter_search().worth.power.mean() >= best.worth.power.mean()


def test_memory_does_not_grow_with_the_number_of_designs():
    task, kinds = task_of("starter", SMALL), [(0, ()), (1, ())]
    few, many = (search_jobs.sample(task, kinds, count, (0, 1)) for count in (30, 90))
    assert len(few) == len(many) == 2 * 24
    points = climb.latin_hypercube(90, len(task.space.kinds[1].free), (0, 1, 1))[1:]
    assert many[24].value >= max(search_jobs.look(task, 1, point).value for point in points)
    assert sum(bool(one.near) for one in many) == 2  # what the next round goes by
    archive = Archive(5)
    archive.add(many)
    assert len(archive) == 10
    for _ in range(3):
        archive.add(few)
        archive.add(many)
        assert len(archive) == 10


def test_no_more_designs_are_alive_than_are_kept(monkeypatch):
    task, alive, asked = task_of("starter", SMALL), [], itertools.count()
    look = search_jobs.look

    def counted(*words):
        if next(asked) % 15 == 0:
            alive.append(sum(isinstance(one, search_jobs.Found) for one in gc.get_objects()))
        return look(*words)

    monkeypatch.setattr(search_jobs, "look", counted)
    gc.collect()
    search_jobs.sample(task, [(0, ())], 120, (0, 1))
    assert len(alive) == 8
    assert max(alive) - alive[0] <= 24 + 2  # those kept, and the one in hand


def test_an_archive_keeps_the_same_in_any_order():
    draw = np.random.default_rng(3)
    found = [
        search_jobs.Found(float(draw.integers(0, 9)), int(draw.integers(0, 3)), (x,), (0, 0, 0)) for x in range(99)
    ]
    kept = []
    for _ in range(4):
        archive = Archive(7)
        for some in np.array_split(draw.permutation(len(found)), 5):
            archive.add([found[i] for i in some])
        kept.append((archive.best(), archive.leaders(), archive.of(1)))
    assert all(one == kept[0] for one in kept)
    assert [one.value for one in kept[0][0]] == sorted((one.value for one in kept[0][0]), reverse=True)
    best = {kind: max(one.value for one in found if one.kind == kind) for kind in range(3)}
    assert {one.kind: one.value for one in kept[0][1]} == best


@pytest.mark.parametrize("name", ["starter", "geared"])
def test_looks_in_every_world_agree_with_the_full_worth(name):
    task = replace(task_of(name), robust=True)
    looked = []
    for number, point, turbine in drawn(name, 2):
        found = search_jobs.look(task, number, point)
        if found.chain and found.value > 0.3 and len(looked) < 6:
            looked.append((found, search_jobs.look(replace(task, exact=True), number, point), turbine))
    assert len(looked) > 3
    scorer, turbine, worlds, _ = scene(name)
    for near, exact, made in looked:
        # nine rotors instead of one a world: some worlds of the nine fall on the other side of a start or a stall
        assert near.value == pytest.approx(exact.value, rel=0.15)
        target = search_jobs.with_chain(task.choice, made, exact.chain)
        moves = build_path.exchange_all(turbine, target, build_path.differences(turbine, target))
        worth = scorer.worth(target, build_path.believed(worlds, moves))
        assert exact.value == pytest.approx(worth.power.mean(), rel=1e-9)


def test_polish_never_makes_it_worse():
    task = replace(task_of("geared", SMALL), robust=True)
    every = [(kind, ()) for kind in range(len(task.space.kinds))]
    before = next(one for one in search_jobs.sample(task, every, 4, (0, 1)) if one.chain and one.point[2:])
    [after] = search_jobs.polish(task, before, (0.1,))
    assert after.value > before.value
    assert all(0 <= x <= 1 for x in after.point)
    assert search_jobs.look(task, after.kind, after.point) == after


@pytest.mark.parametrize("name", BUILDS)
def test_rotors_keep_to_bin_and_event(name):
    own = example(name).rotor
    count = 0
    for _, _, turbine in drawn(name):
        rotor, shape, count = turbine.rotor, turbine.rotor.shape, count + 1
        assert 2 * rotor.radius <= EVENT.max_rotor_diameter + 1e-9
        assert rotor.blade_count <= EVENT.max_blades
        turns = np.exp(2j * np.pi * np.array(rotor.holes) / rotor.hub.holes)
        assert abs(turns.sum()) < 1e-9
        spare = sum(rod.count for rod in BIN.rods if abs(rod.diameter - rotor.rod.diameter) < 2e-4)
        assert rotor.blade_count <= spare + own.blade_count
        if rotor.section.kind == "airfoil" and shape != own.shape:
            assert shape.tip_radius - shape.inner_radius <= BIN.airfoils[0].max_length + 1e-9
        if rotor.section.kind == "sheet" and shape != own.shape:
            [stock] = [one for one in BIN.sheets if one.material == rotor.section.material]
            area = (shape.tip_radius - shape.inner_radius) * max(shape.root_chord, shape.tip_chord)
            assert rotor.blade_count * area <= stock.count * stock.length * stock.width
    assert count > 20


@pytest.mark.parametrize("name", BUILDS)
def test_drivetrains_use_no_gear_twice(name):
    turbine = example(name)
    have = collections.Counter()
    for gear in BIN.gears:
        have[gear.teeth, gear.module] += gear.count
    for stage in turbine.drivetrain:
        if stage.kind == "gears":
            have.update([(stage.rotor_teeth, stage.module), (stage.generator_teeth, stage.module)])
    trains = moves_drivetrain.trains(turbine, BIN)
    assert trains[0] == turbine.drivetrain
    for train in trains:
        gears = [stage for stage in train if stage.kind == "gears"]
        used = collections.Counter(
            (teeth, stage.module) for stage in gears for teeth in (stage.rotor_teeth, stage.generator_teeth)
        )
        assert all(have[gear] >= number for gear, number in used.items())


@pytest.mark.parametrize("name", BUILDS)
def test_quick_look_and_full_prediction_agree(name):
    task, scorer = task_of(name), scene(name)[0]
    looked = [(search_jobs.look(task, number, point), turbine) for number, point, turbine in drawn(name, 2)]
    looked = [pair for pair in looked if pair[0].value > 0.3][:8]
    assert len(looked) > 3
    for found, turbine in looked:
        supply, train, load = found.chain
        part = task.choice.supplies[supply]
        full = turbine.changed(drivetrain=task.choice.trains[train], generator=part.generator, load=part.loads[load])
        exact = scorer.worth(full, world.best_estimate())
        assert exact.starts[0]
        # straight lines between nodes and 14 stations instead of 20
        assert found.value == pytest.approx(exact.power[0], rel=0.03)


def test_no_chain_is_offered_that_burns_its_leds():
    # an answer whose finalists all burn their LEDs is no answer
    task, bright, kept = task_of("geared"), 0, 0
    for _, _, turbine in itertools.islice(drawn("geared"), 0, None, 9):
        powers, _ = chain_choice.scored(task.choice, search_jobs.curves(task, turbine)[0:1], 0.2)
        for supply, power in enumerate(powers):
            part = task.choice.supplies[supply]
            if part.loads[0].kind != "leds" or not power.max() > 0:
                continue
            best = int(np.argmax(power[:, 0]))
            chain = (supply, int(part.trains[best]), 0)
            built = search_jobs.with_chain(task.choice, turbine, chain)
            worth = Scorer(EVENT).worth(built, world.best_estimate())
            assert "LED current" not in problems.problems(worth)
            kept += 1
            bright += float(worth.predictions[0].rest.current[0]) > 0.5 * problems.LED_CURRENT
    assert kept > 10
    assert bright > 3


def test_a_climb_in_a_harder_world_sees_less_power():
    task = task_of("geared")
    number, point, _ = next(drawn("geared"))
    easy, hard = (search_jobs.look(replace(task, harder=doubts), number, point).value for doubts in (0.0, 0.8))
    assert 0 < hard < easy


def test_fewer_chains_give_the_same_watts():
    task = task_of("geared")
    number, point, _ = next(drawn("geared"))
    found = search_jobs.look(task, number, point)
    few = replace(task, choice=task.choice.only({found.chain}))
    again = search_jobs.look(few, number, point)
    assert again.value == pytest.approx(found.value, rel=1e-12)
    assert few.choice.trains[again.chain[1]] == task.choice.trains[found.chain[1]]


def test_the_hypercube_fills_every_row():
    points = climb.latin_hypercube(8, 3, (1, 2))
    assert np.array_equal(np.sort(np.floor(8 * points), axis=0), np.tile(np.arange(8)[:, None], (1, 3)))
    assert np.array_equal(points, climb.latin_hypercube(8, 3, (1, 2)))


@pytest.mark.parametrize("top", [(0.3, 0.8, 0.5), (0.0, 1.0, 0.5), (1.4, 0.2, -0.3)], ids=["inside", "edge", "outside"])
def test_a_climb_ends_at_the_top_or_at_the_edge_below_it(top):
    seen = []

    def bump(point):
        seen.append(point)
        return -float(np.sum((1 + np.arange(3)) * (point - top) ** 2))

    point, worth = climb.climbed(bump, (0.5, 0.5, 0.5), most=60)
    assert np.allclose(point, np.clip(top, 0, 1), atol=0.02)
    assert worth == max(map(bump, seen[:]))
    assert len(seen) <= 2 * 60
    assert min(map(np.min, seen)) >= 0
    assert max(map(np.max, seen)) <= 1


@pytest.mark.parametrize("row", [r for r in rows("rotor/glauert_optimum_rotor") if r.tip_speed_ratio == 3], ids=str)
def test_the_optimiser_finds_the_published_optimum_rotor(row):
    """Chord and pitch free at every station, no drag and no losses: nothing but the search is tested."""
    count, hub = 12, 0.01
    edges = np.linspace(hub, 1.0, count + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    fine = polar_of(lambda a: 2 * np.pi * np.sin(a), lambda a: 0 * a)
    section = replace(fine, alpha_deg=fine.alpha_deg[::20], cl=fine.cl[:, ::20], cd=fine.cd[:, ::20])

    def power(point):
        shape = RotorShape(
            radius=1.0,
            root_radius=hub,
            blade_count=3,
            station_radius=middle,
            station_width=np.diff(edges),
            chord=0.02 + 0.5 * point[:count],
            pitch=np.radians(-5 + 65 * point[count:]),
            polars=(section,),
            polar_index=np.zeros(count, dtype=int),
            tip_loss=False,
            root_loss=False,
        )
        curve = rotor_curve(shape, 5.0, [row.tip_speed_ratio], air_density=1.2, air_viscosity=1.8e-5)
        return curve.power[0, 0]

    begin = max(climb.latin_hypercube(40, 2 * count, 0), key=power)
    point, worth = climb.climbed(power, begin, most=1500)
    assert worth == power(point) == pytest.approx(row.cp_max, rel=0.01)
