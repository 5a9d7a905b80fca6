"""Two hundred kill -9 at random moments on each database: what was acknowledged is there, the rest whole or absent."""

import json
import os
import random
import re
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import psycopg
import pytest

from whirlbench.store import readings, runs, teams
from whirlbench.store.store import Store

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not hasattr(os, "fork"), reason="the writers are forks")]
KILLS, SERVER_KILLS = 200, 12
WRITER = Path(__file__).with_name("writer.py")
LONGEST_LIFE = 0.1  # [s] after its first word: a few of its transactions
PATIENCE = 60.0  # [s]


class Writers:
    """Writers that can be started and killed, and what they acknowledged."""

    def __init__(self, address, path):
        self.path, self.chance = path, random.Random(1)
        path.touch()
        command = [sys.executable, str(WRITER), str(address), str(path)]
        self.parent = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def start(self):
        """Start a writer, let it live for a moment, and hand back its number."""
        before, end = self.path.stat().st_size, time.monotonic() + PATIENCE
        self.parent.stdin.write("go\n")
        self.parent.stdin.flush()
        writer = int(self.parent.stdout.readline())
        while self.path.stat().st_size == before and time.monotonic() < end:
            time.sleep(0.001)
        time.sleep(self.chance.uniform(0, LONGEST_LIFE))
        return writer

    def wait(self):
        assert self.parent.stdout.readline() == "dead\n"

    def kill(self):
        os.kill(self.start(), signal.SIGKILL)
        self.wait()

    def acknowledged(self):
        return [json.loads(line) for line in self.path.read_text().splitlines()]

    def stop(self):
        self.parent.stdin.close()
        self.parent.wait(PATIENCE)
        self.parent.stdout.close()


@pytest.fixture
def writers(request, tmp_path):
    started = []

    def start(address):
        with Store(address) as store, store.writing() as session:
            teams.add(session, "Kittiwake")
        started.append(Writers(address, tmp_path / "acknowledged"))
        return started[0]

    yield start
    for each in started:
        each.stop()


def check(address, acknowledged):
    """Hold the store against the words of the dead."""
    with Store(address) as store, store.looking() as session:
        team = teams.get(session, "Kittiwake")
        found = {(one.id, one.version): one for one in readings.every(session, team, versions=True)}
        for kind, one, *facts in acknowledged:
            if kind == "reading":
                version, gone, voltage = facts
                entry = found[one, version]
                assert (entry.gone, entry.reading.voltage) == (gone, voltage)
            elif kind == "run":
                assert runs.load(session, team, one).samples == {"time": [facts[0]] * 50}
    batches = Counter(entry.reading.note for entry in found.values() if entry.version == 1)
    for note, size in batches.items():
        assert size == int(re.search(r"\d+$", note)[0]), "a batch is there in part"
    return len(found)


def test_killed_writers_on_sqlite(tmp_path, writers):
    path = tmp_path / "room.db"
    lives = writers(path)
    for number in range(KILLS):
        lives.kill()
        connection = sqlite3.connect(path)
        assert connection.execute("PRAGMA quick_check").fetchall() == [("ok",)]
        connection.close()
        if number % 25 == 24:
            check(path, lives.acknowledged())
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    connection.close()
    done = lives.acknowledged()
    assert {kind for kind, *_ in done} == {"reading", "run"}
    assert check(path, done) >= len(done) / 2 > KILLS


def test_killed_writers_and_servers_on_postgresql(postgres, writers):
    address = postgres.database("killed")
    lives = writers(address)
    for _ in range(KILLS - SERVER_KILLS):
        lives.kill()
    check(address, lives.acknowledged())
    for _ in range(SERVER_KILLS):
        lives.start()
        postgres.kill()
        lives.wait()
        postgres.start()
        check(address, lives.acknowledged())
    with psycopg.connect(address) as connection:  # a damaged page would not pass its checksum
        for (table,) in connection.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall():
            connection.execute(f'SELECT * FROM "{table}"').fetchall()
        assert connection.execute("SHOW data_checksums").fetchone() == ("on",)
    done = lives.acknowledged()
    assert Counter(kind for kind, *_ in done)["lost"] == SERVER_KILLS
    assert check(address, done) >= len(done) / 2 > KILLS
