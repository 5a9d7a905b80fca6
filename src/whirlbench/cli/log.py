"""``whirlbench log``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench.cli import options, show

_ASKED = 12  # questions on one page


def log(
    readings: Annotated[
        Path, typer.Argument(metavar="READINGS", help="CSV file with units in its headers.", show_default=False)
    ],
    *,
    team: options.TeamName,
    turbine: options.KeptTurbine = None,
    plan: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Kept plan they were taken for, by their column run.", show_default=False),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Add rows though this file was logged before.")] = False,
    by: options.Author = "",
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Log READINGS for good; rows that were logged from this file before are left out."""
    from whirlbench.actions.log_readings import log_readings as act
    from whirlbench.measure.readings import read_readings
    from whirlbench.store.store import Store

    rows = read_readings(readings)
    with Store(place) as store:
        report = act(store, team, rows, source=readings.name, turbine=turbine, plan=plan, again=again, author=by)
    show.answer(report, as_json, in_words)


def in_words(report):
    """Say what was logged.

    Parameters
    ----------
    report : LogReport
        Answer of the action.
    """
    what = f" with {report.turbine}, version {report.turbine_version}" if report.turbine else ""
    show.say(f"{report.team}: {report.new} {'reading' if report.new == 1 else 'readings'} logged{what}.")
    for asked in report.questions[:_ASKED]:
        show.say(f"Please check line {asked.line}: {asked.question}. It was logged as it stands.")
    if len(report.questions) > _ASKED:
        show.say(f"And {len(report.questions) - _ASKED} lines more; --json tells all.")
    if report.there_already:
        show.say(
            f"{report.there_already} rows say what was logged from a file of this name before, so they were left out. "
            "If you did read them anew, say it again with --again."
        )


def with_speed(report, team, *, source, fill, turbine, author, place):
    """Log the speed that was heard or counted for a team.

    Parameters
    ----------
    report : ListenReport or CountReport
        With the speed.
    team, turbine, author, place : str or None
        As the options say.
    source : str
        How it was found.
    fill : sequence of str or None
        What held, such as ``wind_speed=4.5 m/s``.

    Returns
    -------
    ListenReport or CountReport
        The same report, which now says that it was logged.
    """
    from whirlbench.actions.log_readings import log_speed
    from whirlbench.measure.table_import import filled
    from whirlbench.store.store import Store

    fixed = filled(fill or ())
    with Store(place) as store:
        return log_speed(store, team, report, source=source, fixed=fixed, turbine=turbine, author=author)
