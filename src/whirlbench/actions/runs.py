"""Runs of a team: time series from a logger, kept, listed, looked at, and averaged to a reading."""

from dataclasses import replace
from pathlib import Path

from whirlbench.actions.log_readings import log_one
from whirlbench.actions.report import Report
from whirlbench.actions.run_report import QuantityLine, energy_of, quantity_lines
from whirlbench.errors import InputError
from whirlbench.measure.columns import COLUMNS
from whirlbench.measure.run_file import read_run, write_run
from whirlbench.measure.run_summary import summary_of
from whirlbench.store import clock, documents, runs, teams, turbines


class RunLine(Report):
    """One run of a team."""

    run: int
    name: str
    begun_at: str
    turbine: str | None
    turbine_version: int | None
    columns: tuple[str, ...]


class RunsReport(Report):
    """Answer of ``run list``."""

    team: str
    runs: tuple[RunLine, ...]


class RunReport(Report):
    """Answer of ``run show``; the energy is missing where no power can be had from what was measured."""

    team: str
    line: RunLine
    samples: int
    duration_s: float
    quantities: tuple[QuantityLine, ...]
    energy_J: float | None
    energy_sd_J: float | None
    written: str | None


class Keeper:
    """Puts what was captured into a team's store.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    name : str, optional
        What to call the run; else as its file is called.
    turbine : str, optional
        What stands at the fan: the version of this turbine that holds now.

    Raises
    ------
    InputError
        No such team or turbine; said before anything is captured.
    """

    def __init__(self, store, team, *, name=None, turbine=None):
        self._store, self._team, self._name, self._turbine = store, team, name, turbine
        with store.looking() as session:
            _place(session, teams.get(session, team), turbine)

    def keep(self, path, fixed=None):
        """Keep one file of samples as a run.

        Parameters
        ----------
        path : path
            As ``capture`` writes it.
        fixed : dict of str to float, optional
            Columns of readings that held for the whole run, SI.

        Returns
        -------
        int
            Number of the run.

        Raises
        ------
        InputError
            A file that is no such file.
        Conflict
            The same run is there already.
        """
        run = read_run(path)
        for name, number in (fixed or {}).items():
            run.columns[name] = COLUMNS[name]
            run.samples[name] = [number] * len(run.samples["time"])
        with self._store.writing() as session:
            whose = teams.get(session, self._team)
            return runs.add(
                session,
                whose,
                self._name or Path(path).stem,
                columns=run.columns,
                samples=run.samples,
                begun_at=clock.at(run.begun_at),
                **_place(session, whose, self._turbine),
            )


def listed(store, team):
    """Runs of a team.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.

    Returns
    -------
    RunsReport
        Oldest first.

    Raises
    ------
    InputError
        No such team.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        return RunsReport(team=whose.name, runs=tuple(map(_line, runs.every(session, whose))))


def shown(store, team, number, *, out=None):
    """One run: every quantity's mean, scatter and drift, and the energy.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the run.
    out : path, optional
        New CSV file for its samples, SI.

    Returns
    -------
    RunReport
        The run in short.

    Raises
    ------
    InputError
        No such team or run, or a file that is there already.
    """
    name, run = _loaded(store, team, number)
    if out:
        write_run(out, run.columns, run.samples)
    summary = summary_of(run.samples, run.columns)
    times = run.samples["time"] or [0.0]
    return RunReport(
        team=name,
        line=_line(run),
        samples=len(run.samples["time"]),
        duration_s=times[-1] - times[0],
        quantities=quantity_lines(summary),
        **energy_of(summary),
        written=str(out) if out else None,
    )


def averaged(store, team, number, *, first=None, last=None, fixed=None, author=""):
    """Put the means over a steady stretch of a run among the team's readings, as one reading.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the run.
    first, last : float, optional
        The stretch, from the run's first sample [s]; without them the whole run.
    fixed : dict of str to float, optional
        Columns that the run does not have, SI, such as ``wind_speed``.
    author : str
        First name, or empty.

    Returns
    -------
    LogReport
        One new reading.

    Raises
    ------
    InputError
        No such team or run, no sample in the stretch, or no wind.
    """
    _, run = _loaded(store, team, number)
    ends = (-1.0 if first is None else first, float("inf") if last is None else last)
    inside = [place for place, time in enumerate(run.samples["time"]) if ends[0] <= time <= ends[1]]
    if not inside:
        needs = f"a stretch with samples, within 0 to {max(run.samples['time'], default=0):.0f} s"
        raise InputError("from and to", "no sample between them", needs, try_="look at run show")
    samples = {name: [series[place] for place in inside] for name, series in run.samples.items()}
    mean = summary_of(samples, run.columns).mean_reading()
    source = f"run {run.id}, {run.name}"
    note = f"mean of {len(inside)} samples of {source}"
    reading = replace(mean, note=note, taken_at=run.begun_at, **(fixed or {}))
    return log_one(store, team, reading, source=source, turbine=run.turbine, author=author)


def _loaded(store, team, number):
    with store.looking() as session:
        whose = teams.get(session, team)
        return whose.name, runs.load(session, whose, number)


def _line(run):
    return RunLine(
        run=run.id,
        name=run.name,
        begun_at=run.begun_at,
        turbine=run.turbine,
        turbine_version=run.turbine_version,
        columns=tuple(run.columns),
    )


def _place(session, team, turbine):
    return {"turbine_version_id": documents.newest(session, team, turbines.KIND, turbine).id} if turbine else {}
