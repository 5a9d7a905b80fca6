"""``whirlbench undo``."""

from typing import Annotated

import typer

from whirlbench.cli import options, show


def undo(
    *,
    team: options.TeamName,
    change: Annotated[
        int | None, typer.Option(metavar="NUMBER", help="Which change, as history shows it.", show_default=False)
    ] = None,
    by: options.Author = "",
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Take back the last change of TEAM; say it again for the one before."""
    from whirlbench.actions.undo import undo as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act(store, team, change=change, author=by)
    show.answer(report, as_json, _in_words)


def _in_words(report):
    from whirlbench.cli.history import said

    show.say(f"Taken back: {report.team} {said(report.undone)} (change {report.undone.change}).")
