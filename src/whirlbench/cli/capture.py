"""``whirlbench capture``."""

import contextlib
from pathlib import Path
from typing import Annotated

import typer
from rich.live import Live
from rich.text import Text

from whirlbench import units
from whirlbench.cli import interrupt, options, run_table, show

_EVERY = 10.0  # [s] between lines where there is no screen to draw on


def capture(
    port: Annotated[str, typer.Argument(metavar="PORT", help="The logger's serial port.", show_default=False)],
    *,
    out: Annotated[Path, typer.Option(metavar="FILE", help="A new file, .csv or .jsonl.", show_default=False)],
    baud: Annotated[int, typer.Option(min=300, max=4_000_000, help="Signals a second.")] = 115200,
    duration: Annotated[
        str | None, typer.Option("--for", metavar="TIME", help="Such as '60 s'.", show_default=False)
    ] = None,
    fill: options.Fill = None,
    team: options.IntoTeam = None,
    name: Annotated[
        str | None, typer.Option(metavar="NAME", help="Of the run; else as its file is called.", show_default=False)
    ] = None,
    turbine: options.KeptTurbine = None,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Write what a logger on PORT sends to a file until TIME is up or Ctrl-C is pressed (docs/logger.md).

    It ends with every quantity's mean, scatter and drift, and with the energy into the load where the logger sends
    amps, or --fill 'load_resistance=22 ohm' tells the load. With --team the run goes into the team's store as well.
    """
    from whirlbench.actions.capture import capture as act
    from whirlbench.measure.table_import import filled

    seconds = units.read("for", duration, "s") if duration else None
    fixed = filled(fill or ())
    with _keeper(team, name, turbine, place) as keeper, interrupt.caught() as stop, _display(as_json) as tick:
        report = act(port, out, baud=baud, duration=seconds, stop=stop, tick=tick, fixed=fixed, keeper=keeper)
    show.answer(report, as_json, _in_words)
    if not report.samples:
        raise typer.Exit(1)


@contextlib.contextmanager
def _keeper(team, name, turbine, place):
    """Where the run is to be kept; nothing without a team."""
    if team is None:
        yield None
        return
    from whirlbench.actions.runs import Keeper
    from whirlbench.store.store import Store

    with Store(place) as store:
        yield Keeper(store, team, name=name, turbine=turbine)


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
    numbers = ", ".join(
        f"{run_table.words(name)} {run_table.shown(number, unit)}" for name, (number, unit) in now.latest.items()
    )
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
    run_table.quantities(report)
    if report.runs:
        show.say(f"In the store as run {', '.join(map(str, report.runs))}.")
