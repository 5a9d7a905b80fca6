"""The table of readings of a team: a page of it, one row with its history, rows entered, changed and taken out."""

from whirlbench.actions.plans import placed
from whirlbench.actions.reading_report import (
    Neighbours,
    ReadingsReport,
    RowReport,
    TurbineLine,
    WrittenLine,
    WrittenReport,
    line_of,
)
from whirlbench.errors import InputError
from whirlbench.store import documents, names, plans, readings, teams
from whirlbench.store.turbines import KIND

_MOST_ALIKE = 40  # repeats that a new reading is held against


def listed(store, team, *, before=None, limit=50):
    """Page of the table.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose readings.
    before : int, optional
        Only readings with a smaller number.
    limit : int
        At most so many.

    Returns
    -------
    ReadingsReport
        The newest first.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        found = readings.page(session, whose, before=before, limit=limit + 1)
        more = len(found) > limit
        count = readings.count(session, whose) if before or more else len(found)
    lines = tuple(map(line_of, found[:limit]))
    return ReadingsReport(team=whose.name, readings=lines, before=lines[-1].id if more else None, count=count)


def row(store, team, number):
    """One reading with its history.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the reading.

    Returns
    -------
    RowReport
        Every version.

    Raises
    ------
    UnknownKey
        No such reading in this team.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        versions = tuple(map(line_of, readings.history(session, whose, number)))
    return RowReport(team=whose.name, now=versions[-1], versions=versions)


def enter(store, team, rows, *, marks=None, source="", turbine=None, plan=None, author=""):
    """Add readings; one that was sent before under the same mark stays one.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose they are.
    rows : sequence of Reading
        What was read.
    marks : sequence of (str or None), optional
        The sender's own name for each.
    source : str
        Where they come from, for the history.
    turbine : tuple of (str, int or None), optional
        Name and version of what stands at the fan; the newest without a version.
    plan : str, optional
        The plan that they were taken for; their ``run`` tells their place in it.
    author : str
        First name, or empty.

    Returns
    -------
    WrittenReport
        Their numbers.

    Raises
    ------
    InputError
        No such turbine or plan, or a number that is none.
    """
    marks = [mark and names.checked_text("mark", mark) for mark in marks or [None] * len(rows)]
    twice = next((mark for mark in marks if mark is not None and marks.count(mark) > 1), None)
    if twice is not None:
        raise InputError("mark", f"'{twice}' twice", "a mark of its own for each reading", try_="number the readings")
    with store.writing() as session:
        whose = teams.get(session, team)
        place, runs = {}, None
        if turbine:
            place["turbine_version_id"] = _standing(session, whose, *turbine).id
        if plan:
            place["plan_id"], rows, runs = placed(session, whose, plan, rows)
        before = readings.marked(session, whose, marks)
        made = list(
            readings.add(session, whose, rows, subject=source, marks=marks, plan_rows=runs, author=author, **place)
        )
        after = readings.marked(session, whose, marks)
        change = readings.change_of(session, whose, made[0]) if made else None
    fresh = iter([one for one in made if one not in {number for number, _ in after.values()}])
    lines = [_written(mark, before, after, fresh) for mark in marks]
    return WrittenReport(team=whose.name, readings=tuple(lines), new=len(made), change=change)


def change(store, team, number, *, seen, reading, author=""):
    """Write a newer version of a reading.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the reading.
    seen : int
        The version that the writer had before their eyes.
    reading : Reading
        What it says from now on.
    author : str
        First name, or empty.

    Returns
    -------
    WrittenReport
        The new version.

    Raises
    ------
    Conflict
        Somebody else wrote a newer version than the one seen.
    """
    with store.writing() as session:
        whose = teams.get(session, team)
        entry = readings.change(session, whose, number, seen=seen, reading=reading, author=author)
        return _one(session, whose, entry)


def take_out(store, team, number, *, seen, author=""):
    """Take a reading out of the table; undo brings it back.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the reading.
    seen : int
        The version that the writer had before their eyes.
    author : str
        First name, or empty.

    Returns
    -------
    WrittenReport
        The version that says so.

    Raises
    ------
    Conflict
        Somebody else wrote a newer version than the one seen.
    """
    with store.writing() as session:
        whose = teams.get(session, team)
        return _one(session, whose, readings.delete(session, whose, number, seen=seen, author=author))


def turbines_of(store, team):
    """Every kept version of every turbine of a team, which may stand at the fan.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.

    Returns
    -------
    tuple of TurbineLine
        By name, the newest version of each first.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        kept = [documents.find(session, whose, KIND, one.name) for one in documents.every(session, whose, KIND)]
        found = [documents.versions(session, document) for document in kept]
    return tuple(
        TurbineLine(name=one.name, version=one.number, at=one.at, now=one is versions[-1])
        for versions in found
        for one in reversed(versions)
        if not one.gone
    )


def taken_at(store, team, turbine):
    """Readings that were taken at a kept version of a turbine.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose they are.
    turbine : tuple of (str, int or None)
        Its name and version.

    Returns
    -------
    tuple of ReadingLine
        Oldest first.

    Raises
    ------
    InputError
        No such turbine or version.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        saved = _standing(session, whose, *turbine)
        return tuple(line_of(one) for one in readings.every(session, whose, turbine_version_id=saved.id))


def of_plan(store, team, name):
    """Readings that were taken for a plan.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    name : str
        Of the plan.

    Returns
    -------
    tuple of ReadingLine
        In the order of the plan's runs.

    Raises
    ------
    UnknownKey
        No such plan.
    """
    with store.looking() as session:
        return tuple(map(line_of, plans.record(session, teams.get(session, team), name)))


def neighbours(store, team, reading, *, turbine=None, instead_of=None):
    """What a new reading is held against before it is written.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    reading : Reading or None
        The new one; None to have the turbine alone.
    turbine : tuple of (str, int or None), optional
        Name and version of what stands at the fan.
    instead_of : int, optional
        Number of the reading that it would change.

    Returns
    -------
    Neighbours
        The turbine, and the latest readings of it in the same condition.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        saved = _standing(session, whose, *turbine) if turbine else None
        latest = readings.page(session, whose, limit=_MOST_ALIKE) if reading else ()
    same = [
        line_of(one)
        for one in latest
        if saved
        and one.id != instead_of
        and (one.turbine, one.turbine_version) == (saved.name, saved.number)
        and (one.reading.wind_speed, one.reading.load_resistance) == (reading.wind_speed, reading.load_resistance)
    ]
    return Neighbours(turbine=(saved.content, saved.files) if saved else None, alike=tuple(same))


def _standing(session, team, name, number):
    """Saved version of a turbine, its newest without a number; not taken apart."""
    if number is None:
        return documents.newest(session, team, KIND, name)
    versions = documents.versions(session, documents.find(session, team, KIND, name))
    if not 1 <= number <= len(versions):
        needs = f"version 1 to {len(versions)}"
        raise InputError(name, f"version {number}", needs, try_="name one of these versions")
    return versions[number - 1]


def _one(session, team, entry):
    line = WrittenLine(id=entry.id, version=entry.version, new=True, mark=None)
    change_id = readings.change_of(session, team, entry.id)
    return WrittenReport(team=team.name, readings=(line,), new=1, change=change_id)


def _written(mark, before, after, fresh):
    if mark is None:
        return WrittenLine(id=next(fresh), version=1, new=True, mark=None)
    number, version = after[mark]
    return WrittenLine(id=number, version=version, new=before.get(mark) != after[mark], mark=mark)
