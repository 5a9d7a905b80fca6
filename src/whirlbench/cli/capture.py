"""``whirlbench capture``."""

import contextlib
from pathlib import Path
from typing import Annotated

import typer
from rich.live import Live
from rich.text import Text

from whirlbench import units
from whirlbench.cli import interrupt, options, show
from whirlbench.measure.columns import SHOWN_AS

_EVERY = 10.0  # [s] between lines where there is no screen to draw on


def capture(
    port: Annotated[str, typer.Argument(metavar="PORT", help="The logger's serial port.", show_default=False)],
    *,
    out: Annotated[Path, typer.Option(metavar="FILE", help="A new file, .csv or .jsonl.", show_default=False)],
    baud: Annotated[int, typer.Option(min=300, max=4_000_000, help="Signals a second.")] = 115200,
    duration: Annotated[
        str | None, typer.Option("--for", metavar="TIME", help="Such as '60 s'.", show_default=False)
    ] = None,
    as_json: options.AsJson = False,
):
    """Write what a logger on PORT sends to a file until TIME is up or Ctrl-C is pressed (docs/logger.md)."""
    from whirlbench.actions.capture import capture as act

    seconds = units.read("for", duration, "s") if duration else None
    with interrupt.caught() as stop, _display(as_json) as tick:
        report = act(port, out, baud=baud, duration=seconds, stop=stop, tick=tick)
    show.answer(report, as_json, _in_words)
    if not report.samples:
        raise typer.Exit(1)


@contextlib.contextmanager
def _display(as_json):
    """Shows how the capture stands: nothing beside JSON, one changing line on a screen, else a line now and then."""
    if as_json:
        yield None
    elif show.console.is_terminal:
        with Live(console=show.console, transient=True) as live:
            yield lambda now: live.update(Text(_line(now)))
    else:
        yield _Plain()


class _Plain:
    """A line now and then, and one for every loss of the port."""

    def __init__(self):
        self._next, self._connected = 0.0, True

    def __call__(self, now):
        if now.elapsed >= self._next or now.connected != self._connected:
            self._next, self._connected = now.elapsed + _EVERY, now.connected
            print(_line(now), flush=True)


def _line(now):
    state = "" if now.connected else ", port gone, waiting for it"
    numbers = ", ".join(f"{_words(name)} {_shown(number, unit)}" for name, (number, unit) in now.latest.items())
    counts = f"{now.kept} kept, {now.lost} lost, {now.garbled} garbled{state}"
    return f"{now.elapsed:.0f} s: {counts}{': ' if numbers else ''}{numbers}"


def _in_words(report):
    end = "stopped by hand" if report.stopped_by_hand else "time is up"
    show.say(
        f"{report.samples} samples in {report.duration_s:.0f} s from {report.port} ({end}), kept in "
        f"{', '.join(report.files)}."
    )
    losses = {
        "samples lost": report.lost,
        "garbled lines": report.garbled_lines,
        "lines before a header": report.lines_before_header,
        "samples sent twice": report.repeated,
        "restarts of the logger": report.restarts,
        "times the port was gone": report.disconnects,
    }
    told = ", ".join(f"{what} {count}" for what, count in losses.items() if count)
    show.say(f"On the way: {told}." if told else "Nothing was lost on the way.")
    if report.quantities:
        show.table(
            ["quantity", "samples>", "mean>", "sd>", "drift over the run>"],
            [_row(line) for line in report.quantities],
        )


def _row(line):
    steady = abs(line.drift) < 2 * line.drift_sd
    drift = f"{_step(line.drift, line.unit)} +- {_step(line.drift_sd, line.unit)}{' (none seen)' if steady else ''}"
    return [_words(line.name), str(line.count), _shown(line.mean, line.unit, 4), _step(line.sd, line.unit), drift]


def _words(name):
    return name.partition("[")[0].strip().replace("_", " ")


def _shown(number, unit, digits=3):
    known = unit and unit in SHOWN_AS  # a number without a unit may be anything
    return units.show(number, SHOWN_AS[unit], digits) if known else f"{number:.{digits}g} {unit}".strip()


def _step(number, unit):
    """A difference: a temperature's zero plays no part in it."""
    return f"{number:.2g} K" if unit == "K" else _shown(number, unit, 2)
