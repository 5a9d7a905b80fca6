"""The whole room in one question: every team with its last change, its newest turbine and what its readings came to."""

from dataclasses import dataclass

from sqlalchemy import case, exists, func, select

from whirlbench.store import turbines
from whirlbench.store.schema import Change, Document, DocumentVersion, ReadingRow, ReadingVersion, Team

LATEST_READINGS = 3  # against which all earlier ones are held


@dataclass(frozen=True)
class TeamFacts:
    """What the store knows of one team, in one row.

    Attributes
    ----------
    number, team, created_at : int and str
        Its number and name, and when it was added.
    has_pin : bool
        Whether the page lets it in.
    last_at, last_author, last_verb, last_subject : str or None
        Its last change.
    turbine, content, files, version : str, str, dict and int, or None
        Name, canonical JSON, files and number of the version that was saved last of all its turbines.
    kept_at : str or None
        When that was.
    readings : int
        How many hold now.
    read_at : str or None
        When the last of them was written.
    best_power, latest_power, earlier_power : float or None
        The most watts of all readings, of the latest three, and of those before them [W].
    """

    number: int
    team: str
    created_at: str
    has_pin: bool
    last_at: str | None
    last_author: str | None
    last_verb: str | None
    last_subject: str | None
    turbine: str | None
    content: str | None
    files: dict | None
    version: int | None
    kept_at: str | None
    readings: int
    read_at: str | None
    best_power: float | None
    latest_power: float | None
    earlier_power: float | None


def facts(session):
    """Facts of all teams.

    Parameters
    ----------
    session : Session
        A transaction.

    Returns
    -------
    tuple of TeamFacts
        By name.
    """
    last, turbine, read = _last_changes(), _newest_turbines(), _readings()
    found = (
        select(
            Team.id,
            Team.name,
            Team.created_at,
            Team.pin.is_not(None),
            last.c.at,
            last.c.author,
            last.c.verb,
            last.c.subject,
            turbine.c.name,
            turbine.c.content,
            turbine.c.files,
            turbine.c.number,
            turbine.c.at,
            func.coalesce(read.c.count, 0),
            read.c.at,
            read.c.best,
            read.c.latest,
            read.c.earlier,
        )
        .outerjoin(last, last.c.team_id == Team.id)
        .outerjoin(turbine, turbine.c.team_id == Team.id)
        .outerjoin(read, read.c.team_id == Team.id)
        .order_by(Team.key)
    )
    return tuple(TeamFacts(*row) for row in session.execute(found))


def _last_changes():
    newest = select(func.max(Change.id)).where(Change.team_id.is_not(None)).group_by(Change.team_id)
    return select(Change).where(Change.id.in_(newest)).subquery("last")


def _newest_turbines():
    """Of each team the turbine that was saved last, among those that are not gone."""
    turn = func.row_number().over(partition_by=DocumentVersion.document_id, order_by=DocumentVersion.number.desc())
    versions = select(DocumentVersion, turn.label("turn")).subquery()
    saved = func.row_number().over(partition_by=Document.team_id, order_by=versions.c.change_id.desc())
    held = (
        select(
            Document.team_id,
            Document.name,
            versions.c.content,
            versions.c.files,
            versions.c.number,
            Change.at,
            saved.label("saved"),
        )
        .join(versions, versions.c.document_id == Document.id)
        .join(Change, Change.id == versions.c.change_id)
        .where(Document.kind == turbines.KIND, versions.c.turn == 1, versions.c.gone.is_(False))
        .subquery()
    )
    return select(held).where(held.c.saved == 1, held.c.team_id.is_not(None)).subquery("turbine")


def _readings():
    """Of each team the count of its readings, and their watts: amps are used where both amps and ohms are there."""
    newer = ReadingVersion.__table__.alias("newer")
    answered = exists().where(newer.c.reading_id == ReadingVersion.reading_id, newer.c.number > ReadingVersion.number)
    by_load = ReadingVersion.voltage * ReadingVersion.voltage / func.nullif(ReadingVersion.load_resistance, 0)
    power = func.coalesce(ReadingVersion.voltage * ReadingVersion.current, by_load)
    place = func.row_number().over(partition_by=ReadingRow.team_id, order_by=ReadingRow.id.desc())
    held = (
        select(ReadingRow.team_id, power.label("power"), ReadingVersion.change_id, place.label("place"))
        .join(ReadingVersion, ReadingVersion.reading_id == ReadingRow.id)
        .where(ReadingVersion.gone.is_(False), ~answered)
        .subquery()
    )
    late = held.c.place <= LATEST_READINGS
    sums = (
        select(
            held.c.team_id,
            func.count().label("count"),
            func.max(held.c.change_id).label("change_id"),
            func.max(held.c.power).label("best"),
            func.max(case((late, held.c.power))).label("latest"),
            func.max(case((~late, held.c.power))).label("earlier"),
        )
        .group_by(held.c.team_id)
        .subquery()
    )
    return select(sums, Change.at).join(Change, Change.id == sums.c.change_id).subquery("read")
