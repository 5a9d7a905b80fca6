"""How fast the best reachable build is found, and how many designs a second are looked at on the way.

Run: python benchmarks/search.py
"""

import os
import statistics
import time
from pathlib import Path

import numpy as np

from whirlbench.advise import chain_choice, climb, designs, search_jobs
from whirlbench.advise.score import Scorer
from whirlbench.advise.search import search
from whirlbench.event.rules import broken
from whirlbench.parts.files import read_bin, read_event, read_turbine
from whirlbench.predict import blades, world
from whirlbench.predict import turbine as whole
from whirlbench.predict.facts import facts

EXAMPLES = Path(__file__).parents[1] / "src/whirlbench/examples"
BIN, EVENT = read_bin(EXAMPLES / "parts-bin.toml"), read_event(EXAMPLES / "event.toml")


def tell(what, number, remark=""):
    """Print one line of the report."""
    print(f"{what:<56}{number:>14}  {remark}")


def settled(name):
    """An example turbine with its scorer and believed worlds."""
    scorer, turbine = Scorer(EVENT), read_turbine(EXAMPLES / f"{name}.toml")
    turbine = whole.settled(turbine, scorer.winds(turbine))
    return scorer, turbine, world.draw(whole.priors(turbine), world.COUNT)


def legal(worth):
    """Whether a build keeps the event's rules."""
    return not broken(EVENT, facts(worth.assembly, *worth.predictions))


def whole_search(scorer, turbine, worlds, **options):
    """The whole search, its worker processes and their start included where no executor is given."""
    return search(scorer, turbine, worlds, parts_bin=BIN, event=EVENT, acceptable=legal, **options)


def robust_search(name):
    """Print the whole search of one example."""
    scorer, turbine, worlds = settled(name)
    before = scorer.worth(turbine, worlds).power.mean()
    found = whole_search(scorer, turbine, worlds)
    gain = f"{before:.2f} W becomes {found.worth.power.mean():.2f} W; {found.evaluations} rotors, two processes"
    tell(f"robust search, {name} build (aim: below 20 s)", f"{found.seconds:.1f} s", gain)


def drawn(task, count):
    """Buildable rotors drawn over all kinds of blades."""
    for number, kind in enumerate(task.space.kinds):
        for point in climb.latin_hypercube(count, len(kind.free), number):
            turbine = designs.build(task.space, kind, point)
            if turbine is not None:
                yield number, point, turbine


def rates():
    """Print designs and rotors a second of one process."""
    scorer, turbine, worlds = settled("starter")
    choice = chain_choice.chains_at_hand(turbine, BIN, EVENT, worlds=worlds, start_guarantee=0.9, most_thrust=20.0)
    task = search_jobs.Task(designs.space(turbine, BIN, EVENT), choice, scorer, worlds, turbine, 0.9)
    rotors = list(drawn(task, 6))
    search_jobs.look(task, *rotors[0][:2])
    chains = sum(len(one.trains) * len(one.loads) for one in choice.supplies)
    whole_look, rotor_alone, chains_alone = [], [], []
    for number, point, turbine in rotors:
        mass = turbine.rotor.blade_count * blades.blade_mass(turbine.rotor).mass + turbine.rotor.hub.mass
        begun = time.perf_counter()
        curves = search_jobs.curves(task, turbine)
        solved = time.perf_counter()
        chain_choice.scored(choice, curves, mass)
        done = time.perf_counter()
        search_jobs.look(task, number, point)
        whole_look.append(time.perf_counter() - done)
        rotor_alone.append(solved - begun)
        chains_alone.append(done - solved)
    times = [statistics.median(one) for one in (whole_look, rotor_alone, chains_alone)]
    tell("designs a second, chains reused (aim: 80,000)", f"{chains / times[0]:,.0f}", f"{chains} chains a rotor")
    tell("different rotors a second, each with one chain", f"{1 / (times[1] + times[2] / chains):,.0f}")
    tell("one rotor", f"{1e3 * times[1]:.2f} ms", "median of all kinds of blades, 14 stations")
    tell("all chains on it", f"{1e3 * times[2]:.2f} ms", f"{1e6 * times[2] / chains:.1f} microseconds each")


if __name__ == "__main__":
    tell("cores", str(os.cpu_count()), f"numpy {np.__version__}")
    rates()
    for build in ("starter", "geared", "advanced"):
        robust_search(build)
