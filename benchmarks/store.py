"""200,000 readings in one store: how long a page, an undo, an export and a bundle take.

python benchmarks/store.py              on SQLite, in a new folder
python benchmarks/store.py ADDRESS      on an empty PostgreSQL database
"""

import statistics
import sys
import tempfile
import time
from pathlib import Path

from whirlbench.measure.readings import Reading
from whirlbench.store import bundle, changes, export, readings, teams
from whirlbench.store.store import Store

COUNT, AT_ONCE = 200_000, 20_000


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


def rows(first, count):
    return [
        Reading(
            row=number,
            wind_speed=3 + number % 5,
            load_resistance=47.0,
            voltage=(number % 977) / 300,
            rotor_speed=20 + number % 31,
            air_temperature=294.0,
            note="fan on low" if number % 9 == 0 else "",
        )
        for number in range(first, first + count)
    ]


def fill(store, team):
    for first in range(0, COUNT, AT_ONCE):
        with store.writing() as session:
            readings.add(session, team, rows(first, AT_ONCE), subject="benchmark")


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
        timed(f"log {COUNT:,} readings, {AT_ONCE:,} at a time", lambda: fill(store, team))
        newest = timed("newest 50", lambda: looked(store, lambda s: readings.page(s, team)), times=50)
        middle = newest[0].id - COUNT // 2
        timed(
            "50 from the middle",
            lambda: looked(store, lambda s: readings.page(s, team, before=middle)),
            times=50,
        )
        timed("count", lambda: looked(store, lambda s: readings.count(s, team)), times=3)
        add = lambda: written(store, lambda s: readings.add(s, team, rows(0, 1)))  # noqa: E731
        timed("log one reading", add, times=50)
        timed("undo it", lambda: written(store, lambda s: changes.undo(s, team)), times=20)
        timed("history, newest 50", lambda: looked(store, lambda s: changes.history(s, team)), times=5)
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
