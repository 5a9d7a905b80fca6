"""Changes: who did what, and taking the last one back."""

from dataclasses import dataclass

from sqlalchemy import func, insert, literal, select, true

from whirlbench.errors import Conflict, InputError
from whirlbench.store import clock, names
from whirlbench.store.schema import Change, DocumentVersion, ReadingVersion

UNDO = "undo"
_by, _later = Change.__table__.alias("by"), Change.__table__.alias("later")
_OWNED = ((DocumentVersion, "document_id"), (ReadingVersion, "reading_id"))


@dataclass(frozen=True)
class Done:
    """A change as history tells it.

    Attributes
    ----------
    id : int
        Its number.
    at, author : str
        UTC, ISO 8601; first name or empty.
    verb, subject : str
        What was done, and to what.
    count : int
        Versions that it brought.
    undoes, undone_by : int or None
        The change that it took back, and the one that took it back.
    """

    id: int
    at: str
    author: str
    verb: str
    subject: str
    count: int
    undoes: int | None
    undone_by: int | None


def begin(session, team, verb, subject, *, author="", undoes=None):
    """New change that versions can point to.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team or None
        None for what belongs to the room.
    verb, subject : str
        What is done, and to what.
    author : str
        First name, or empty.
    undoes : int, optional
        The change that this one takes back.

    Returns
    -------
    int
        Number of the change.
    """
    change = Change(
        team_id=team.id if team else None,
        at=clock.now(),
        author=names.checked_text("author", author)[:80],
        verb=verb,
        subject=names.checked_text("subject", subject),
        undoes=undoes,
    )
    session.add(change)
    session.flush()
    return change.id


def history(session, team, *, before=None, limit=50, only=()):
    """Changes of a team, the newest first.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        The team.
    before : int, optional
        Only changes with a smaller number: the next page.
    limit : int
        At most so many.
    only : sequence of conditions
        On the table of changes: only those that meet them all.

    Returns
    -------
    tuple of Done
        The changes.
    """
    counts = [
        select(func.count()).where(version.change_id == Change.id).correlate(Change).scalar_subquery()
        for version, _ in _OWNED
    ]
    found = (
        select(Change, counts[0] + counts[1], _later.c.id)
        .outerjoin(_later, _later.c.undoes == Change.id)
        .where(Change.team_id == team.id, Change.id < before if before else true(), *only)
        .order_by(Change.id.desc())
        .limit(limit)
    )
    return tuple(
        Done(each.id, each.at, each.author, each.verb, each.subject, count, each.undoes, undone_by)
        for each, count, undone_by in session.execute(found)
    )


def after(session, number, *, limit=500):
    """Changes of all teams that are newer than one, the oldest first.

    Parameters
    ----------
    session : Session
        A transaction.
    number : int
        The last change that is known.
    limit : int
        At most so many.

    Returns
    -------
    list of Change
        Their ``team_id`` is None for what belongs to the room.
    """
    return session.scalars(select(Change).where(Change.id > number).order_by(Change.id).limit(limit)).all()


def last(session):
    """Number of the newest change of all.

    Parameters
    ----------
    session : Session
        A transaction.

    Returns
    -------
    int
        0 where there is none.
    """
    return session.scalar(select(func.max(Change.id))) or 0


def undo(session, team, *, change_id=None, author=""):
    """Take back a change: every version it brought is answered by a new one that says what stood before.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        The team.
    change_id : int, optional
        Which change; without it the last that still holds.
    author : str
        First name, or empty.

    Returns
    -------
    Done
        The change that was taken back.

    Raises
    ------
    InputError
        Nothing to take back.
    Conflict
        The same thing was changed again later, or another hand took the change back first.
    """
    change = _holding(session, team, change_id)
    for version, owner in _OWNED:
        _refuse_if_changed_again(session, change, version, owner)
    taken = begin(session, team, UNDO, change.subject, author=author, undoes=change.id)
    count = 0
    for version, owner in _OWNED:
        _answer(session, change, version, owner, taken=taken)
        count += session.scalar(select(func.count()).where(version.change_id == taken))
    return Done(change.id, change.at, change.author, change.verb, change.subject, count, None, taken)


def _holding(session, team, change_id):
    held = (
        select(Change)
        .outerjoin(_later, _later.c.undoes == Change.id)
        .where(Change.team_id == team.id, Change.undoes.is_(None), _later.c.id.is_(None))
        .where(Change.id == change_id if change_id else true())
        .order_by(Change.id.desc())
        .limit(1)
    )
    change = session.scalar(held)
    if change is None:
        got = f"change {change_id}" if change_id else "nothing that could be taken back"
        try_ = "look at the list of changes: whirlbench history"
        raise InputError("undo", got, "a change of this team that still holds", try_=try_)
    return change


def _refuse_if_changed_again(session, change, version, owner):
    """A later version stands in the way, unless its own change was taken back."""
    this, newer = version.__table__.alias("this"), version.__table__.alias("newer")
    in_the_way = session.scalar(
        select(_by.c.id)
        .join(newer, newer.c.change_id == _by.c.id)
        .join(this, this.c[owner] == newer.c[owner])
        .outerjoin(_later, _later.c.undoes == _by.c.id)
        .where(this.c.change_id == change.id, newer.c.number > this.c.number)
        .where(_by.c.id > change.id, _by.c.undoes.is_(None), _later.c.id.is_(None))
        .limit(1)
    )
    if in_the_way:
        got = f"change {change.id}, which change {in_the_way} built on"
        raise Conflict("undo", got, "a change that nothing was built on", try_=f"undo change {in_the_way} first")


def _answer(session, change, version, owner, *, taken):
    """Add the versions that take a change back, in the database itself."""
    this, before, newest = (version.__table__.alias(name) for name in ("this", "before", "newest"))
    last = select(func.max(newest.c.number)).where(newest.c[owner] == this.c[owner]).scalar_subquery()
    kept = version.content_columns()
    first = select(literal(taken), last + 1, true(), *(this.c[name] for name in kept))
    first = first.where(this.c.change_id == change.id, this.c.number == 1)
    rest = select(literal(taken), last + 1, before.c.gone, *(before.c[name] for name in kept)).select_from(this)
    rest = rest.join(before, (before.c[owner] == this.c[owner]) & (before.c.number == this.c.number - 1))
    for found in (first, rest.where(this.c.change_id == change.id)):
        session.execute(insert(version).from_select(["change_id", "number", "gone", *kept], found))
