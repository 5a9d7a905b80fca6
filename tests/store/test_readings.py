"""Readings: nothing lost on the way, nothing overwritten, undo brings back exactly what was there."""

import contextlib
import threading
from dataclasses import dataclass, fields, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from store.any_reading import any_readings

from whirlbench.errors import Conflict, InputError, UnknownKey
from whirlbench.measure.readings import Reading
from whirlbench.store import changes, entry, readings, teams, turbines
from whirlbench.store.store import Store


def volts(*values):
    return [Reading(row=number, wind_speed=4.0, voltage=value) for number, value in enumerate(values, 1)]


def now(session, team):
    return [one.reading for one in readings.every(session, team)]


def logged(store, team, rows, **more):
    with store.writing() as session:
        return readings.add(session, team, rows, **more)


# --- what goes in comes out -----------------------------------------------------------------------------------------


@settings(max_examples=150)
@given(any_readings)
def test_any_reading_becomes_columns_and_comes_back(reading):
    assert entry.reading_of(entry.columns_of(reading)) == reading


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def room(request, tmp_path_factory):
    """A store that many examples share, each with a team of its own."""
    if request.param == "postgresql":
        yield request.getfixturevalue("postgres_store")
        return
    with Store(tmp_path_factory.mktemp("room") / "room.db") as store:
        yield store


@contextlib.contextmanager
def own_team(room):
    with room.writing() as session:
        team = teams.add(session, "Shearwater")
        yield session, team
        teams.remove(session, team)


@given(rows=st.lists(any_readings, max_size=8))
@settings(max_examples=40)
def test_any_readings_come_back(room, rows):
    with own_team(room) as (session, team):
        readings.add(session, team, rows)
        assert now(session, team) == rows


def test_a_field_that_is_no_column_yet_is_kept_all_the_same(monkeypatch):
    @dataclass(frozen=True)
    class Later(Reading):
        blade_temperature: float | None = None
        spots: tuple = ()

    monkeypatch.setattr(entry, "Reading", Later)
    monkeypatch.setattr(entry, "_FIELDS", entry._FIELDS | {"blade_temperature": None, "spots": ()})
    reading = Later(row=1, blade_temperature=291.5, spots=(1.5, (2, "x")))
    columns = entry.columns_of(reading)
    assert columns["more"] == {"row": 1, "blade_temperature": 291.5, "spots": (1.5, (2, "x"))}
    columns["more"]["spots"] = [1.5, [2, "x"]]  # as JSON brings it back
    assert entry.reading_of(columns) == reading


def test_every_column_of_a_reading_is_a_field():
    ours = set(entry.ReadingVersion.content_columns()) - {
        "reading_id",
        "turbine_version_id",
        "plan_id",
        "plan_row",
        "more",
    }
    assert ours == set(entry.OWN)
    assert ours <= {field.name for field in fields(Reading)}


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("voltage", float("nan")),
        ("humidity", float("inf")),
        ("note", "a\0"),
        ("meter", "\ud800"),
        ("note", "x" * 10**5),
    ],
)
def test_what_a_database_would_lose_is_refused_before(store, team, field, value):
    with pytest.raises(InputError, match=field):
        logged(store, team, [replace(Reading(row=1), **{field: value})])


def test_several_thousand_at_once_keep_their_order(store, team):
    rows = volts(*(number / 7 for number in range(4500)))
    ids = logged(store, team, rows)
    assert list(ids) == sorted(ids)
    with store.looking() as session:
        assert now(session, team) == rows
        assert readings.count(session, team) == 4500


# --- pages ----------------------------------------------------------------------------------------------------------


def test_pages_from_the_newest(store, team):
    ids = logged(store, team, volts(*range(1, 8)))
    with store.writing() as session:
        readings.delete(session, team, ids[4], seen=1)
    pages, before = [], None
    with store.looking() as session:
        while page := readings.page(session, team, before=before, limit=2):
            pages.append([one.reading.voltage for one in page])
            before = page[-1].id
    assert pages == [[7, 6], [4, 3], [2, 1]]


def test_a_reading_knows_what_stood_at_the_fan(store, team, starter):
    with store.writing() as session:
        first = turbines.keep(session, team, starter)
        turbines.keep(session, team, starter.changed(note="second"))
        (one,) = readings.add(session, team, volts(1.0), turbine_version_id=first.id)
        readings.change(session, team, one, seen=1, reading=volts(2.0)[0], author="Ana")
        found = readings.history(session, team, one)
    assert [(each.turbine, each.turbine_version, each.author) for each in found] == [
        (starter.name, 1, ""),
        (starter.name, 1, "Ana"),
    ]


# --- changes --------------------------------------------------------------------------------------------------------


def test_a_change_adds_a_version_and_the_old_one_stays(store, team):
    (one,) = logged(store, team, volts(1.0))
    with store.writing() as session:
        changed = readings.change(session, team, one, seen=1, reading=volts(2.0)[0], author="Ana")
        gone = readings.delete(session, team, one, seen=2, author="Bo")
        found = readings.history(session, team, one)
        assert now(session, team) == []
        versions = list(readings.every(session, team, versions=True))
    assert (changed.version, changed.reading.voltage, changed.author) == (2, 2.0, "Ana")
    assert (gone.version, gone.gone) == (3, True)
    assert [each.reading.voltage for each in found] == [1.0, 2.0, 2.0]
    assert versions == list(found)


def test_a_change_to_an_older_version_is_refused_with_what_stands_there(store, team):
    (one,) = logged(store, team, volts(1.0))
    with store.writing() as session:
        readings.change(session, team, one, seen=1, reading=volts(2.0)[0], author="Ana")
    for act in (readings.delete, readings.change):
        more = {"reading": volts(3.0)[0]} if act is readings.change else {}
        for seen in (1, 3, 0):
            with pytest.raises(Conflict) as told, store.writing() as session:
                act(session, team, one, seen=seen, **more)
            assert f"reading {one}: got a change to version {seen}, needs version 2, written at" in str(told.value)
            assert "by Ana" in str(told.value)
    with store.looking() as session:
        assert now(session, team) == volts(2.0)


def test_of_two_who_write_at_the_same_moment_one_is_told(store, team):
    (one,) = logged(store, team, volts(0.0))
    turns, outcomes = 12, []
    for turn in range(1, turns + 1):
        gate = threading.Barrier(2)

        def write(value, turn=turn, gate=gate):
            gate.wait()
            try:
                with store.writing() as session:
                    readings.change(session, team, one, seen=turn, reading=volts(value)[0])
                outcomes.append("written")
            except Conflict:
                outcomes.append("told")

        threads = [threading.Thread(target=write, args=(value,)) for value in (1.0, 2.0)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert outcomes.count("written") == outcomes.count("told") == turns
    with store.looking() as session:
        assert [each.version for each in readings.history(session, team, one)] == list(range(1, turns + 2))


def test_a_reading_of_another_team_is_not_there(store, team):
    (one,) = logged(store, team, volts(1.0))
    with store.writing() as session:
        other = teams.add(session, "Tern")
        for act in (
            lambda: readings.history(session, other, one),
            lambda: readings.delete(session, other, one, seen=1),
            lambda: readings.change(session, other, one, seen=1, reading=volts(2.0)[0]),
        ):
            with pytest.raises(UnknownKey):
                act()
        assert now(session, other) == []
        with pytest.raises(InputError):
            changes.undo(session, other, change_id=changes.history(session, team)[0].id)


# --- marks ----------------------------------------------------------------------------------------------------------


def test_the_same_mark_is_the_same_reading(store, team):
    first = logged(store, team, volts(1.0, 2.0), marks=["a", "b"])
    assert logged(store, team, volts(1.0, 2.0, 3.0), marks=["a", "b", "c"])[0] > first[1]
    assert logged(store, team, volts(1.0), marks=["a"]) == ()
    with store.writing() as session:
        other = teams.add(session, "Tern")
        assert len(readings.add(session, other, volts(1.0), marks=["a"])) == 1
        assert [each.voltage for each in now(session, team)] == [1.0, 2.0, 3.0]
        assert len(changes.history(session, team)) == 2, "what brings nothing is no change"


def test_a_deleted_reading_comes_back_under_its_mark(store, team):
    ids = logged(store, team, volts(1.0, 2.0), marks=["a", "b"])
    with store.writing() as session:
        readings.delete(session, team, ids[0], seen=1)
        assert readings.add(session, team, volts(1.5, 2.5), marks=["a", "b"]) == ids[:1]
        assert [each.voltage for each in now(session, team)] == [1.5, 2.0]
        assert [each.gone for each in readings.history(session, team, ids[0])] == [False, True, False]


# --- undo -----------------------------------------------------------------------------------------------------------


def test_undo_walks_back_to_the_beginning(store, team):
    ids = logged(store, team, volts(1.0, 2.0))
    with store.writing() as session:
        readings.change(session, team, ids[0], seen=1, reading=volts(9.0)[0])
        readings.delete(session, team, ids[1], seen=1)
    seen = []
    with store.writing() as session:
        for _ in range(3):
            done = changes.undo(session, team)
            seen.append((done.verb, done.count, [each.voltage for each in now(session, team)]))
        with pytest.raises(InputError, match="nothing that could be taken back"):
            changes.undo(session, team)
        assert len(list(readings.every(session, team, versions=True))) == 8, "every step stays"
    assert seen == [("delete", 1, [9.0, 2.0]), ("change", 1, [1.0, 2.0]), ("log", 2, [])]


def test_a_change_that_others_built_on_is_not_taken_back(store, team):
    (one,) = logged(store, team, volts(1.0))
    with store.writing() as session:
        first = changes.history(session, team)[0].id
        readings.change(session, team, one, seen=1, reading=volts(2.0)[0])
        with pytest.raises(Conflict, match=f"change {first}, which change .* built on"):
            changes.undo(session, team, change_id=first)
        changes.undo(session, team)
        changes.undo(session, team, change_id=first)
        assert now(session, team) == []
        with pytest.raises(InputError, match="still holds"):
            changes.undo(session, team, change_id=first)


def test_of_two_who_undo_the_same_one_is_told(store, team):
    logged(store, team, volts(1.0))
    with store.looking() as session:
        last = changes.history(session, team)[0].id
    gate, outcomes = threading.Barrier(2), []

    def undo():
        gate.wait()
        try:
            with store.writing() as session:
                changes.undo(session, team, change_id=last)
            outcomes.append("done")
        except InputError:  # taken back before it looked, or a conflict after
            outcomes.append("told")

    threads = [threading.Thread(target=undo) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["done", "told"]


STEPS = st.lists(
    st.tuples(st.sampled_from(["add", "change", "delete", "undo"]), st.integers(0, 9), st.integers(1, 3)), max_size=14
)


def step(session, team, act, pick, size):
    """Do one thing; what the table then says must be in the list of what it said before, after an undo."""
    found = list(readings.every(session, team))
    if act == "add":
        readings.add(session, team, volts(*(pick + part / 4 for part in range(size))))
    elif found:
        chosen = found[pick % len(found)]
        if act == "change":
            reading = replace(chosen.reading, voltage=chosen.reading.voltage + size)
            readings.change(session, team, chosen.id, seen=chosen.version, reading=reading)
        else:
            readings.delete(session, team, chosen.id, seen=chosen.version)
    else:
        return False
    return True


@given(steps=STEPS)
@settings(max_examples=25)
def test_undo_is_a_stack_whatever_was_done(room, steps):
    with own_team(room) as (session, team):
        before = []
        for act, pick, size in steps:
            stands = now(session, team)
            if act == "undo":
                if before:
                    changes.undo(session, team)
                    assert now(session, team) == before.pop()
            elif step(session, team, act, pick, size):
                before.append(stands)
        while before:
            changes.undo(session, team)
            assert now(session, team) == before.pop()
