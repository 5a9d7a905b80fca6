"""How many tests it takes to a near-best turbine: our advice against three ways that need no model.

Run: python benchmarks/closed_loop.py [--turbines 60] [--out FOLDER]; about an hour on two cores, one line a turbine.
What is finished is kept in FOLDER/studies, two files a turbine, and reported as it comes: run again to go on.

Every hidden turbine is an invented truth (hidden.py) behind an invented starting build. A test is one build read once
at the fan; the reading of the starting build comes before all of them and is not counted. A strategy has arrived when
the build with its best reading truly gives 90 % of the best that bin and rules allow: the best that an optimiser with
the truth in hand finds, or that any strategy came upon. The advice is not asked again once its build gives 95 % of
what that optimiser found, which saves time and hardly changes when it arrived.
"""

import argparse
import concurrent.futures
import json
import multiprocessing
import sys
import time
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from hidden import Hidden  # noqa: E402 - a spawned worker finds its neighbours only now
from strategies import STRATEGIES, Trials, follow_advice  # noqa: E402
from workshop import Workshop, best_reachable  # noqa: E402

from whirlbench.charts import files  # noqa: E402
from whirlbench.parts.files import read_bin, read_event, read_turbine  # noqa: E402
from whirlbench.parts.load import Resistor  # noqa: E402

EXAMPLES = HERE.parent / "src/whirlbench/examples"
NEAR = 0.9  # of the best reachable power
ENOUGH = 0.95  # of what the optimiser found: there the advice stops
PARTS = (  # of the study of a turbine, all turbines' first ones first: the last is the slowest
    ("advice", "one factor at a time", "random builds"),
    ("Gaussian process",),
)
AFTER = (1, 2, 4, 8)  # tests
STEPS = (0.05, 0.2, 0.4, 0.6, 0.8, 0.95)  # edges of the groups of chances


def starting_build(seed):
    """Starter of the example with another pitch, load, generator, chord and number of blades: as bad as they come."""
    turbine = read_turbine(EXAMPLES / "starter.toml")
    if seed == 0:
        return turbine
    draw, parts_bin = np.random.default_rng([seed, 1]), read_bin(EXAMPLES / "parts-bin.toml")
    rotor = turbine.rotor
    holes = [(1, 7), (1, 5, 9), (1, 4, 7, 10), (1, 3, 5, 7, 9, 11)][draw.integers(4)]
    chord = float(np.round(draw.uniform(0.035, 0.065), 3))
    shape = rotor.shape.changed(root_chord=chord, tip_chord=chord)
    rotor = rotor.changed(holes=holes, pitch=float(np.radians(draw.integers(10, 41))), shape=shape)
    ohms = float(draw.choice([22, 33, 47, 68, 100]))
    generator = parts_bin.generators[draw.integers(len(parts_bin.generators))]
    return turbine.changed(rotor=rotor, generator=generator, load=Resistor(resistance=ohms))


def study(seed, names):
    """What some strategies make of one hidden turbine; with the advice also the best reachable and moves on the way."""
    begun, start = time.perf_counter(), starting_build(seed)
    workshop = Workshop(start, read_bin(EXAMPLES / "parts-bin.toml"), read_event(EXAMPLES / "event.toml"))
    truth, found = Hidden(seed, workshop.start), {"turbine": seed}
    if "advice" in names:
        _, found["reachable_W"] = best_reachable(workshop, truth, seed)
        found["moves"] = []
    found["powers"] = {name: _followed(name, workshop, truth, found) for name in names}
    return found | {"seconds": time.perf_counter() - begun}


def _followed(name, workshop, truth, found):
    """True power of the best build in hand after every test [W]."""
    strategy, most = STRATEGIES[name]
    if name == "advice":
        trials = Trials(workshop, truth, most, enough=ENOUGH * found["reachable_W"])
        follow_advice(trials, found["turbine"], found["moves"])
    else:
        trials = Trials(workshop, truth, most)
        strategy(trials, found["turbine"])
    return trials.powers


def finished(folder):
    """One record for every turbine whose advice is kept in a folder, with all strategies that were tried on it."""
    found = {}
    for path in sorted(folder.glob("*.json")):
        part = json.loads(path.read_text())
        whole = found.setdefault(part["turbine"], {"powers": {}})
        whole["powers"] |= part.pop("powers")
        whole |= part
    return [_told(one) for _, one in sorted(found.items()) if "advice" in one["powers"]]


def _told(one):
    """Record of a turbine: best power that anybody came upon, tests to come near it, shares of it."""
    best = max(one["reachable_W"], *(max(powers) for powers in one["powers"].values()))
    return {
        "turbine": one["turbine"],
        "start_W": one["powers"]["advice"][0],
        "best_W": best,
        "tests": {name: _arrived(powers, best) for name, powers in one["powers"].items()},
        "share": {name: [round(power / best, 3) for power in powers] for name, powers in one["powers"].items()},
        "moves": one["moves"],
    }


def _arrived(powers, best):
    """Number of the first test, the starting build apart, with a near-best build in hand; None for never."""
    there = np.flatnonzero(np.array(powers) >= NEAR * best)
    return int(there[0]) if there.size else None


def table(studies):
    """Lines of the table of strategies, for the README."""
    yield "| strategy | median | 95 % of turbines within | turbines that arrive | tests allowed |"
    yield "|---|---|---|---|---|"
    for name, (_, most) in STRATEGIES.items():
        tests = [one["tests"][name] for one in studies if name in one["tests"]]
        tests = np.array([np.inf if one is None else one for one in tests])
        if tests.size:
            median, most_of_all = (np.sort(tests)[int(np.ceil(share * len(tests))) - 1] for share in (0.5, 0.95))
            told = [f"{int(one)}" if np.isfinite(one) else f"more than {most - 1}" for one in (median, most_of_all)]
            arrived = f"{np.isfinite(tests).sum()} of {tests.size}"
            yield f"| {name} | {told[0]} | {told[1]} | {arrived} | {most - 1} |"


def shares(studies):
    """Lines of the table of what share of the best reachable power a team has in hand after some tests."""
    yield f"| strategy | {' | '.join(f'after {count} tests' for count in AFTER)} | after all |"
    yield "|---|" + "---|" * (len(AFTER) + 1)
    for name in STRATEGIES:
        rows = [one["share"][name] for one in studies if name in one["share"]]
        if rows:
            medians = (np.median([row[min(count, len(row) - 1)] for row in rows]) for count in (*AFTER, 10**6))
            yield f"| {name} | " + " | ".join(f"{one:.0%}" for one in medians) + " |"


def doubt(studies):
    """Share of moves whose true gain lies in the predicted band, and chances against what came true."""
    moves = np.array([move for one in studies for move in one["moves"]])
    low, high, chance, true = moves.T
    inside = (low <= true) & (true <= high)
    groups = np.digitize(chance, STEPS)
    reliability = [
        {
            "moves": int((groups == group).sum()),
            "chance_said": float(chance[groups == group].mean()),
            "came_true": float((true > 0)[groups == group].mean()),
        }
        for group in range(len(STEPS) + 1)
        if (groups == group).any()
    ]
    return float(inside.mean()), float((true < low).mean()), float((true > high).mean()), reliability


def reliability_plot(reliability):
    """Chance of a gain as said, against the share of moves that gained."""
    even = {"type": "line", "strokeDash": [4, 4], "color": "#999999"}
    axis = {"format": ".0%"}
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "width": 320,
        "height": 320,
        "layer": [
            {
                "data": {"values": [{"said": 0, "true": 0}, {"said": 1, "true": 1}]},
                "mark": even,
                "encoding": {
                    "x": {"field": "said", "type": "quantitative"},
                    "y": {"field": "true", "type": "quantitative"},
                },
            },
            {
                "data": {"values": reliability},
                "mark": {"type": "point", "filled": True, "color": "#0072B2", "opacity": 1},
                "encoding": {
                    "x": {
                        "field": "chance_said",
                        "type": "quantitative",
                        "title": "chance of a gain, as said",
                        "axis": axis,
                    },
                    "y": {
                        "field": "came_true",
                        "type": "quantitative",
                        "title": "moves that gained",
                        "axis": axis,
                    },
                    "size": {"field": "moves", "type": "quantitative", "title": "moves"},
                },
            },
        ],
    }


def report(studies, out):
    """Keep what was found, and return it as lines."""
    if not studies:
        return ["no turbine is finished"]
    lines = [*table(studies), "", "Share of the best reachable power in hand, median:", "", *shares(studies)]
    inside, below, above, reliability = doubt(studies)
    count = sum(one["moves"] for one in reliability)
    lines += [
        "",
        f"{len(studies)} hidden turbines, {count} moves: the 80 % band of the gain held {inside:.1%} of the true gains "
        f"({below:.1%} below it, {above:.1%} above).",
        "",
        "| chance of a gain, as said | moves | gained |",
        "|---|---|---|",
        *(f"| {one['chance_said']:.0%} | {one['moves']} | {one['came_true']:.0%} |" for one in reliability),
    ]
    (out / "closed-loop.md").write_text("\n".join(lines) + "\n")
    kept = [{key: value for key, value in one.items() if key != "moves"} for one in studies]
    (out / "closed-loop.json").write_text("[\n" + ",\n".join(json.dumps(one) for one in kept) + "\n]\n")
    files.save(reliability_plot(reliability), out / "reliability.svg")
    return lines


def main():
    """Study many hidden turbines in two processes."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--turbines", type=int, default=60)
    ask.add_argument("--first", type=int, default=0)
    ask.add_argument("--out", type=Path, default=HERE / "results")
    asked = ask.parse_args()
    kept = asked.out / "studies"
    kept.mkdir(parents=True, exist_ok=True)
    seeds = range(asked.first, asked.first + asked.turbines)
    parts = {kept / f"{seed:03}-{names[0]}.json": (seed, names) for names in PARTS for seed in seeds}
    context = multiprocessing.get_context("spawn")
    with concurrent.futures.ProcessPoolExecutor(2, mp_context=context) as pool:
        left = {pool.submit(study, *part): path for path, part in parts.items() if not path.exists()}
        for done in concurrent.futures.as_completed(left):
            if done.exception() is not None:  # the others go on
                print(f"{left[done].stem}: no study, {done.exception()!r}", flush=True)
                continue
            left[done].write_text(json.dumps(done.result()))
            print(f"{left[done].stem}: {done.result()['seconds']:.0f} s", flush=True)
            report(finished(kept), asked.out)
    print("\n".join(report(finished(kept), asked.out)))


if __name__ == "__main__":
    main()
