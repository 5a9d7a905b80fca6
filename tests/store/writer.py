"""A writer that is there to be killed: saves without end, and acknowledges each thing after it was saved.

    python writer.py ADDRESS FILE

Each line on its input starts a new writer as a fork, so that a hundred of them cost one start of Python.
"""

import json
import os
import random
import sys
from dataclasses import replace

from whirlbench.errors import WhirlbenchError
from whirlbench.measure.readings import Reading
from whirlbench.store import changes, readings, runs, teams
from whirlbench.store.store import Store


def acknowledge(file, *facts):
    """One write, so that a kill leaves whole lines; what the kernel has, it keeps."""
    os.write(file, json.dumps(facts).encode() + b"\n")


def batch(store, team, chance, file):
    """Several readings that are there together or not at all."""
    name, size = f"{os.getpid()} {chance.random()}", chance.randint(1, 4)
    rows = [Reading(row=number, voltage=chance.random(), note=f"{name} of {size}") for number in range(size)]
    with store.writing() as session:
        made = readings.add(session, team, rows)
    for one, row in zip(made, rows, strict=True):
        acknowledge(file, "reading", one, 1, False, row.voltage)
    return [(one, 1, row) for one, row in zip(made, rows, strict=True)]


def turn(store, team, chance, file):
    """One batch, then a change, a deletion and an undo, each in its own transaction; then a chunk of a run."""
    (one, version, row), *_ = batch(store, team, chance, file)
    row = replace(row, voltage=chance.random())
    with store.writing() as session:
        readings.change(session, team, one, seen=version, reading=row)
    acknowledge(file, "reading", one, 2, False, row.voltage)
    with store.writing() as session:
        readings.delete(session, team, one, seen=2)
    acknowledge(file, "reading", one, 3, True, row.voltage)
    with store.writing() as session:
        changes.undo(session, team)
    acknowledge(file, "reading", one, 4, False, row.voltage)
    with store.writing() as session:
        run = runs.begin(session, team, "run", columns={"time": "s"})
        runs.append(session, team, run, number=1, samples={"time": [row.voltage] * 50})
    acknowledge(file, "run", run, row.voltage)


def write(address, path):
    """Write until killed, or until the server is."""
    chance = random.Random(os.getpid())
    file = os.open(path, os.O_WRONLY | os.O_APPEND)
    with Store(address) as store:
        with store.looking() as session:
            team = teams.get(session, "Kittiwake")
        while True:
            turn(store, team, chance, file)


def main(address, path):
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                write(address, path)
            except WhirlbenchError as error:
                acknowledge(os.open(path, os.O_WRONLY | os.O_APPEND), "lost", str(error))
            finally:
                os._exit(3)
        print(child, flush=True)
        os.waitpid(child, 0)
        print("dead", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
