"""A whole room on either database: its facts in one question, and its way through a file."""

import io

import pytest

from whirlbench.actions import backup, overview, room
from whirlbench.measure.readings import Reading
from whirlbench.store import readings, turbines


def test_a_room_goes_through_its_file(store, team, starter):
    room.set_up(store, "Shed", "771204")
    with store.writing() as session:
        turbines.keep(session, team, starter)
        readings.add(session, team, [Reading(row=1, voltage=2.0, load_resistance=10.0)])
    before = overview.facts(store)[0]
    file = io.BytesIO()
    backup.room_out(store, file)
    backup.room_in(store, file, copy=False)
    (old,), (new,) = before, overview.facts(store)[0]
    assert new.number != old.number
    assert vars(new) | {"number": old.number} == vars(old)
    assert room.room(store).name == "Shed"


def test_facts_of_a_room(store, team, starter):
    with store.writing() as session:
        turbines.keep(session, team, starter.changed(name="Old"))
        turbines.keep(session, team, starter)
        watts = [3.0, 1.0, 1.1, 1.2]
        readings.add(session, team, [Reading(row=1, voltage=one, load_resistance=10.0) for one in watts])
        readings.add(session, team, [Reading(row=1, voltage=1.0, load_resistance=0.0)])
    (found,) = overview.facts(store)[0]
    assert (found.turbine, found.version, found.readings) == (starter.name, 1, 5)
    assert (found.best_power, found.latest_power, found.earlier_power) == pytest.approx((0.9, 0.144, 0.9))


def test_a_team_gets_a_pin_by_command(ask, call):
    ask("team", "add", "Petrel")
    assert ask("team", "pin", "petrel", "--pin", "771204") == {"team": "Petrel", "pin": "771204"}
    assert ask("team", "pin", "Petrel")["pin"].isdigit()
    status, _, err = call("team", "pin", "Petrel", "--pin", "1234")
    assert status == 2
    assert "guessed first" in err
