"""Runs: time series from a logger, saved in chunks that are only added."""

import math
from dataclasses import dataclass

from sqlalchemy import func, insert, select

from whirlbench.errors import Conflict, InputError, UnknownKey
from whirlbench.measure.columns import COLUMNS
from whirlbench.store import clock, names
from whirlbench.store.schema import Document, DocumentVersion, Run, RunChunk

_MOST_SAMPLES = 100_000  # of one chunk
_AT_ONCE = 10_000  # samples of a chunk where all are there already


@dataclass(frozen=True)
class Series:
    """A run with its samples.

    Attributes
    ----------
    id : int
        Number of the run.
    name, begun_at : str
        What the team calls it; UTC, ISO 8601.
    turbine, turbine_version : str and int, or None
        What stood at the fan.
    columns : dict of str to str
        Names and SI units.
    samples : dict of str to list
        Equally long lists; what was not read is None.
    """

    id: int
    name: str
    begun_at: str
    turbine: str | None
    turbine_version: int | None
    columns: dict
    samples: dict


def begin(session, team, name, *, columns, turbine_version_id=None, begun_at=None):
    """New run, still empty.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    name : str
        What the team calls it.
    columns : dict of str to str
        Names and SI units, such as ``{"time": "s", "voltage": "V"}``.
    turbine_version_id : int, optional
        What stands at the fan.
    begun_at : str, optional
        As ``clock`` writes it; without it now.

    Returns
    -------
    int
        Number of the run.
    """
    run = Run(
        team_id=team.id,
        turbine_version_id=turbine_version_id,
        begun_at=begun_at or clock.now(),
        name=names.checked_name("run", name),
        columns=dict(columns),
    )
    session.add(run)
    session.flush()
    return run.id


def add(session, team, name, *, samples, **more):
    """Whole run at once.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    name : str
        What the team calls it.
    samples : dict of str to list
        Equally long; what was not read is None.
    **more
        ``columns``, ``turbine_version_id`` and ``begun_at`` of ``begin``.

    Returns
    -------
    int
        Number of the run.

    Raises
    ------
    Conflict
        The team has a run of this name that began at the same moment: it was added before.
    InputError
        Columns that do not fit, or a number that is none.
    """
    twin = select(Run.id).where(Run.team_id == team.id, Run.name == name, Run.begun_at == more.get("begun_at"))
    if there := session.scalar(twin):
        raise Conflict(
            "run", f"'{name}', which is run {there} already", "a run that is new", try_="give it another name"
        )
    run_id = begin(session, team, name, **more)
    count = max(map(len, samples.values()), default=0)
    for number, first in enumerate(range(0, count, _AT_ONCE), 1):
        piece = {column: series[first : first + _AT_ONCE] for column, series in samples.items()}
        append(session, team, run_id, number=number, samples=piece)
    return run_id


def append(session, team, run_id, *, number, samples):
    """Add a chunk of samples to a run.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    run_id : int
        Which run.
    number : int
        1, 2, 3...: a chunk sent twice is refused by the store as a ``Conflict``, so that no sample counts double.
    samples : dict of str to list
        Every column of the run, equally long; what was not read is None.

    Raises
    ------
    InputError
        A chunk out of order, columns that are not those of the run, or a number that is none.
    UnknownKey
        No such run in this team.
    """
    run = _run(session, team, run_id)
    last = session.scalar(select(func.max(RunChunk.number)).where(RunChunk.run_id == run.id)) or 0
    if number > last + 1:
        raise InputError("chunk", str(number), f"{last + 1}, the next one", try_="send the chunks in order")
    lengths = {len(series) for series in samples.values()}
    if set(samples) != set(run.columns) or len(lengths) > 1:
        needs = f"equally long lists of {', '.join(run.columns)}"
        raise InputError("samples", f"lists of {', '.join(samples)}", needs, try_="fill gaps with None")
    if max(lengths, default=0) > _MOST_SAMPLES:
        raise InputError("samples", f"{max(lengths)}", f"at most {_MOST_SAMPLES}", try_="send them in smaller chunks")
    if not all(value is None or math.isfinite(value) for series in samples.values() for value in series):
        raise InputError("samples", "a number that is none", "numbers and None", try_="write None where none was read")
    session.execute(insert(RunChunk).values(run_id=run.id, number=number, samples=samples))


def load(session, team, run_id):
    """Run with all its samples.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    run_id : int
        Which run.

    Returns
    -------
    Series
        Chunks joined in order.

    Raises
    ------
    UnknownKey
        No such run in this team.
    """
    run = next(iter(_series(session, team, Run.id == run_id)), None)
    if run is None:
        raise _unknown(run_id)
    for chunk in session.scalars(select(RunChunk.samples).where(RunChunk.run_id == run_id).order_by(RunChunk.number)):
        for name, numbers in chunk.items():
            run.samples[name].extend(numbers)
    return run


def every(session, team):
    """Runs of a team without their samples.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose they are.

    Returns
    -------
    tuple of Series
        Oldest first, with no samples.
    """
    return tuple(_series(session, team))


def _series(session, team, *which):
    """Runs with what stood at the fan, and an empty list for each column."""
    found = (
        select(Run, Document.name, DocumentVersion.number)
        .outerjoin(DocumentVersion, DocumentVersion.id == Run.turbine_version_id)
        .outerjoin(Document, Document.id == DocumentVersion.document_id)
        .where(Run.team_id == team.id, *which)
        .order_by(Run.id)
    )
    for run, *turbine in session.execute(found):
        columns = {name: run.columns[name] for name in sorted(run.columns, key=_order)}
        yield Series(run.id, run.name, run.begun_at, *turbine, columns, {name: [] for name in columns})


def _order(name):
    """Time first, then as in a readings file; a table of JSON need not keep the order."""
    known = ["time", *COLUMNS]
    return known.index(name) if name in known else len(known), name


def _run(session, team, run_id):
    run = session.get(Run, run_id)
    if run is None or run.team_id != team.id:
        raise _unknown(run_id)
    return run


def _unknown(run_id):
    return UnknownKey("run", str(run_id), "a run of this team", try_="look at the list of runs: whirlbench run list")
