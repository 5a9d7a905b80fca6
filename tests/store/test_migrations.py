"""Migrations: from nothing to the models, once, by one program at a time, with a copy made first."""

import sqlite3
import threading

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from whirlbench.errors import InputError
from whirlbench.store import migrate, teams
from whirlbench.store.schema import Base
from whirlbench.store.store import Store


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request, tmp_path):
    """A database that nobody has touched yet."""
    if request.param == "sqlite":
        return tmp_path / "room.db"
    return request.getfixturevalue("postgres").database(f"new {request.node.name}"[:60])


def test_migrations_make_what_the_models_say(store):
    with store.looking() as session:
        context = MigrationContext.configure(session.connection(), opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


def test_the_newest_step_is_the_one_named_in_the_code():
    config = Config()
    config.set_main_option("script_location", "whirlbench.store:migrations")
    assert ScriptDirectory.from_config(config).get_current_head() == migrate.LATEST


def test_several_programs_may_open_a_new_store_at_once(place):
    failed = []

    def opened():
        try:
            Store(place).close()
        except Exception as error:
            failed.append(error)

    threads = [threading.Thread(target=opened) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failed


def with_version(path, version):
    connection = sqlite3.connect(path)
    connection.execute("UPDATE alembic_version SET version_num = ?", (version,))
    connection.commit()
    connection.close()


def test_a_newer_store_is_left_alone(tmp_path):
    Store(tmp_path / "room.db").close()
    with_version(tmp_path / "room.db", "9999")
    with pytest.raises(InputError, match="got tables of version 9999, needs version"):
        Store(tmp_path / "room.db")


def test_an_older_store_is_copied_before_a_step_and_a_failed_step_changes_nothing(tmp_path, monkeypatch):
    with Store(tmp_path / "room.db") as store, store.writing() as session:
        teams.add(session, "Kittiwake")

    def step(connection, revision):
        connection.exec_driver_sql("DROP TABLE run_chunk")
        connection.exec_driver_sql("DELETE FROM team")
        raise RuntimeError

    monkeypatch.setattr(migrate, "LATEST", "0003")
    monkeypatch.setattr(migrate, "_run", step)
    with pytest.raises(RuntimeError):
        Store(tmp_path / "room.db")
    monkeypatch.undo()
    (copy,) = tmp_path.glob("room-version-0002-*.db")
    for path in (tmp_path / "room.db", copy):
        with Store(path) as store, store.looking() as session:
            assert [team.name for team in teams.every(session)] == ["Kittiwake"]
        with sqlite3.connect(path) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        connection.close()


def test_the_copy_is_told(tmp_path, monkeypatch):
    Store(tmp_path / "room.db").close()
    monkeypatch.setattr(migrate, "LATEST", "0003")
    monkeypatch.setattr(migrate, "_run", lambda connection, revision: None)
    with Store(tmp_path / "room.db") as store:
        assert store.copy.exists()
