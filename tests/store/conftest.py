"""A store on each database: the same tests run on SQLite and on a real PostgreSQL server."""

import json
import sys

import pytest
from sqlalchemy import text
from store.postgres import Postgres, programs
from turbines import example

from whirlbench.cli.main import run
from whirlbench.store import teams
from whirlbench.store.store import VARIABLE, Store

_ROOTS = ("team", "document", "change", "setting", "sign_in")  # the rest goes with them


@pytest.fixture(scope="session")
def postgres():
    """A server of our own, stopped at the end."""
    if programs() is None:
        pytest.skip("no PostgreSQL for this machine")
    server = Postgres()
    yield server
    server.stop()


@pytest.fixture(scope="session")
def postgres_store(postgres):
    with Store(postgres.database("tests")) as store:
        yield store


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request, tmp_path):
    """An empty store."""
    if request.param == "sqlite":
        with Store(tmp_path / "store.db") as opened:
            yield opened
        return
    opened = request.getfixturevalue("postgres_store")
    with opened.writing() as session:
        for table in _ROOTS:
            session.execute(text(f"DELETE FROM {table}"))
    yield opened


@pytest.fixture
def team(store):
    with store.writing() as session:
        return teams.add(session, "Kittiwake")


@pytest.fixture(scope="session")
def starter():
    return example("starter")


@pytest.fixture
def call(monkeypatch, capsys, tmp_path):
    """Run the command line on a store of its own; answers with status, output and errors."""
    monkeypatch.setenv(VARIABLE, str(tmp_path / "room.db"))

    def called(*words):
        monkeypatch.setattr(sys, "argv", ["whirlbench", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            run()
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return end.value.code or 0, out, err

    return called


@pytest.fixture
def ask(call):
    """Run a command that works; answers with its JSON object."""

    def asked(*words):
        status, out, err = call(*words, "--json")
        assert (status, err) == (0, "")
        return json.loads(out)

    return asked
