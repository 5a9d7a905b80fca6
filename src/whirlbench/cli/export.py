"""``whirlbench export``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench.cli import options, show


def export(
    *,
    team: options.TeamName,
    out: Annotated[
        Path, typer.Option("--out", metavar="FILE", help="Name ending in .csv, .xlsx or .parquet.", show_default=False)
    ],
    versions: Annotated[bool, typer.Option("--versions", help="Every version, deleted readings too.")] = False,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Export TEAM's readings as a table with units in its headers."""
    from whirlbench.actions.export import export as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act(store, team, out, versions=versions)
    show.answer(report, as_json, lambda report: show.say(f"{report.rows} readings of {report.team} in {report.file}."))
