"""The first tables: teams, changes, documents, readings, runs, and the lock on what was written."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
APPEND_ONLY = ("document_version", "reading_version", "run_chunk")


def upgrade():
    """Make every table."""
    _rooms()
    _documents()
    _readings()
    _runs()
    for name in APPEND_ONLY:
        _lock(name)


def _rooms():
    _table("team", _text("name"), _text("key"), _text("created_at"), _one("team", "key"))
    texts = [_text(name) for name in ("at", "author", "verb", "subject")]
    _table("change", _of("team", null=True), *texts, _of("change", "undoes", null=True), _one("change", "undoes"))
    _index("change", "team_id")


def _documents():
    texts = [_text(name) for name in ("kind", "name", "key")]
    _table("document", _of("team", null=True), *texts, _one("document", "team_id", "kind", "key"))
    room = sa.text("team_id IS NULL")
    op.create_index(
        "document_room_key", "document", ["kind", "key"], unique=True, sqlite_where=room, postgresql_where=room
    )
    _versions("document", _text("content"), sa.Column("files", sa.JSON, nullable=False))


def _readings():
    _table("reading", _of("team"), sa.Column("mark", sa.Text), _one("reading", "team_id", "mark"))
    _index("reading", "team_id", "id")
    measured = ("wind_speed", "load_resistance", "voltage", "current", "rotor_speed", "tip_force", "tip_deflection")
    _versions(
        "reading",
        _of("document_version", "turbine_version_id", null=True),
        _of("document", "plan_id", null=True),
        sa.Column("plan_row", sa.Integer),
        *(sa.Column(name, sa.Double) for name in measured),
        sa.Column("pushed", sa.Boolean, nullable=False),
        _text("note"),
        sa.Column("more", sa.JSON, nullable=False),
    )
    _index("reading_version", "turbine_version_id")
    _index("reading_version", "plan_id")


def _runs():
    turbine = _of("document_version", "turbine_version_id", null=True)
    _table("run", _of("team"), turbine, _text("begun_at"), _text("name"), sa.Column("columns", sa.JSON, nullable=False))
    _index("run", "team_id")
    _index("run", "turbine_version_id")
    _table(
        "run_chunk",
        _of("run"),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("samples", sa.JSON, nullable=False),
        _one("run_chunk", "run_id", "number"),
    )


def _versions(name, *columns):
    number = sa.Column("number", sa.Integer, nullable=False)
    gone = sa.Column("gone", sa.Boolean, nullable=False)
    table = f"{name}_version"
    _table(table, _of(name), number, _of("change"), gone, *columns, _one(table, f"{name}_id", "number"))
    _index(table, "change_id")


def _table(name, *columns):
    columns = [each for one in columns for each in (one(name) if callable(one) else [one])]
    key = sa.PrimaryKeyConstraint("id", name=f"{name}_pkey")
    op.create_table(name, sa.Column("id", ID), *columns, key, sqlite_autoincrement=True)


def _text(name):
    return sa.Column(name, sa.Text, nullable=False)


def _of(target, name=None, *, null=False):
    name = name or f"{target}_id"

    def made(table):
        points = sa.ForeignKeyConstraint([name], [f"{target}.id"], name=f"{table}_{name}_fkey", ondelete="CASCADE")
        return [sa.Column(name, ID, nullable=null), points]

    return made


def _one(table, *names):
    return sa.UniqueConstraint(*names, name=f"{table}_{'_'.join(names)}_key")


def _index(table, *names):
    op.create_index(f"{table}_{'_'.join(names)}_idx", table, list(names))


def _lock(table):
    """Let the database itself refuse to overwrite a row."""
    words = f"{table} is only added to"
    if op.get_bind().dialect.name == "sqlite":
        op.execute(f"CREATE TRIGGER {table}_lock BEFORE UPDATE ON {table} BEGIN SELECT RAISE(ABORT, '{words}'); END")
        return
    body = f"BEGIN RAISE EXCEPTION '{words}'; END"
    op.execute(f"CREATE FUNCTION {table}_lock() RETURNS trigger LANGUAGE plpgsql AS $$ {body} $$")
    op.execute(f"CREATE TRIGGER {table}_lock BEFORE UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_lock()")
