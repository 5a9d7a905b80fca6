"""``whirlbench make``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench import units
from whirlbench.cli import options, show
from whirlbench.parts.files import read_bin, read_turbine

_Out = Annotated[Path, typer.Option(metavar="DIR", help="New or empty folder for the pack.", show_default=False)]
_Bin = Annotated[
    Path | None, typer.Option("--bin", metavar="BIN", help="The parts bin's TOML file.", show_default=False)
]
_Only = Annotated[
    str | None,
    typer.Option(
        metavar="KINDS",
        help="Some of blades, hub, gauges, gears, pulleys, coil, tower, base, with commas between.",
        show_default="all",
    ),
]
_Paper = Annotated[str, typer.Option(help="Of the sheets: A4 or letter.")]
_Process = Annotated[
    str | None,
    typer.Option(help="Files for one way of making: printed, laser or hand.", show_default="all three"),
]
_Bed = Annotated[str, typer.Option(metavar="SIZE", help="What the printer holds each way.")]
_MotorShaft = Annotated[str, typer.Option(metavar="SIZE", help="Diameter of the generator's shaft.")]
_Team = Annotated[str, typer.Option("--team", metavar="TEAM", help="The team's name.", show_default=False)]
_Kerf = Annotated[
    str | None,
    typer.Option(
        metavar="SIZE",
        help="Width that your cutter takes away; below 0 the holes left in the sheet come out true.",
        show_default="0.15 mm",
    ),
]
_Turning = Annotated[str, typer.Option(help="Of printed blades, seen from the wind: right (with the clock) or left.")]
_Since = Annotated[
    Path | None,
    typer.Option("--since", metavar="EARLIER", help="An earlier turbine: make only what differs.", show_default=False),
]
_Again = Annotated[bool, typer.Option("--again", help="Replace an earlier pack in DIR.")]


def make(
    turbine: options.TurbineFile,
    *,
    out: _Out,
    parts_bin: _Bin = None,
    only: _Only = None,
    paper: _Paper = "A4",
    process: _Process = None,
    bed: _Bed = "180 mm",
    motor_shaft: _MotorShaft = "2 mm",
    team: _Team = "",
    kerf: _Kerf = None,
    turning: _Turning = "right",
    since: _Since = None,
    again: _Again = False,
    as_json: options.AsJson = False,
):
    """Make a build pack of TURBINE: sheets 1:1, files to cut and to print, lists, one document."""
    from whirlbench.actions.make_pack import MakeOrder
    from whirlbench.actions.make_parts import make_parts

    order = MakeOrder(
        text=turbine.read_text(encoding="utf-8-sig"),
        parts_bin=read_bin(parts_bin) if parts_bin else None,
        only=tuple(word.strip() for word in (only or "").split(",") if word.strip()),
        paper="A4" if paper.lower() == "a4" else paper,
        way=process,
        bed=units.read("bed", bed, "m"),
        motor_shaft=units.read("motor shaft", motor_shaft, "m"),
        team=team,
        kerf=units.read("kerf", kerf, "m") if kerf else None,
        turning=turning,
        since=read_turbine(since) if since else None,
    )
    report = make_parts(read_turbine(turbine), out, order, again=again)
    show.answer(report, as_json, _in_words)
    if report.unmade:
        raise typer.Exit(1)


def _in_words(report):
    show.say(
        f"{report.turbine}: {report.pieces} pieces in {len(report.files)} files under {report.folder}. "
        "Open build-pack.pdf first."
    )
    if report.sheets:
        show.say(f"Cut paths are also laid out on stock: {report.sheets} sheet{'s' * (report.sheets > 1)}.")
    for one in report.weights:
        show.say(f"{one.sentence[0].upper()}{one.sentence[1:]}")
    if report.weights:
        show.say("turbine-as-made.toml has what the solids weigh: whirlbench predict reads it.")
    if not report.step_files and any(file.path.endswith(".stl") for file in report.files):
        show.say("STEP files need an extra: pip install 'whirlbench[cad]'.")
    for one in report.to_be_found:
        show.say(f"To be found: {one}.")
    if report.stays:
        show.say(f"Stays as it was: {', '.join(report.stays)}.")
    for one in report.left_out:
        show.say(f"Not made: {one.piece}: {one.why}")
