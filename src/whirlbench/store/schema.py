"""The tables: a thing is a row that never changes; what it says stands in its versions, and versions are only added."""

from typing import ClassVar

from sqlalchemy import JSON, BigInteger, Double, ForeignKey, Index, Integer, MetaData, Text, UniqueConstraint, text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

_ID = BigInteger().with_variant(Integer, "sqlite")  # SQLite numbers rows by itself only where the type is INTEGER
_NUMBERED = {"sqlite_autoincrement": True}  # the number of a deleted row is not given to another
_OF_THE_ROOM = text("team_id IS NULL")
_NAMES = {
    "pk": "%(table_name)s_pkey",
    "fk": "%(table_name)s_%(column_0_N_name)s_fkey",
    "uq": "%(table_name)s_%(column_0_N_name)s_key",
    "ix": "%(table_name)s_%(column_0_N_name)s_idx",
}


def _of(target, **more):
    """A column that points to a row of another table, and goes when that row goes."""
    return mapped_column(_ID, ForeignKey(f"{target}.id", ondelete="CASCADE"), **more)


class Base(DeclarativeBase):
    """What all tables share: a number that grows in the order of writing, and constraints with names."""

    metadata = MetaData(naming_convention=_NAMES)
    type_annotation_map: ClassVar = {float: Double, str: Text, dict: JSON}
    id: Mapped[int] = mapped_column(_ID, primary_key=True)


class Team(Base):
    """A team of the room.

    Attributes
    ----------
    name, key : str
        As the team writes it, and in small letters: no two teams differ by capitals only.
    created_at : str
        UTC, ISO 8601.
    pin : str or None
        What is left of its PIN after hashing; None where the page lets nobody in.
    """

    __tablename__ = "team"
    __table_args__ = _NUMBERED
    name: Mapped[str]
    key: Mapped[str] = mapped_column(unique=True)
    created_at: Mapped[str]
    pin: Mapped[str | None]


class Setting(Base):
    """Something that the room is set to.

    Attributes
    ----------
    name : str
        Which setting.
    value : dict
        What it is set to.
    """

    __tablename__ = "setting"
    __table_args__ = _NUMBERED
    name: Mapped[str] = mapped_column(unique=True)
    value: Mapped[dict]


class SignIn(Base):
    """A browser, or a logger, that has shown a PIN.

    Attributes
    ----------
    mark : str
        Hash of the secret that it carries.
    team_id : int or None
        None for the coach.
    name : str
        First name that was typed, or empty.
    at : str
        UTC, ISO 8601.
    """

    __tablename__ = "sign_in"
    __table_args__ = _NUMBERED
    mark: Mapped[str] = mapped_column(unique=True)
    team_id: Mapped[int | None] = _of("team", index=True)
    name: Mapped[str]
    at: Mapped[str]


class Change(Base):
    """One thing that somebody did; every version that it brought points here.

    Attributes
    ----------
    team_id : int or None
        None for what belongs to the room, such as an event.
    at : str
        UTC, ISO 8601.
    author : str
        First name, or empty.
    verb, subject : str
        What was done, and to what: ``log``, ``starter-readings.csv``.
    undoes : int or None
        The change that this one takes back; a change is taken back at most once.
    """

    __tablename__ = "change"
    __table_args__ = _NUMBERED
    team_id: Mapped[int | None] = _of("team", index=True)
    at: Mapped[str]
    author: Mapped[str]
    verb: Mapped[str]
    subject: Mapped[str]
    undoes: Mapped[int | None] = _of("change", unique=True)


class Document(Base):
    """Something with a name and content: a turbine, a plan, an event.

    Attributes
    ----------
    team_id : int or None
        None for what belongs to the room.
    kind : str
        ``turbine``, ``plan`` or ``event``.
    name, key : str
        As written, and in small letters.
    """

    __tablename__ = "document"
    __table_args__ = (
        UniqueConstraint("team_id", "kind", "key"),
        # a NULL differs from every other NULL, so names of the room need a rule of their own
        Index(
            "document_room_key", "kind", "key", unique=True, sqlite_where=_OF_THE_ROOM, postgresql_where=_OF_THE_ROOM
        ),
        _NUMBERED,
    )
    team_id: Mapped[int | None] = _of("team")
    kind: Mapped[str]
    name: Mapped[str]
    key: Mapped[str]


class Version:
    """What the versions of documents and readings share.

    Attributes
    ----------
    number : int
        1, 2, 3... without a gap; the highest is what holds now.
    change_id : int
        The change that brought it.
    gone : bool
        The thing was deleted, or its making undone; an earlier or later version may bring it back.
    """

    number: Mapped[int]
    change_id: Mapped[int] = _of("change", index=True)
    gone: Mapped[bool] = mapped_column(default=False)

    @classmethod
    def content_columns(cls):
        """Names of the columns that say what the version holds, with the thing that it is a version of."""
        return [column.name for column in cls.__table__.c if column.name not in ("id", "number", "change_id", "gone")]


class DocumentVersion(Version, Base):
    """One version of a document.

    Attributes
    ----------
    document_id : int
        The document.
    content : str
        Canonical JSON: equal content is equal text.
    files : dict of str to str
        Text of the files that the content names, such as a polar table.
    """

    __tablename__ = "document_version"
    __table_args__ = (UniqueConstraint("document_id", "number"), _NUMBERED)
    document_id: Mapped[int] = _of("document")
    content: Mapped[str]
    files: Mapped[dict]


class ReadingRow(Base):
    """One row at the fan.

    Attributes
    ----------
    team_id : int
        Whose it is.
    mark : str or None
        The sender's own name for it: sent again under the same mark, it is the same reading and not a second one.
    """

    __tablename__ = "reading"
    __table_args__ = (UniqueConstraint("team_id", "mark"), Index(None, "team_id", "id"), _NUMBERED)
    team_id: Mapped[int] = _of("team")
    mark: Mapped[str | None]


class ReadingVersion(Version, Base):
    """One version of a reading, SI.

    Attributes
    ----------
    reading_id : int
        The reading.
    turbine_version_id, plan_id, plan_row : int or None
        What stood at the fan, and the place in a test plan.
    wind_speed, load_resistance, voltage, current, rotor_speed, tip_force, tip_deflection : float or None
        [m/s], [ohm], [V], [A], [rad/s], [N], [m].
    pushed : bool
        The rotor was started by hand.
    note : str
        Anything the team wrote.
    more : dict
        Every other field of a reading that is not empty.
    """

    __tablename__ = "reading_version"
    __table_args__ = (UniqueConstraint("reading_id", "number"), _NUMBERED)
    reading_id: Mapped[int] = _of("reading")
    turbine_version_id: Mapped[int | None] = _of("document_version", index=True)
    plan_id: Mapped[int | None] = _of("document", index=True)
    plan_row: Mapped[int | None]
    wind_speed: Mapped[float | None]
    load_resistance: Mapped[float | None]
    voltage: Mapped[float | None]
    current: Mapped[float | None]
    rotor_speed: Mapped[float | None]
    tip_force: Mapped[float | None]
    tip_deflection: Mapped[float | None]
    pushed: Mapped[bool] = mapped_column(default=False)
    note: Mapped[str] = mapped_column(default="")
    more: Mapped[dict]


class Run(Base):
    """A time series from a logger.

    Attributes
    ----------
    team_id : int
        Whose it is.
    turbine_version_id : int or None
        What stood at the fan.
    begun_at : str
        UTC, ISO 8601.
    name : str
        What the team calls it.
    columns : dict of str to str
        Names and SI units of the series.
    """

    __tablename__ = "run"
    __table_args__ = _NUMBERED
    team_id: Mapped[int] = _of("team", index=True)
    turbine_version_id: Mapped[int | None] = _of("document_version", index=True)
    begun_at: Mapped[str]
    name: Mapped[str]
    columns: Mapped[dict]


class RunChunk(Base):
    """Samples of a run that were saved together.

    Attributes
    ----------
    run_id, number : int
        The run, and the place in it from 1.
    samples : dict of str to list
        Equally long lists of numbers; what was not read is None.
    """

    __tablename__ = "run_chunk"
    __table_args__ = (UniqueConstraint("run_id", "number"), _NUMBERED)
    run_id: Mapped[int] = _of("run")
    number: Mapped[int]
    samples: Mapped[dict]
