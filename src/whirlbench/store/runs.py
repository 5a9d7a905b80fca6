"""Runs: time series from a logger, saved in chunks that are only added."""

import math
from dataclasses import dataclass

from sqlalchemy import func, insert, select

from whirlbench.errors import InputError, UnknownKey
from whirlbench.store import clock, names
from whirlbench.store.schema import Run, RunChunk

_MOST_SAMPLES = 100_000  # of one chunk


@dataclass(frozen=True)
class Series:
    """A run with its samples.

    Attributes
    ----------
    id : int
        Number of the run.
    name, begun_at : str
        What the team calls it; UTC, ISO 8601.
    columns : dict of str to str
        Names and SI units.
    samples : dict of str to list
        Equally long lists; what was not read is None.
    """

    id: int
    name: str
    begun_at: str
    columns: dict
    samples: dict


def begin(session, team, name, *, columns, turbine_version_id=None):
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

    Returns
    -------
    int
        Number of the run.
    """
    run = Run(
        team_id=team.id,
        turbine_version_id=turbine_version_id,
        begun_at=clock.now(),
        name=names.checked_name("run", name),
        columns=dict(columns),
    )
    session.add(run)
    session.flush()
    return run.id


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
    run = _run(session, team, run_id)
    samples = {name: [] for name in run.columns}
    for chunk in session.scalars(select(RunChunk.samples).where(RunChunk.run_id == run.id).order_by(RunChunk.number)):
        for name, series in chunk.items():
            samples[name] += series
    return Series(run.id, run.name, run.begun_at, run.columns, samples)


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
        Oldest first, ``samples`` empty.
    """
    found = session.scalars(select(Run).where(Run.team_id == team.id).order_by(Run.id))
    return tuple(Series(run.id, run.name, run.begun_at, run.columns, {}) for run in found)


def _run(session, team, run_id):
    run = session.get(Run, run_id)
    if run is None or run.team_id != team.id:
        raise UnknownKey("run", str(run_id), "a run of this team", try_="look at the list of runs")
    return run
