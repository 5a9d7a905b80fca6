"""Readings of a team: added, changed and deleted by adding a version; nothing is overwritten."""

from sqlalchemy import func, insert, select
from sqlalchemy.orm import aliased

from whirlbench.errors import Conflict, UnknownKey
from whirlbench.store import changes
from whirlbench.store.entry import Entry, columns_of, reading_of
from whirlbench.store.rows import AT_ONCE, inserted
from whirlbench.store.schema import Change, Document, DocumentVersion, ReadingRow, ReadingVersion

_plan, _turbine = aliased(Document), aliased(Document)


def add(session, team, readings, *, subject="", marks=None, plan_rows=None, author="", **place):
    """Add readings; one whose mark is there already is left as it is, or brought back where it was deleted.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose they are.
    readings : sequence of Reading
        What was read, SI.
    subject : str
        Where they came from, for the history.
    marks : sequence of str, optional
        The sender's own name for each reading, all different.
    plan_rows : sequence of int, optional
        Place of each reading in its plan.
    author : str
        First name, or empty.
    **place
        ``turbine_version_id``, ``plan_id``: numbers in the store.

    Returns
    -------
    tuple of int
        Numbers of the readings that are new or came back, in order.

    Raises
    ------
    InputError
        A number that is none, or text that a database cannot hold.
    """
    plan_rows = plan_rows or [None] * len(readings)
    rows = [columns_of(one) | place | {"plan_row": row} for one, row in zip(readings, plan_rows, strict=True)]
    marks = marks or [None] * len(rows)
    known = _known(session, team, marks)
    fresh = [(mark, row) for mark, row in zip(marks, rows, strict=True) if mark not in known]
    back = [(*known[mark], row) for mark, row in zip(marks, rows, strict=True) if mark in known and known[mark][2]]
    if not fresh and not back:
        return ()
    change = changes.begin(session, team, "log", subject, author=author)
    made = inserted(session, ReadingRow, [{"team_id": team.id, "mark": mark} for mark, _ in fresh])
    versions = [(one, 1, row) for one, (_, row) in zip(made, fresh, strict=True)]
    versions += [(one, number + 1, row) for one, number, _, row in back]
    inserted(
        session,
        ReadingVersion,
        [
            {"reading_id": one, "number": number, "change_id": change, "gone": False, **row}
            for one, number, row in versions
        ],
    )
    return tuple(one for one, *_ in versions)


def change(session, team, reading_id, *, seen, reading, author=""):
    """Write a newer version of a reading.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    reading_id : int
        Which reading.
    seen : int
        The version that the writer had before their eyes.
    reading : Reading
        What it says from now on.
    author : str
        First name, or empty.

    Returns
    -------
    Entry
        The new version.

    Raises
    ------
    Conflict
        Somebody else wrote a newer version than the one seen.
    UnknownKey
        No such reading in this team.
    """
    return _append(session, team, reading_id, "change", seen=seen, author=author, gone=False, **columns_of(reading))


def delete(session, team, reading_id, *, seen, author=""):
    """Take a reading out of the table; its versions stay, and undo brings it back.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    reading_id : int
        Which reading.
    seen : int
        The version that the writer had before their eyes.
    author : str
        First name, or empty.

    Returns
    -------
    Entry
        The version that says so.

    Raises
    ------
    Conflict
        Somebody else wrote a newer version than the one seen.
    UnknownKey
        No such reading in this team.
    """
    return _append(session, team, reading_id, "delete", seen=seen, author=author, gone=True)


def history(session, team, reading_id):
    """Every version of a reading.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    reading_id : int
        Which reading.

    Returns
    -------
    tuple of Entry
        Oldest first.

    Raises
    ------
    UnknownKey
        No such reading in this team.
    """
    found = tuple(_entries(session, _told(team).where(ReadingRow.id == reading_id)))
    if not found:
        raise UnknownKey("reading", str(reading_id), "a reading of this team", try_="look at the list of readings")
    return found


def page(session, team, *, before=None, limit=50):
    """Readings that hold now, the newest first.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose they are.
    before : int, optional
        Only readings with a smaller number: the next page.
    limit : int
        At most so many.

    Returns
    -------
    tuple of Entry
        The readings.
    """
    found = _told(team).where(*_now()).order_by(None).order_by(ReadingRow.id.desc()).limit(limit)
    return tuple(_entries(session, found.where(ReadingRow.id < before) if before else found))


def every(session, team, *, versions=False, **place):
    """All readings of a team, one after the other, however many there are.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose they are.
    versions : bool
        Every version instead of what holds now, deleted readings too.
    **place
        ``turbine_version_id`` or ``plan_id``: only those taken there.

    Yields
    ------
    Entry
        In the order in which they were first written.
    """
    found = _told(team).filter(*(getattr(ReadingVersion, name) == value for name, value in place.items()))
    yield from _entries(session, found if versions else found.where(*_now()))


def count(session, team):
    """How many readings hold now.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose they are.

    Returns
    -------
    int
        Deleted ones are not counted.
    """
    rows = select(func.count()).select_from(ReadingRow).join(ReadingVersion, ReadingVersion.reading_id == ReadingRow.id)
    return session.scalar(rows.where(ReadingRow.team_id == team.id, *_now()))


def marked(session, team, marks):
    """Readings that bear one of these marks.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose they are.
    marks : sequence of (str or None)
        The senders' own names.

    Returns
    -------
    dict of str to (int, int)
        Number of the reading and of its newest version.
    """
    return {mark: (number, version) for mark, (number, version, _) in _known(session, team, marks).items()}


def change_of(session, team, reading_id):
    """Change that brought the newest version of a reading.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    reading_id : int
        Which reading.

    Returns
    -------
    int or None
        Number of the change; None where the team has no such reading.
    """
    found = select(ReadingVersion.change_id).join(ReadingRow, ReadingRow.id == ReadingVersion.reading_id)
    found = found.where(ReadingRow.team_id == team.id, ReadingRow.id == reading_id)
    return session.scalar(found.order_by(ReadingVersion.number.desc()).limit(1))


def _known(session, team, marks):
    """Number, newest version and whether it is gone, of the readings that bear one of these marks."""
    found = {}
    sought = [mark for mark in marks if mark is not None]
    for first in range(0, len(sought), AT_ONCE):
        some = sought[first : first + AT_ONCE]
        rows = select(ReadingRow.mark, ReadingRow.id, ReadingVersion.number, ReadingVersion.gone).join(
            ReadingVersion, ReadingVersion.reading_id == ReadingRow.id
        )
        rows = rows.where(ReadingRow.team_id == team.id, ReadingRow.mark.in_(some)).order_by(ReadingVersion.number)
        found |= {mark: tuple(rest) for mark, *rest in session.execute(rows)}
    return found


def _append(session, team, reading_id, verb, *, seen, author, **columns):
    now = history(session, team, reading_id)[-1]
    if now.version != seen:
        by = f" by {now.author}" if now.author else ""
        got, needs = f"a change to version {seen}", f"version {now.version}, written at {now.at}{by}"
        raise Conflict(f"reading {reading_id}", got, needs, try_="look at the newer values, then change those")
    stands = session.scalar(
        select(ReadingVersion).where(ReadingVersion.reading_id == reading_id, ReadingVersion.number == seen)
    )
    kept = {name: getattr(stands, name) for name in ReadingVersion.content_columns()}
    change_id = changes.begin(session, team, verb, f"reading {reading_id}", author=author)
    session.execute(insert(ReadingVersion).values(**kept | {"number": seen + 1, "change_id": change_id} | columns))
    return history(session, team, reading_id)[-1]


def _told(team):
    """Versions of a team's readings, with all that is known around them."""
    return (
        select(
            ReadingVersion.__table__,
            Change.at,
            Change.author,
            _turbine.name.label("turbine"),
            DocumentVersion.number.label("turbine_version"),
            _plan.name.label("plan"),
        )
        .select_from(ReadingRow)
        .join(ReadingVersion, ReadingVersion.reading_id == ReadingRow.id)
        .join(Change, Change.id == ReadingVersion.change_id)
        .outerjoin(DocumentVersion, DocumentVersion.id == ReadingVersion.turbine_version_id)
        .outerjoin(_turbine, _turbine.id == DocumentVersion.document_id)
        .outerjoin(_plan, _plan.id == ReadingVersion.plan_id)
        .where(ReadingRow.team_id == team.id)
        .order_by(ReadingRow.id, ReadingVersion.number)
    )


def _now():
    """Only the newest version of each reading, and only where it is not gone."""
    newest = ReadingVersion.__table__.alias("newest")
    last = select(func.max(newest.c.number)).where(newest.c.reading_id == ReadingRow.id).correlate(ReadingRow)
    return ReadingVersion.number == last.scalar_subquery(), ReadingVersion.gone.is_(False)


def _entries(session, found):
    for row in session.execute(found.execution_options(yield_per=AT_ONCE)).mappings():
        yield Entry(
            id=row["reading_id"],
            version=row["number"],
            gone=row["gone"],
            at=row["at"],
            author=row["author"],
            turbine=row["turbine"],
            turbine_version=row["turbine_version"],
            plan=row["plan"],
            plan_row=row["plan_row"],
            reading=reading_of(row),
        )
