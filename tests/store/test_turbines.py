"""Teams, turbines, plans and events: every version kept, differences in words, names found again."""

import dataclasses

import pytest
from hypothesis import given, settings
from turbines import BUILDS, example
from turbines import turbines as any_turbine

from whirlbench.errors import InputError, UnknownKey
from whirlbench.measure.readings import Reading
from whirlbench.parts import plain
from whirlbench.parts.event import Event
from whirlbench.parts.load import Leds
from whirlbench.parts.section import OwnPolar
from whirlbench.parts.turbine import Turbine
from whirlbench.store import changes, documents, plans, readings, teams, turbines
from whirlbench.store.differences import differences
from whirlbench.store.shelf import EVENTS


def sentences(before, after):
    return [one.sentence for one in differences(before, after)]


def turned(turbine, pitch):
    return turbine.changed(rotor=turbine.rotor.changed(pitch=pitch))


# --- teams ----------------------------------------------------------------------------------------------------------


def test_a_team_is_found_by_any_capitals(store, team):
    with store.looking() as session:
        assert teams.get(session, "  kittiWAKE ").id == team.id


@pytest.mark.parametrize("name", ["", "   ", "x" * 81, "a\0b", "\ud800", "\u202etern"])
def test_names_that_are_none(store, name):
    with pytest.raises(InputError), store.writing() as session:
        teams.add(session, name)


def test_a_name_is_given_once(store, team):
    with pytest.raises(InputError, match="here already"), store.writing() as session:
        teams.add(session, "KITTIWAKE")


def test_an_unknown_team_is_answered_with_the_nearest(store, team):
    with pytest.raises(UnknownKey, match="write 'Kittiwake'"), store.looking() as session:
        teams.get(session, "Kitiwake")


def test_a_removed_team_leaves_nothing_and_takes_nobody_with_it(store, team, starter):
    with store.writing() as session:
        other = teams.add(session, "Tern")
        for whose in (team, other):
            version = turbines.keep(session, whose, starter)
            plan = plans.keep(session, whose, "pitch", plan={})
            readings.add(
                session,
                whose,
                [Reading(row=1)],
                turbine_version_id=version.id,
                plan_id=plan.document_id,
                plan_rows=[1],
            )
        changes.undo(session, other)
        changes.undo(session, team)
        teams.remove(session, team)
    with store.looking() as session:
        assert [each.name for each in teams.every(session)] == ["Tern"]
        assert len(turbines.every(session, other)) == 1
        assert len(changes.history(session, other)) == 4
        assert changes.history(session, team) == ()


# --- versions -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BUILDS)
def test_a_turbine_comes_back_as_it_was(store, team, name):
    with store.writing() as session:
        turbines.keep(session, team, example(name))
    with store.looking() as session:
        assert turbines.load(session, team, example(name).name).turbine == example(name)


@settings(max_examples=40)
@given(any_turbine())
def test_any_turbine_comes_back_as_it_was(turbine):
    text = plain.text_of(turbine)
    again = plain.part_of(Turbine, text)
    assert again == turbine
    assert plain.text_of(again) == text


def test_the_same_twice_is_no_new_version_but_going_back_is(store, team, starter):
    with store.writing() as session:
        saved = [turbines.keep(session, team, one) for one in (starter, starter, turned(starter, 0.5), starter)]
        assert [(one.number, one.new) for one in saved] == [(1, True), (1, False), (2, True), (3, True)]
        assert len(changes.history(session, team)) == 3
        assert turbines.load(session, team, starter.name, number=2).turbine == turned(starter, 0.5)
        found = turbines.history(session, team, starter.name.upper())
    assert [one.turbine for one in found] == [starter, turned(starter, 0.5), starter]
    assert [one.differences[0].field for one in found[1:]] == ["rotor > pitch"] * 2
    assert found[0].differences == ()


def test_versions_and_names_that_are_not_there(store, team, starter):
    with store.writing() as session:
        turbines.keep(session, team, starter)
    with store.looking() as session:
        for number in (0, 2, -1):
            with pytest.raises(InputError, match="version 1 to 1"):
                turbines.load(session, team, starter.name, number=number)
        with pytest.raises(UnknownKey, match="nearest"):
            turbines.load(session, team, starter.name[:-2])


def test_teams_may_name_their_turbines_alike_and_do_not_see_each_other(store, team, starter):
    with store.writing() as session:
        other = teams.add(session, "Tern")
        turbines.keep(session, team, starter)
        assert turbines.keep(session, other, turned(starter, 0.5)).number == 1
        with pytest.raises(UnknownKey):
            plans.load(session, other, "pitch")


def test_undo_brings_the_version_before_and_takes_a_first_one_away(store, team, starter):
    with store.writing() as session:
        turbines.keep(session, team, starter)
        turbines.keep(session, team, turned(starter, 0.5))
        changes.undo(session, team)
        assert turbines.load(session, team, starter.name).turbine == starter
        changes.undo(session, team)
        assert turbines.every(session, team) == ()
        with pytest.raises(UnknownKey, match="taken back"):
            turbines.load(session, team, starter.name)
        again = turbines.keep(session, team, starter)
        assert (again.number, again.new) == (5, True)
        assert [one.gone for one in turbines.history(session, team, starter.name)] == [False, False, False, True, False]


def test_an_own_polar_travels_with_the_turbine(store, team, tmp_path):
    table = "alpha_deg,re,cl,cd\n0,10000,0.1,0.02\n"
    (tmp_path / "mine.csv").write_text(table, encoding="utf-8")
    turbine = example("advanced")
    section = OwnPolar(file=str(tmp_path / "mine.csv"))
    turbine = turbine.changed(rotor=turbine.rotor.changed(section=section))
    with store.writing() as session:
        saved = turbines.keep(session, team, turbine)
        assert saved.files == {"mine.csv": table}
        assert saved.turbine.rotor.section.file == "mine.csv"
        (tmp_path / "mine.csv").write_text(table + "5,10000,0.6,0.03\n", encoding="utf-8")
        again = turbines.keep(session, team, turbine)
        assert again.new
        assert [one.field for one in again.differences] == ["polar table"]
        (tmp_path / "mine.csv").unlink()
        with pytest.raises(InputError, match=r"'mine.csv'"):
            turbines.keep(session, team, turbine)


# --- differences ----------------------------------------------------------------------------------------------------


def test_differences_in_words(starter):
    assert sentences(starter, starter) == []
    assert sentences(starter, turned(starter, 0.5235987755982988)) == ["rotor > pitch: 35 deg becomes 30 deg"]
    rodless = starter.changed(rotor=starter.rotor.changed(rod=None))
    gone = sentences(starter, rodless)
    assert "rotor > rod > diameter: 6.35 mm is gone" in gone
    assert "rotor > rod > diameter: 6.35 mm is new" in sentences(rodless, starter)
    told = sentences(starter, starter.changed(load=Leds()))
    assert "load > kind: resistor becomes leds" in told
    assert "load > resistance: 47 ohm is gone" in told


def test_a_small_difference_is_shown_with_enough_digits(starter):
    before, after = (starter.changed(load=starter.load.changed(resistance=one)) for one in (47.0, 47.01))
    assert sentences(before, after) == ["load > resistance: 47.0000 ohm becomes 47.0100 ohm"]
    after = starter.changed(load=starter.load.changed(resistance=47.0 + 1e-12))
    assert sentences(before, after) == [f"load > resistance: 47.0 becomes {47.0 + 1e-12!r}"]


@given(any_turbine(), any_turbine())
@settings(max_examples=25)
def test_two_turbines_that_differ_are_told_apart(one, other):
    found = differences(one, other)
    assert bool(found) is (one != other)
    assert all(each.before != each.after for each in found)
    assert {each.field for each in differences(other, one)} == {each.field for each in found}


# --- plans and events -----------------------------------------------------------------------------------------------


def test_a_plan_and_its_record(store, team):
    plan = {"factor": "pitch", "rows": [{"pitch_deg": 10}, {"pitch_deg": 20.5}], "seed": None}
    with store.writing() as session:
        saved = plans.keep(session, team, "Pitch first", plan=plan)
        for row in (2, 1, 2):
            reading = Reading(row=row, voltage=float(row))
            readings.add(session, team, [reading], plan_id=saved.document_id, plan_rows=[row])
        readings.add(session, team, [Reading(row=9)])
    with store.looking() as session:
        assert plans.load(session, team, "pitch FIRST") == plan
        found = plans.record(session, team, "Pitch first")
    assert [entry.plan_row for entry in found] == [1, 2, 2]
    assert {entry.plan for entry in found} == {"Pitch first"}


def test_events_belong_to_the_room(store):
    event = Event(name="Gullwick Harbour Turbine Trials", max_blades=6, wind_speeds=(3.0, 4.5))
    with store.writing() as session:
        assert EVENTS.keep(session, event.name, event).number == 1
        assert EVENTS.keep(session, event.name, event).number == 1
        assert EVENTS.keep(session, event.name, event.changed(max_blades=4)).number == 2
    with store.looking() as session:
        assert EVENTS.load(session, event.name.lower()) == event.changed(max_blades=4)
        assert [one.name for one in documents.every(session, None, EVENTS.kind)] == [event.name]


def test_saved_records_cannot_be_changed(store, team, starter):
    with store.writing() as session:
        saved = turbines.keep(session, team, starter)
    with pytest.raises(dataclasses.FrozenInstanceError):
        saved.number = 7
