"""``whirlbench log``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench.cli import options, show


def log(
    readings: Annotated[
        Path, typer.Argument(metavar="READINGS", help="CSV file with units in its headers.", show_default=False)
    ],
    *,
    team: options.TeamName,
    turbine: Annotated[
        str | None, typer.Option(metavar="NAME", help="Kept turbine that stood at the fan.", show_default=False)
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
        report = act(store, team, rows, source=readings.name, turbine=turbine, again=again, author=by)
    show.answer(report, as_json, _in_words)


def _in_words(report):
    what = f" with {report.turbine}, version {report.turbine_version}" if report.turbine else ""
    show.say(f"{report.team}: {report.new} readings logged{what}.")
    if report.there_already:
        show.say(
            f"{report.there_already} rows say what was logged from a file of this name before, so they were left out. "
            "If you did read them anew, say it again with --again."
        )
