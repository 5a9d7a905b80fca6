"""``whirlbench team``."""

from typing import Annotated

import typer

from whirlbench.cli import options, show

team = typer.Typer(help="Teams of the room.", no_args_is_help=True, add_completion=False, rich_markup_mode=None)
Name = Annotated[str, typer.Argument(metavar="TEAM", help="The team's name.", show_default=False)]


@team.command("add")
def add(name: Name, place: options.StorePlace = None, as_json: options.AsJson = False):
    """Add TEAM."""
    from whirlbench.actions.teams import add as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act(store, name)
    show.answer(report, as_json, lambda report: show.say(f"{report.teams[0].team} is in."))


@team.command("list")
def listed(place: options.StorePlace = None, as_json: options.AsJson = False):
    """List all teams with what they have kept."""
    from whirlbench.actions.teams import listed as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act(store)
    show.answer(report, as_json, _in_words)


@team.command("pin")
def pin(
    name: Name,
    own: Annotated[
        str | None, typer.Option("--pin", metavar="PIN", help="4 to 12 digits; else one is made.", show_default=False)
    ] = None,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Give TEAM a PIN for the page, and sign out whoever came in by an old one."""
    from whirlbench.actions.teams import give_pin as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act(store, name, own)
    show.answer(report, as_json, lambda report: show.say(f"The PIN of {report.team} is {report.pin}; it is told once."))


@team.command("remove")
def remove(
    name: Name,
    yes: Annotated[bool, typer.Option("--yes", help="Delete everything that the team ever saved.")] = False,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Delete TEAM with everything it ever saved."""
    from whirlbench.actions.teams import remove as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act(store, name, sure=yes)
    show.answer(report, as_json, lambda report: show.say(f"{report.teams[0].team} and all it saved is gone."))


def _in_words(report):
    if not report.teams:
        show.say("No team yet. Make one: whirlbench team add 'Blue Heron'")
        return
    rows = [[line.team, ", ".join(line.turbines), str(line.readings)] for line in report.teams]
    show.table(["team", "turbines", "readings>"], rows)
