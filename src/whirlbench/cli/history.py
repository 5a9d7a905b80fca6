"""``whirlbench history``."""

from typing import Annotated

import typer

from whirlbench.cli import options, show

_DONE = {
    "log": "logged {count} readings from {subject}",
    "change": "changed {subject}",
    "delete": "deleted {subject}",
    "keep turbine": "kept {subject}",
    "keep plan": "kept the plan {subject}",
    "undo": "took change {undoes} back",
}


def history(
    team: options.TeamName,
    turbine: Annotated[
        str | None, typer.Option(metavar="NAME", help="Show the versions of this turbine.", show_default=False)
    ] = None,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Show what TEAM did, the newest first; or every version of one turbine with its differences."""
    from whirlbench.actions import history as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act.versions(store, team, turbine) if turbine else act.history(store, team)
    show.answer(report, as_json, _versions if turbine else _changes)


def _changes(report):
    if not report.changes:
        show.say(f"{report.team} has saved nothing yet.")
        return
    show.table(
        ["change>", "when (UTC)", "who", "what", ""],
        [[str(line.change), _when(line.at), line.author, said(line), _undone(line)] for line in report.changes],
    )


def said(line):
    """Words for a change.

    Parameters
    ----------
    line : ChangeLine
        What was done.

    Returns
    -------
    str
        A piece of a sentence.
    """
    return _DONE[line.verb].format(**dict(line))


def _when(at):
    return at[:16].replace("T", " ")


def _undone(line):
    return f"taken back by {line.undone_by}" if line.undone_by else ""


def _versions(report):
    for version in report.versions:
        by = f" by {version.author}" if version.author else ""
        gone = ", taken back" if version.gone else ""
        show.say(f"{report.turbine}, version {version.number}, {_when(version.at)} UTC{by}{gone}")
        for one in version.differences:
            show.say(f"    {one.sentence}")
