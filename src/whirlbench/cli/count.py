"""``whirlbench count``."""

from typing import Annotated

import numpy as np
import typer

from whirlbench import units
from whirlbench.cli import log, options, show
from whirlbench.errors import InputError


def count(
    *,
    turns: Annotated[float | None, typer.Option(metavar="N", help="Turns counted.", show_default=False)] = None,
    in_: Annotated[
        str | None, typer.Option("--in", metavar="TIME", help="Time they took: '14.2 s'.", show_default=False)
    ] = None,
    flash: Annotated[
        str | None,
        typer.Option(
            metavar="RATES",
            help="Flash rates at which the rotor stands still: the highest, '20 Hz', or neighbours, '60, 40 Hz'.",
            show_default=False,
        ),
    ] = None,
    blades: Annotated[
        int | None, typer.Option(metavar="N", help="Alike blades; 1 with one marked.", show_default=False)
    ] = None,
    team: options.IntoTeam = None,
    fill: options.Fill = None,
    turbine: options.KeptTurbine = None,
    by: options.Author = "",
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Work out the rotor's speed from turns counted by hand, or from a stroboscope.

    With --team and --fill 'wind_speed=4.5 m/s' it goes into the team's store as a reading.
    """
    from whirlbench.actions.count import count_flashes, count_turns

    by_hand, by_flash = (turns, in_), (flash, blades)
    if None not in by_hand and by_flash == (None, None):
        report = count_turns(turns, units.read("in", in_, "s"))
    elif None not in by_flash and by_hand == (None, None):
        report = count_flashes(units.read_series("flash", flash, "Hz"), blades)
    else:
        needs = "--turns with --in, or --flash with --blades"
        raise InputError("count", "options that do not belong together", needs, try_="--turns 20 --in '14.2 s'")
    if team:
        report = log.with_speed(report, team, source=report.source, fill=fill, turbine=turbine, author=by, place=place)
    show.answer(report, as_json, _in_words)


def _in_words(report):
    speed, doubt = (30 / np.pi * each for each in (report.rotor_speed_rad_s, report.rotor_speed_sd_rad_s))
    show.say(f"{speed:.4g} rpm, give or take {doubt:.2g} (one standard deviation): {report.source}.")
    if "highest" in report.source:
        show.say("This holds if no faster flash shows the rotor standing with the same number of blades.")
    if report.logged:
        show.say("Logged as a reading of the team.")
