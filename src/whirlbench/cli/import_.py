"""``whirlbench import``."""

import collections
from pathlib import Path
from typing import Annotated

import typer

from whirlbench.cli import options, show
from whirlbench.errors import InputError

_REASONS, _LINES = 12, 8  # on one page


def import_(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A table of readings, CSV.", show_default=False)],
    *,
    out: Annotated[
        Path | None, typer.Option(metavar="CSV", help="Write a readings file for improve.", show_default=False)
    ] = None,
    mapping: Annotated[
        list[str] | None,
        typer.Option("--map", metavar="MAP", help="'V out=voltage [mV]'; may be repeated.", show_default=False),
    ] = None,
    fill: Annotated[
        list[str] | None,
        typer.Option(metavar="VALUE", help="For every row: 'wind_speed=4.5 m/s'; may be repeated.", show_default=False),
    ] = None,
    decimal: Annotated[str, typer.Option(metavar="MARK", help="Mark before decimals: , or .")] = "",
    look: Annotated[bool, typer.Option("--show", help="Show how the columns match; write nothing.")] = False,
    as_json: options.AsJson = False,
):
    """Bring readings in from any CSV FILE: match its columns, and tell every line that cannot be used."""
    from whirlbench.actions.import_readings import import_readings as act

    if not (out or look):
        raise InputError("out", "nothing", "a file to write to", try_="--out readings.csv, or --show to look first")
    report = act(file, mapping=mapping or (), fill=fill or (), decimal=decimal, out=None if look else out)
    show.answer(report, as_json, _in_words)
    if report.refused or not report.readings:
        raise typer.Exit(1)


def _in_words(report):
    show.say(f"{report.file}: {report.sentence}")
    mark = {",": "a decimal comma", ".": "a decimal point", None: "decimal marks of both kinds"}[report.decimal_mark]
    show.say(f"Read as {report.encoding}, cells parted by '{report.separator}', with {mark}.")
    show.table(
        ["header", "is taken for", "unit", "trust", "because", "first cell"],
        [
            [_plain(one.header), _goes_to(one), one.unit, one.trust, one.why, _plain(one.example)]
            for one in report.columns
        ],
        title=_plain("Change a line with --map 'header=column [unit]', leave one out with --map 'header='"),
    )
    by_reason = collections.defaultdict(list)
    for one in report.refused:
        by_reason[one.reason].append(one.line)
    for reason, lines in list(by_reason.items())[:_REASONS]:
        show.say(f"Refused, {_listed(lines)}: {reason}")
    if len(by_reason) > _REASONS:
        show.say(f"And {len(by_reason) - _REASONS} reasons more; --json tells every line.")
    for asked in report.questions[:_REASONS]:
        show.say(f"Please check line {asked.line}: {asked.question}. It came in as it stands.")
    if report.without_wind:
        show.say(
            f"{report.without_wind} readings have no wind speed, which improve needs; if it was the same for all, "
            "add --fill 'wind_speed=4.5 m/s'."
        )
    if report.written:
        show.say(f"Written to {report.written}.")


def _goes_to(one):
    return one.column or ("left out" if one.trust in ("given", "sure") else "the note")


def _plain(text):
    return text.replace("[", r"\[")


def _listed(lines):
    more = f" and {len(lines) - _LINES} more" if len(lines) > _LINES else ""
    return f"{'line' if len(lines) == 1 else 'lines'} {', '.join(map(str, lines[:_LINES]))}{more}"
