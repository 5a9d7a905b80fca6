"""``whirlbench run``: runs that a logger took."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench import units
from whirlbench.cli import options, run_table, show

run = typer.Typer(help="Runs of a logger in a team's store.", no_args_is_help=True, add_completion=False,
                  rich_markup_mode=None)  # fmt: skip
Number = Annotated[int, typer.Argument(metavar="NUMBER", help="Of the run, as run list shows it.", show_default=False)]


@run.command("list")
def listed(*, team: options.TeamName, place: options.StorePlace = None, as_json: options.AsJson = False):
    """List all runs of TEAM."""
    from whirlbench.actions.runs import listed as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act(store, team)
    show.answer(report, as_json, _list)


@run.command("add")
def add(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="File that capture wrote.", show_default=False)],
    *,
    team: options.TeamName,
    name: Annotated[
        str | None, typer.Option(metavar="NAME", help="Of the run; else as its file is called.", show_default=False)
    ] = None,
    turbine: options.KeptTurbine = None,
    fill: options.Fill = None,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Add a run from the file that capture wrote, such as one that was captured on another computer."""
    from whirlbench.actions.runs import Keeper
    from whirlbench.actions.runs import shown as look
    from whirlbench.measure.table_import import filled
    from whirlbench.store.store import Store

    fixed = filled(fill or ())
    with Store(place) as store:
        report = look(store, team, Keeper(store, team, name=name, turbine=turbine).keep(file, fixed))
    show.answer(report, as_json, _one)


@run.command("show")
def shown(
    number: Number,
    *,
    team: options.TeamName,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write its samples to a new CSV file.", show_default=False)
    ] = None,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Show a run: every quantity's mean, scatter and drift, and the energy into the load."""
    from whirlbench.actions.runs import shown as act
    from whirlbench.store.store import Store

    with Store(place) as store:
        report = act(store, team, number, out=out)
    show.answer(report, as_json, _one)


@run.command("average")
def average(
    number: Number,
    *,
    team: options.TeamName,
    first: Annotated[
        str | None,
        typer.Option("--from", metavar="TIME", help="Begin of the steady stretch: '20 s'.", show_default=False),
    ] = None,
    last: Annotated[
        str | None, typer.Option("--to", metavar="TIME", help="Its end: '60 s'.", show_default=False)
    ] = None,
    fill: options.Fill = None,
    by: options.Author = "",
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Log the means over a steady stretch of a run as one reading."""
    from whirlbench.actions.runs import averaged as act
    from whirlbench.cli.log import in_words
    from whirlbench.measure.table_import import filled
    from whirlbench.store.store import Store

    ends = {name: units.read(said, text, "s") for name, said, text in (("first", "from", first), ("last", "to", last))
            if text}  # fmt: skip
    fixed = filled(fill or ())
    with Store(place) as store:
        report = act(store, team, number, fixed=fixed, author=by, **ends)
    show.answer(report, as_json, in_words)


def _list(report):
    if not report.runs:
        show.say(
            f"{report.team} has no run yet. Take one: whirlbench capture PORT --out run.csv --team '{report.team}'"
        )
        return
    show.table(
        ["run>", "begun (UTC)", "name", "turbine", "what was measured"],
        [
            [str(line.run), line.begun_at[:16].replace("T", " "), line.name, _turbine(line),
             ", ".join(run_table.words(name) for name in line.columns if name != "time")]
            for line in report.runs
        ],
    )  # fmt: skip


def _turbine(line):
    return f"{line.turbine}, version {line.turbine_version}" if line.turbine else ""


def _one(report):
    turbine = f" with {_turbine(report.line)}" if report.line.turbine else ""
    show.say(
        f"Run {report.line.run} of {report.team}, {report.line.name}: {report.samples} samples in "
        f"{report.duration_s:.0f} s{turbine}."
    )
    run_table.quantities(report)
    if report.written:
        show.say(f"Written to {report.written}.")
