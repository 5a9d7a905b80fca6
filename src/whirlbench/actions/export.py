"""Readings of a team as a table for other programs."""

from pathlib import Path

from whirlbench.actions.report import Report
from whirlbench.store import export as table
from whirlbench.store import readings, teams
from whirlbench.store.store import Store


class ExportReport(Report):
    """Answer of ``export``."""

    team: str
    file: str
    rows: int


def export(store, team, path, *, versions=False):
    """Write a team's readings to a CSV, XLSX or Parquet file.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.
    path : path
        Its ending chooses the format; an older file is replaced.
    versions : bool
        Every version of each reading, deleted ones too.

    Returns
    -------
    ExportReport
        How many rows were written.

    Raises
    ------
    InputError
        No such team, or a place that cannot be written.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        rows = table.write(readings.every(session, whose, versions=versions), path)
    return ExportReport(team=whose.name, file=Path(path).name, rows=rows)


def export_apart(where, team, path, tick=None, *, cancelled=None):
    """Write a team's readings from another process than the one that keeps the room.

    Parameters
    ----------
    where : str or None
        Of the store, as ``Store`` takes it.
    team : str
        The team.
    path : str
        Its ending chooses the format.
    tick, cancelled : callable, optional
        Where it runs as a job.

    Returns
    -------
    ExportReport
        How many rows were written.
    """
    with Store(where) as store:
        return export(store, team, path)
