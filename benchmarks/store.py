"""200,000 readings in one store: how long a page, an undo, an export, a bundle and a fit take.

python benchmarks/store.py              on SQLite, in a new folder
python benchmarks/store.py ADDRESS      on an empty PostgreSQL database
"""

import statistics
import sys
import tempfile
import time
from importlib import resources
from pathlib import Path

import numpy as np

from whirlbench.actions.fit import fit
from whirlbench.actions.taken import taken_with
from whirlbench.measure.readings import Reading
from whirlbench.parts.files import read_turbine
from whirlbench.parts.load import Resistor
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.store import bundle, changes, export, readings, teams, turbines
from whirlbench.store.store import Store

COUNT, AT_ONCE = 200_000, 20_000
_SHOWN = ("voltage", "rotor_speed")


def timed(words, act, *, times=1):
    """Print the median time of an act, by the clock and of this process, and hand back its last answer."""
    spent, worked = [], []
    for _ in range(times):
        begun, busy = time.perf_counter(), time.process_time()
        answer = act()
        spent.append(time.perf_counter() - begun)
        worked.append(time.process_time() - busy)
    clock, own = (1000 * statistics.median(each) for each in (spent, worked))
    print(f"{words:45s} {clock:10.1f} ms, {own:10.1f} ms of it working", flush=True)
    return answer


def turbine():
    with resources.as_file(resources.files("whirlbench") / "examples" / "geared.toml") as path:
        return read_turbine(path)


class Fan:
    """Readings as a logger beside an anemometer gives them: winds all different, three loads, 2 % of scatter."""

    def __init__(self, parts):
        self._speeds, self._loads = np.linspace(3, 6, 13), (10.0, 22.0, 47.0)
        builds = [parts.changed(load=Resistor(resistance=ohms)) for ohms in self._loads]
        assemblies = [whole.assemble(build, world.best_estimate()) for build in builds]
        found = [[whole.predict(one, speed).pushed for speed in self._speeds] for one in assemblies]
        self._shown = {name: [[getattr(at, name)[0] for at in each] for each in found] for name in _SHOWN}
        self._draw = np.random.default_rng(1)

    def rows(self, first, count):
        draw = self._draw
        speeds, loads = draw.uniform(3, 6, count), draw.integers(0, 3, count)
        shown = {name: [np.interp(speeds, self._speeds, each) for each in of] for name, of in self._shown.items()}
        scatter = {name: np.exp(0.02 * draw.standard_normal(count)) for name in _SHOWN}
        return [
            Reading(
                row=first + place,
                wind_speed=float(speeds[place]),
                load_resistance=self._loads[load],
                air_temperature=294.0,
                note="fan on low" if place % 9 == 0 else "",
                **{name: float(shown[name][load][place] * scatter[name][place]) for name in _SHOWN},
            )
            for place, load in enumerate(loads)
        ]


def fill(store, team, batches, version):
    for batch in batches:
        with store.writing() as session:
            readings.add(session, team, batch, subject="benchmark", turbine_version_id=version)


def looked(store, act):
    with store.looking() as session:
        return act(session)


def written(store, act):
    with store.writing() as session:
        return act(session)


def packed(session, team, path):
    with path.open("wb") as file:
        bundle.pack(session, team, file)


def main(place, folder):
    with Store(place) as store:
        team = written(store, lambda session: teams.add(session, "Kittiwake"))
        parts = turbine()
        version = written(store, lambda session: turbines.keep(session, team, parts)).id
        fan = Fan(parts)
        batches = [fan.rows(first, AT_ONCE) for first in range(0, COUNT, AT_ONCE)]
        timed(f"log {COUNT:,} readings, {AT_ONCE:,} at a time", lambda: fill(store, team, batches, version))
        newest = timed("newest 50", lambda: looked(store, lambda s: readings.page(s, team)), times=50)
        middle = newest[0].id - COUNT // 2
        timed(
            "50 from the middle",
            lambda: looked(store, lambda s: readings.page(s, team, before=middle)),
            times=50,
        )
        timed("count", lambda: looked(store, lambda s: readings.count(s, team)), times=3)
        add = lambda: written(store, lambda s: readings.add(s, team, fan.rows(0, 1)))  # noqa: E731
        timed("log one reading", add, times=50)
        timed("undo it", lambda: written(store, lambda s: changes.undo(s, team)), times=20)
        timed("history, newest 50", lambda: looked(store, lambda s: changes.history(s, team)), times=5)
        taken = timed("take all that were read with one turbine", lambda: taken_with(store, team.name, parts))
        report = timed("fit", lambda: fit(parts, taken))
        print(
            f"fit: {len(report.readings)} numbers out of {len(taken):,} readings, {len(report.questions)} asked about"
        )
        for ending in ("csv", "parquet", "xlsx"):
            path = folder / f"readings.{ending}"
            timed(
                f"export {ending}",
                lambda path=path: looked(store, lambda s: export.write(readings.every(s, team), path)),
            )
        path = folder / "team.zip"
        timed("bundle out", lambda: looked(store, lambda s: packed(s, team, path)))
        timed("bundle in, as another team", lambda: written(store, lambda s: bundle.unpack(s, path, name="Tern")))
        timed("delete that team", lambda: written(store, lambda s: teams.remove(s, teams.get(s, "Tern"))))
        print(f"bundle {path.stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        main(sys.argv[1] if len(sys.argv) > 1 else Path(made) / "room.db", Path(made))
