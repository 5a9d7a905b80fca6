"""``whirlbench compare``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench import units
from whirlbench.cli import options, show
from whirlbench.errors import InputError

_Team = Annotated[str | None, typer.Option(metavar="TEAM", help="Team of the kept plan.", show_default=False)]
_Plan = Annotated[
    str | None, typer.Option(metavar="NAME", help="Kept plan: compare what was logged for it.", show_default=False)
]


def compare(
    readings: Annotated[
        list[Path] | None,
        typer.Argument(metavar="READINGS...", help="One readings file, or one for each build.", show_default=False),
    ] = None,
    *,
    by: Annotated[
        list[str] | None,
        typer.Option(metavar="COLUMN", help="Column of one file to compare by; again for more.", show_default="build"),
    ] = None,
    of: Annotated[str, typer.Option(metavar="COLUMN", help="What to compare: power, or a column.")] = "power",
    block: Annotated[str, typer.Option(metavar="COLUMN", help="Column of blocks or pairs.")] = "block",
    start: Annotated[
        str | None,
        typer.Option(metavar="SETTING", help="Setting to compare with; else the first.", show_default=False),
    ] = None,
    design: Annotated[
        str | None,
        typer.Option(metavar="DESIGN", help="welch, paired, blocked, randomised; else as taken.", show_default=False),
    ] = None,
    gain: Annotated[
        str | None, typer.Option(metavar="GAIN", help="Gain that must not be missed: '8 %'.", show_default=False)
    ] = None,
    team: _Team = None,
    plan: _Plan = None,
    place: options.StorePlace = None,
    plot: options.Plot = None,
    as_json: options.AsJson = False,
):
    """Say whether one build is better than another, by how much, and how sure that is.

    Where three or more runs of the plan's reference build say that the fan drifted, the drift is told and taken out.
    """
    from whirlbench.actions.compare import compare as act
    from whirlbench.actions.compare import draw_comparison

    wanted = None if gain is None else units.read("gain", gain, "")
    groups = _groups(readings or [], team, plan, place)
    report = act(groups, by=tuple(by or ("build",)), of=of, block=block, start=start, design=design, wanted=wanted)
    if plot:
        draw_comparison(report, plot)
    show.answer(report, as_json, _in_words)
    if not report.better:
        raise typer.Exit(1)


def _groups(paths, team, plan, place):
    """Readings by build, from files or from the team's plan."""
    if bool(paths) == bool(plan) or bool(team) != bool(plan):
        needs = "readings files, or --team with --plan"
        got = "both or neither" if bool(paths) == bool(plan) else "one of --team and --plan"
        raise InputError("readings", got, needs, try_="whirlbench compare A.csv B.csv")
    if paths:
        from whirlbench.measure.readings import read_readings

        return {_name(path, paths): read_readings(path) for path in paths}
    from whirlbench.actions.plans import readings_of
    from whirlbench.store.store import Store

    with Store(place) as store:
        return {plan: readings_of(store, team, plan)}


def _name(path, paths):
    """A build is called after its file."""
    same = [other for other in paths if other.stem == path.stem]
    if len(same) > 1:
        raise InputError("readings", f"'{path.name}' twice", "a name of its own for each build", try_="rename one file")
    return path.stem


def _in_words(report):
    show.say(report.sentence)
    show.say(f"Compared by {_DESIGNS[report.design]}, as {report.why}.")
    for caution in (*report.depends, *report.cautions, *report.checks):
        show.say(f"Mind: {caution}")
    if len(report.gains) > 1:
        show.table(
            ["", "gain>", "95 % interval", "in percent>", "verdict"],
            [_row(gain, report.unit) for gain in report.gains],
            title=f"Gain in {report.quantity}; all intervals of a factor hold together",
        )
    if report.anova and len(report.gains) > 1:  # of two settings the interval says it all
        show.table(
            ["source", "freedom>", "F>", "by luck>"],
            [[line.source, f"{line.freedom:g}", _number(line.ratio), _chance(line.chance)] for line in report.anova],
            title="Analysis of variance",
        )
    show.say("The error of the meter is in all runs alike, so it hardly touches a comparison.")


_DESIGNS = {
    "welch": "Welch's t test",
    "paired": "pairs",
    "blocked": "blocks",
    "tukey": "Tukey's range",
    "factorial": "all factors together",
    "one run each": "Lenth's limits",
}


def _row(gain, unit):
    ends = "" if gain.low is None else f"{_sized(gain.low, unit)} to {_sized(gain.high, unit)}"
    percent = "" if gain.share is None else f"{100 * gain.share:+.1f} %"
    change = f"{gain.factor}: {gain.first} to {gain.second}"
    return [change, _sized(gain.gain, unit), ends, percent, gain.verdict]


def _sized(number, unit):
    if unit == "W":
        return show.watts(number, sign=True)
    return units.show(number, {"rad/s": "rpm"}.get(unit, unit), 2)


def _number(number):
    return "" if number is None else f"{number:.3g}"


def _chance(chance):
    if chance is None:
        return ""
    return "under 0.1 %" if chance < 0.001 else f"{100 * chance:.2g} %"
