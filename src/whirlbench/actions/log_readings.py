"""Put readings from a file into the store."""

import hashlib
from collections import Counter
from dataclasses import asdict, replace

from whirlbench.actions.lesson import Question
from whirlbench.actions.plans import placed
from whirlbench.actions.report import Report
from whirlbench.advise.contradictions import contradictions
from whirlbench.errors import InputError
from whirlbench.measure.readings import Reading
from whirlbench.store import clock, documents, readings, teams, turbines


class LogReport(Report):
    """Answer of ``log``."""

    team: str
    turbine: str | None
    turbine_version: int | None
    new: int
    there_already: int
    questions: tuple[Question, ...]


def log_readings(store, team, rows, *, source, turbine=None, plan=None, again=False, author=""):
    """Add readings that are not there yet.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose they are.
    rows : sequence of Reading
        What was read.
    source : str
        Name of the file: a row that came from it before is left out, so a file that grew can be read again.
    turbine : str, optional
        What stood at the fan: the version of this turbine that holds now.
    plan : str, optional
        The plan that they were taken for; their column ``run`` tells their place in it.
    again : bool
        Take rows for new ones though the file was read before.
    author : str
        First name, or empty.

    Returns
    -------
    LogReport
        How many were new, and what should be looked at again.

    Raises
    ------
    InputError
        No such team, turbine or plan.
    InputErrors
        Readings that name no run of the plan.
    """
    with store.writing() as session:
        whose = teams.get(session, team)
        saved = documents.newest(session, whose, turbines.KIND, turbine) if turbine else None
        place = {"turbine_version_id": saved.id} if saved else {}
        marks = None if again else marks_of(source, rows)
        runs = None
        if plan:
            place["plan_id"], rows, runs = placed(session, whose, plan, rows)
        made = readings.add(session, whose, rows, subject=source, marks=marks, plan_rows=runs, author=author, **place)
    return LogReport(
        team=whose.name,
        turbine=saved.name if saved else None,
        turbine_version=saved.number if saved else None,
        new=len(made),
        there_already=len(rows) - len(made),
        questions=tuple(Question(line=slip.row, question=slip.question) for slip in contradictions(rows)),
    )


def log_one(store, team, reading, *, source, turbine=None, author=""):
    """Add one reading that was taken a moment ago, by ear, by eye or by a logger.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    reading : Reading
        What was read, with the wind in which it was.
    source : str
        Where it came from, for the history.
    turbine : str, optional
        What stood at the fan: the version of this turbine that holds now.
    author : str
        First name, or empty.

    Returns
    -------
    LogReport
        One new reading.

    Raises
    ------
    InputError
        No such team or turbine, or no wind.
    """
    if reading.wind_speed is None:
        try_ = "say it with --fill 'wind_speed=4.5 m/s'"
        raise InputError("wind_speed", "nothing", "the wind in which it was read", try_=try_)
    reading = replace(reading, taken_at=reading.taken_at or clock.now())
    return log_readings(store, team, [reading], source=source, turbine=turbine, again=True, author=author)


def log_speed(store, team, report, *, source, fixed=None, turbine=None, author=""):
    """Add the speed that was heard or counted as a reading.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    report : ListenReport or CountReport
        With the speed.
    source : str
        How it was found, for the note and the history.
    fixed : dict of str to float, optional
        The other columns of the reading, SI; the wind must be among them.
    turbine : str, optional
        What stood at the fan: the version of this turbine that holds now.
    author : str
        First name, or empty.

    Returns
    -------
    ListenReport or CountReport
        The same report, which now says that it was logged.

    Raises
    ------
    InputError
        No such team or turbine, or no wind.
    """
    reading = Reading(row=0, **{"rotor_speed": report.rotor_speed_rad_s, "note": source} | (fixed or {}))
    log_one(store, team, reading, source=source, turbine=turbine, author=author)
    return report.model_copy(update={"logged": True})


def marks_of(source, rows):
    """Name of each row by what it says and how many equal ones stand before it, wherever it stands in the file.

    Parameters
    ----------
    source : str
        Name of the file.
    rows : sequence of Reading
        Its rows.

    Returns
    -------
    list of str
        All different; the same again when a file that grew is read again.
    """
    seen = Counter()
    marks = []
    for row in rows:
        said = {name: value for name, value in asdict(row).items() if name != "row" and value not in (None, "")}
        digest = hashlib.sha256(repr(sorted(said.items())).encode()).hexdigest()[:20]
        seen[digest] += 1
        marks.append(f"{source} {digest} {seen[digest]}")
    return marks
