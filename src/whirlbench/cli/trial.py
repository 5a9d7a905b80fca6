"""``whirlbench trial``: bench tests of parts."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench.cli import options, show

trial = typer.Typer(
    help="Bench tests of parts: guided sheets, and readings that become numbers in the turbine's file.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
)
_Name = Annotated[str, typer.Argument(metavar="NAME", help="Of the bench test, see trial list.", show_default=False)]
_Set = Annotated[
    list[str],
    typer.Option(
        "--set", metavar="FACT=VALUE", help="What is written once: 'pulley radius=10 mm'.", show_default=False
    ),
]


@trial.command("list")
def listed(as_json: options.AsJson = False):
    """List all bench tests."""
    from whirlbench.actions.trial import listed as act

    show.answer(act(), as_json, _list_in_words)


def _list_in_words(report):
    rows = [[one.name, one.tells, f"{one.effort_min} min"] for one in report.trials]
    show.table(["name", "tells", "work>"], rows)
    show.say("Print one: whirlbench trial sheet NAME --out NAME.pdf; fill in NAME.csv and read it: trial read.")


@trial.command("sheet")
def sheet(
    name: _Name,
    *,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write .pdf to print, .txt, or .csv to fill in.", show_default=False),
    ] = None,
    turbine: Annotated[
        Path | None,
        typer.Option(metavar="TURBINE", help="Its TOML file: fills in what is known already.", show_default=False),
    ] = None,
    facts: _Set = (),
    paper: Annotated[str, typer.Option(help="Of the PDF: A4 or letter.")] = "A4",
    as_json: options.AsJson = False,
):
    """Show the guided sheet of the bench test NAME, or write it to a file."""
    from whirlbench.actions.trial import sheet as act
    from whirlbench.parts.files import read_turbine

    part = read_turbine(turbine) if turbine else None
    report = act(name, turbine=part, told=facts, out=out, paper=paper)
    show.answer(report, as_json, lambda report: print(report.text if out is None else f"Written: {out}"))


@trial.command("read")
def read(
    name: _Name,
    readings: Annotated[Path, typer.Argument(metavar="READINGS", help="The filled-in sheet, CSV.", show_default=False)],
    *,
    turbine: options.Turbine,
    out: Annotated[
        Path | None,
        typer.Option(metavar="NEW", help="New TOML file of the turbine with what was found.", show_default=False),
    ] = None,
    facts: _Set = (),
    as_json: options.AsJson = False,
):
    """Work out what the READINGS of the bench test NAME say, and write it into a new turbine file."""
    from whirlbench.actions.trial import read as act

    report = act(name, readings, turbine=turbine, told=facts, out=out)
    show.answer(report, as_json, _read_in_words)


def _read_in_words(report):
    show.say(f"{report.turbine}, bench test {report.name}, {report.readings} rows:")
    for one in report.found:
        show.say(f"  {one.what}: {one.shown}")
    for sentence in report.sentences:
        show.say(sentence)
    rows = [[change.key, _shown(change.before), _shown(change.after)] for change in report.changes]
    show.table(["key", "before", "after"], rows)
    if report.written_to:
        show.say(f"Written: {report.written_to}. The old file stays as it was.")
    else:
        show.say("Nothing is written yet: add --out NEW.toml.")


def _shown(value):
    if value is None:
        return "-"
    return value if isinstance(value, str) else ", ".join(value)
