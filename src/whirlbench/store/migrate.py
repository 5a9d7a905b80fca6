"""Bring a database to the shape that this program knows; a database in a file is copied first."""

import sqlite3
from pathlib import Path

from sqlalchemy import inspect, text

from whirlbench.errors import InputError
from whirlbench.store import clock

LATEST = "0002"  # the newest file in migrations/versions: a start need not load Alembic to know that nothing is to do
_LOCK = 0x77_68_69_72_6C  # any number, but always the same: PostgreSQL lets one program at a time past it


def upgrade(engine):
    """Run the steps that a database has not seen.

    Parameters
    ----------
    engine : Engine
        Its connections begin a writing transaction.

    Returns
    -------
    Path or None
        Copy of the database as it was, where one was made.

    Raises
    ------
    InputError
        A database of a newer Whirlbench, or of another program.
    """
    with engine.connect() as connection:
        if _revision(connection) == LATEST:
            return None
    with engine.begin() as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
        revision = _revision(connection)
        if revision == LATEST:  # another program was quicker
            return None
        copy = _copy(engine, revision) if revision and engine.dialect.name == "sqlite" else None
        _run(connection, revision)
    return copy


def _revision(connection):
    """Version of the tables, or None where there are none yet."""
    names = inspect(connection).get_table_names()
    if "alembic_version" in names:
        return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if names and connection.dialect.name == "sqlite":
        got = f"a database with the table {names[0]}"
        raise InputError("store", got, "a store of Whirlbench or a new file", try_="name another file")
    return None


def _run(connection, revision):
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", "whirlbench.store:migrations")
    config.attributes["connection"] = connection
    known = {each.revision for each in ScriptDirectory.from_config(config).walk_revisions()}
    if revision and revision not in known:
        got = f"tables of version {revision}"
        try_ = "install the Whirlbench that wrote this store, or a newer one"
        raise InputError("store", got, f"version {LATEST} or older", try_=try_)
    command.upgrade(config, "head")


def _copy(engine, revision):
    """Whole copy beside the file, taken while the writing transaction keeps everybody else out."""
    place = Path(engine.url.database)
    moment = clock.now().replace(":", "").partition(".")[0]
    copy = place.with_name(f"{place.stem}-version-{revision}-{moment}{place.suffix}")
    source, target = sqlite3.connect(place), sqlite3.connect(copy)
    try:
        source.backup(target)
    finally:
        source.close()
        target.close()
    return copy
