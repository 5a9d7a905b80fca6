"""The logbook of a team: notes, decisions, versions and readings on one time line."""

import functools
import itertools
import json

from whirlbench.actions.keep import Changed
from whirlbench.actions.report import Report
from whirlbench.errors import UnknownKey, nearest
from whirlbench.parts import plain
from whirlbench.parts.turbine import Turbine
from whirlbench.store import notes, readings, teams, timeline, turbines
from whirlbench.store.differences import differences

KINDS, MOST_PHOTOS = timeline.kinds(), notes.MOST_PHOTOS
_MOST_READINGS = 200  # of one change that are told one by one


class NoteReport(Report):
    """A note or decision as it is now; ``seen`` is its version, to be sent with a change of it."""

    number: int
    seen: int
    at: str
    author: str
    gone: bool
    change: int
    kind: str
    text: str
    why: str
    predicted: str
    turbine: str
    version: int | None
    photos: tuple[int, ...]


class ReadLine(Report):
    """One reading, SI."""

    wind_speed_m_s: float | None
    load_resistance_ohm: float | None
    voltage_V: float | None
    electrical_power_W: float | None
    rotor_speed_rad_s: float | None
    note: str


class LogEntry(Report):
    """One thing on the time line; of note, version and readings only what its kind has, ``of`` what was taken back."""

    change: int
    at: str
    author: str
    kind: str
    subject: str
    count: int
    undone: bool
    undoes: int | None
    of: str = ""
    note: NoteReport | None = None
    version: int | None = None
    differences: tuple[Changed, ...] = ()
    readings: tuple[ReadLine, ...] = ()


class LogbookReport(Report):
    """Answer of ``logbook``, the newest first; ``before`` asks for the next page, null where there is none."""

    team: str
    entries: tuple[LogEntry, ...]
    before: int | None


def logbook(store, team, *, kind="all", before=None, limit=50):
    """A page of the time line.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.
    kind : str
        One of ``KINDS``.
    before : int, optional
        From the page before.
    limit : int
        At most so many changes.

    Returns
    -------
    LogbookReport
        Readings that were taken one after the other stand together.

    Raises
    ------
    InputError
        No such team or kind.
    """
    if kind not in KINDS:
        raise UnknownKey("show", f"'{kind[:40]}'", "a kind of entry", try_=nearest(kind, KINDS))
    with store.looking() as session:
        whose = teams.get(session, team)
        done = timeline.page(session, whose, kind, before=before, limit=limit + 1)
        shown = done[:limit]
        documents = timeline.brought(session, [one.id for one in shown])
        now = timeline.newest(session, [one.document_id for one in documents.values() if one.kind == notes.KIND])
        told = {number: _note(session, whose, one) for number, one in now.items()}
        entries = [_entry(session, whose, one, documents.get(one.id), written=told) for one in shown]
    further = shown[-1].id if len(done) > limit else None
    return LogbookReport(team=whose.name, entries=tuple(_together(entries)), before=further)


def note(store, team, number):
    """One note as it is now.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the note.

    Returns
    -------
    NoteReport
        The note.

    Raises
    ------
    InputError
        No such team or note.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        saved = notes.load(session, whose, number)
        return _note(session, whose, timeline.newest(session, [saved.document_id])[saved.document_id])


def write_note(store, team, content, *, pictures=(), author=""):
    """Write a new note.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    content : dict
        ``kind``, ``text``, ``why``, ``predicted``, ``turbine`` and ``version``.
    pictures : sequence of bytes
        New photos, as ``kept_photo`` makes them.
    author : str
        First name, or empty.

    Returns
    -------
    str
        Name of the note.

    Raises
    ------
    InputError
        No such team, nothing to keep, or too much.
    """
    with store.writing() as session:
        whose = teams.get(session, team)
        return notes.keep(session, whose, _with(session, whose, content, pictures, author=author), author=author).name


def change_note(store, team, number, *, seen, content, pictures=(), author=""):
    """Change a note.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the note.
    seen : int
        The version that was changed.
    content : dict
        As for ``write_note``, with ``photos``: numbers of those that stay.
    pictures : sequence of bytes
        New photos.
    author : str
        First name, or empty.

    Raises
    ------
    InputError
        No such team or note, nothing to keep, or too much.
    Conflict
        Somebody changed it meanwhile.
    """
    with store.writing() as session:
        whose = teams.get(session, team)
        whole = _with(session, whose, content, pictures, author=author)
        notes.change(session, whose, number, seen=seen, content=whole, author=author)


def delete_note(store, team, number, *, seen, author=""):
    """Take a note out.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the note.
    seen : int
        The version that was looked at.
    author : str
        First name, or empty.

    Returns
    -------
    int
        Number of the change, for ``undo``.

    Raises
    ------
    InputError
        No such team or note.
    Conflict
        Somebody changed it meanwhile.
    """
    with store.writing() as session:
        return notes.delete(session, teams.get(session, team), number, seen=seen, author=author)


def photo(store, team, number):
    """One photo.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the photo.

    Returns
    -------
    bytes
        The JPEG.

    Raises
    ------
    InputError
        No such team or photo.
    """
    with store.looking() as session:
        return notes.photo(session, teams.get(session, team), number)


def erase_photo(store, team, number, *, author=""):
    """Delete a photo for good, from every version.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the photo.
    author : str
        First name, or empty.

    Raises
    ------
    InputError
        No such team or photo.
    """
    with store.writing() as session:
        notes.erase_photo(session, teams.get(session, team), number, author=author)


def _with(session, team, content, pictures, *, author):
    """What a note says, with the names of its photos."""
    stay = [f"{notes.PHOTO} {number}" for number in content.get("photos", ())]
    new = [notes.keep_photo(session, team, picture, author=author) for picture in pictures]
    return {**content, "photos": [*stay, *new]}


def _entry(session, team, done, document, *, written):
    told = {name: getattr(done, name) for name in ("at", "author", "subject", "count", "undoes")}
    told |= {"change": done.id, "undone": done.undone_by is not None, "kind": done.verb}
    if done.undoes is not None:
        return LogEntry(**told | {"kind": "undo", "of": document.kind if document else "readings"})
    if done.verb in timeline.READINGS:
        found = readings.every(session, team, versions=True, change_id=done.id)
        lines = tuple(_read(one.reading) for one in itertools.islice(found, _MOST_READINGS))
        kind = {"log": "readings", "change": "reading changed", "delete": "reading out"}[done.verb]
        return LogEntry(**told | {"kind": kind, "readings": lines})
    if document is None:
        return LogEntry(**told)
    if document.kind == notes.KIND:
        note = written[document.document_id]
        return LogEntry(**told | {"kind": note.kind, "note": note})
    if document.kind == turbines.KIND:
        more = {"version": document.number, "differences": _differences(document.before, document.content)}
        return LogEntry(**told | {"kind": "version"} | more)
    return LogEntry(**told | {"kind": document.kind})


def _note(session, team, now):
    told = json.loads(now.content)
    left = notes.photos_left(session, team, told["photos"]) if told["photos"] else ()
    return NoteReport(
        number=notes.number_of(now.name),
        seen=now.number,
        at=now.at,
        author=now.author,
        gone=now.gone,
        change=now.change_id,
        **told | {"photos": tuple(notes.number_of(one) for one in told["photos"] if one in left)},
    )


def _read(reading):
    return ReadLine(
        wind_speed_m_s=reading.wind_speed,
        load_resistance_ohm=reading.load_resistance,
        voltage_V=reading.voltage,
        electrical_power_W=reading.power,
        rotor_speed_rad_s=reading.rotor_speed,
        note=reading.note,
    )


@functools.lru_cache(maxsize=1024)  # versions never change
def _differences(before, after):
    if before is None:
        return ()
    found = differences(plain.part_of(Turbine, before), plain.part_of(Turbine, after))
    return tuple(Changed(**vars(one), sentence=one.sentence) for one in found)


def _together(entries):
    """Readings that follow each other, by one hand, as one entry."""
    for _, several in itertools.groupby(entries, lambda one: (one.kind, one.author, one.undone, one.at[:10])):
        several = list(several)
        if several[0].kind != "readings" or len(several) == 1:
            yield from several
            continue
        lines = tuple(line for one in several for line in one.readings)
        count = sum(one.count for one in several)
        yield several[0].model_copy(update={"count": count, "readings": lines[:_MOST_READINGS]})
