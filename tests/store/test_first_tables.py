"""A store of the first tables, with everything a team can have in it, opens as one of today with all of it there."""

import io
import json

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import create_engine, text

from whirlbench.actions import room
from whirlbench.parts import plain
from whirlbench.store import bundle, changes, documents, migrate, readings, teams, turbines
from whirlbench.store.store import Store

FIRST = "0001"
AT = "2031-03-01T09:30:00.250Z"
POLAR = {"polar.csv": "alpha_deg,re,cl,cd\n0,50000,0.2,0.03\n"}


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request, tmp_path):
    """A database that nobody has touched yet."""
    if request.param == "sqlite":
        return tmp_path / "room.db"
    return request.getfixturevalue("postgres").database(f"first {request.node.name}"[:60])


def engine_of(place):
    where = str(place).replace("postgresql://", "postgresql+psycopg://")
    return create_engine(where if "://" in where else f"sqlite:///{where}")


def rows(starter):
    """Rows of every table of the first version."""
    versions = [json.loads(plain.text_of(starter)), json.loads(plain.text_of(starter.changed(note="second")))]
    reading = {
        "turbine_version_id": 2,
        "plan_id": 2,
        "plan_row": 3,
        "wind_speed": 4.5,
        "load_resistance": 47.0,
        "voltage": 0.342,
        "current": None,
        "rotor_speed": 31.4,
        "tip_force": None,
        "tip_deflection": None,
        "pushed": True,
        "note": "by hand: ñ 風",
        "more": json.dumps({"meter": "A"}),
    }
    yield "team", {"name": "Kittiwake", "key": "kittiwake", "created_at": AT}
    for verb, subject in (("keep turbine", "Starter"), ("keep turbine", "Starter"), ("keep plan", "P"), ("log", "fan")):
        yield "change", {"team_id": 1, "at": AT, "author": "Noor", "verb": verb, "subject": subject, "undoes": None}
    yield "change", {"team_id": 1, "at": AT, "author": "", "verb": "change", "subject": "reading 1", "undoes": None}
    yield "document", {"team_id": 1, "kind": "turbine", "name": starter.name, "key": starter.name.casefold()}
    yield "document", {"team_id": 1, "kind": "plan", "name": "P", "key": "p"}
    yield "document", {"team_id": None, "kind": "event", "name": "E", "key": "e"}
    for number, content in enumerate(versions, 1):
        words = {"content": plain.text_of(content), "files": json.dumps(POLAR), "gone": False}
        yield "document_version", {"document_id": 1, "number": number, "change_id": number, **words}
    yield (
        "document_version",
        {"document_id": 2, "number": 1, "change_id": 3, "gone": False, "content": "{}", "files": "{}"},
    )
    yield "reading", {"team_id": 1, "mark": "fan-1"}
    for number, volts in ((1, 0.341), (2, 0.342)):
        yield (
            "reading_version",
            {"reading_id": 1, "number": number, "change_id": 3 + number, "gone": False, **reading, "voltage": volts},
        )
    columns = json.dumps({"voltage": "V"})
    yield "run", {"team_id": 1, "turbine_version_id": 2, "begun_at": AT, "name": "gust", "columns": columns}
    yield "run_chunk", {"run_id": 1, "number": 1, "samples": json.dumps({"time": [0.0, 0.1], "voltage": [0.3, None]})}


def as_of_old(place, starter):
    """Make the first tables and fill them; everything that was written, table by table."""
    engine, config = engine_of(place), Config()
    config.set_main_option("script_location", "whirlbench.store:migrations")
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, FIRST)
        for table, row in rows(starter):
            names = ", ".join(f'"{name}"' for name in row)
            values = ", ".join(f":{name}" for name in row)
            connection.execute(text(f'INSERT INTO "{table}" ({names}) VALUES ({values})'), row)
    kept = everything(engine)
    engine.dispose()
    return kept


def everything(engine):
    """Columns and rows of the first tables."""
    tables = ("team", "change", "document", "document_version", "reading", "reading_version", "run", "run_chunk")
    with engine.connect() as connection:
        found = {name: connection.execute(text(f'SELECT * FROM "{name}" ORDER BY id')).mappings() for name in tables}
        return {name: [dict(row) for row in rows] for name, rows in found.items()}


def test_a_store_of_the_first_tables_opens_with_everything_there(place, starter):
    before = as_of_old(place, starter)
    assert all(before.values())
    with Store(place) as store:
        engine = engine_of(place)
        now = everything(engine)
        engine.dispose()
        for name, old in before.items():
            assert [{key: row[key] for key in one} for one, row in zip(old, now[name], strict=True)] == old
        assert all(row["pin"] is None for row in now["team"])
        if "://" not in str(place):
            assert FIRST in store.copy.name
        with store.looking() as session:
            team = teams.get(session, "kittiwake")
            assert turbines.load(session, team, starter.name, number=2).turbine.note == "second"
            assert turbines.load(session, team, starter.name, number=2).files == POLAR
            (entry,) = readings.every(session, team)
            assert (entry.version, entry.reading.voltage, entry.reading.note) == (2, 0.342, "by hand: ñ 風")
            assert entry.reading.meter == "A"
            assert changes.history(session, team)[0].verb == "change"
            assert documents.find(session, None, "event", "E")
            bundle.pack(session, team, io.BytesIO())
        room.set_up(store, "Shed", "771204")
        pin = room.give_pin(store, 1)
        assert pin.isdigit()
    assert migrate.LATEST > FIRST
    with Store(place) as store:
        assert store.copy is None
