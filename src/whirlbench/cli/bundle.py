"""``whirlbench bundle``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench.cli import options, show

bundle = typer.Typer(
    help="Carry a team from one computer to another in one file.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
)
File = Annotated[Path, typer.Argument(metavar="FILE", help="The bundle, a .zip file.", show_default=False)]


@bundle.command("out")
def out(file: File, team: options.TeamName, place: options.StorePlace = None, as_json: options.AsJson = False):
    """Write everything of a team to FILE."""
    from whirlbench.actions.bundle import bundle_out
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = bundle_out(store, team, file)
    show.answer(report, as_json, lambda report: _in_words(report, "is in"))


@bundle.command("in")
def in_(
    file: File,
    name: Annotated[
        str | None, typer.Option("--as", metavar="TEAM", help="Call the team so here.", show_default=False)
    ] = None,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Make a team from FILE with everything it had."""
    from whirlbench.actions.bundle import bundle_in
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = bundle_in(store, file, name=name)
    show.answer(report, as_json, lambda report: _in_words(report, "came from"))


def _in_words(report, link):
    show.say(f"{report.team} {link} {report.file}: turbines: {report.turbines}, readings: {report.readings}.")
