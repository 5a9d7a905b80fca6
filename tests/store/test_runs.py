"""Runs: chunks joined in order, each counted once, none of another team."""

import pytest

from whirlbench.errors import Conflict, InputError, UnknownKey
from whirlbench.store import runs, teams

COLUMNS = {"time": "s", "voltage": "V"}


@pytest.fixture
def run(store, team):
    with store.writing() as session:
        return runs.begin(session, team, "fan on low", columns=COLUMNS)


def append(store, team, run, number, **samples):
    with store.writing() as session:
        runs.append(session, team, run, number=number, samples=samples)


def test_chunks_are_joined_in_order(store, team, run):
    append(store, team, run, 1, time=[0.0, 0.1], voltage=[0.5, None])
    append(store, team, run, 2, voltage=[], time=[])
    append(store, team, run, 3, time=[0.2], voltage=[1 / 3])
    with store.looking() as session:
        found = runs.load(session, team, run)
        (listed,) = runs.every(session, team)
    assert found.samples == {"time": [0.0, 0.1, 0.2], "voltage": [0.5, None, 1 / 3]}
    assert (listed.name, listed.columns, listed.samples) == ("fan on low", COLUMNS, {"time": [], "voltage": []})


def test_a_chunk_sent_twice_counts_once(store, team, run):
    append(store, team, run, 1, time=[0.0], voltage=[0.5])
    with pytest.raises(Conflict):
        append(store, team, run, 1, time=[0.0], voltage=[0.5])
    with store.looking() as session:
        assert runs.load(session, team, run).samples["time"] == [0.0]


@pytest.mark.parametrize(
    ("number", "samples", "told"),
    [
        (2, {"time": [0.0], "voltage": [1.0]}, "needs 1, the next one"),
        (1, {"time": [0.0]}, "equally long lists of time, voltage"),
        (1, {"time": [0.0], "voltage": [1.0], "current": [1.0]}, "equally long lists"),
        (1, {"time": [0.0, 0.1], "voltage": [1.0]}, "equally long lists"),
        (1, {"time": [0.0], "voltage": [float("nan")]}, "a number that is none"),
        (1, {"time": [0.0] * 100_001, "voltage": [1.0] * 100_001}, "at most 100000"),
    ],
)
def test_chunks_that_do_not_fit(store, team, run, number, samples, told):
    with pytest.raises(InputError, match=told):
        append(store, team, run, number, **samples)


def test_a_run_of_another_team_is_not_there(store, team, run):
    with store.writing() as session:
        other = teams.add(session, "Tern")
    with pytest.raises(UnknownKey):
        append(store, other, run, 1, time=[0.0], voltage=[0.5])
    with pytest.raises(UnknownKey), store.looking() as session:
        runs.load(session, other, run)
