"""``whirlbench listen``."""

from pathlib import Path
from typing import Annotated

import numpy as np
import typer

from whirlbench import units
from whirlbench.cli import options, show, turning
from whirlbench.errors import InputError


def listen(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Recording: WAV, FLAC, OGG or MP3.", show_default=False)],
    *,
    blades: Annotated[int | None, typer.Option(metavar="N", help="Blades, 2 to 12.", show_default=False)] = None,
    guess: Annotated[
        str | None, typer.Option(metavar="SPEED", help="Good to 25 %: '400 rpm'.", show_default=False)
    ] = None,
    fan: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Recording of the fan alone.", show_default=False)
    ] = None,
    fan_speed: Annotated[
        str | None, typer.Option(metavar="SPEED", help="Of the fan: '1200 rpm'.", show_default=False)
    ] = None,
    fan_blades: Annotated[int | None, typer.Option(metavar="N", help="Of the fan.", show_default=False)] = None,
    mains: Annotated[
        str | None, typer.Option(metavar="FREQUENCY", help="'50 Hz' or '60 Hz'; else both.", show_default=False)
    ] = None,
    plot: options.Plot = None,
    as_json: options.AsJson = False,
):
    """Tell the rotor's speed from a recording in FILE, or say that it is not sure."""
    if (fan_speed is None) != (fan_blades is None):
        got = "one of the two"
        raise InputError("fan-speed and fan-blades", got, "both or none", try_="better still, record the fan alone")
    from whirlbench.actions.listen import draw_sound
    from whirlbench.actions.listen import listen as act

    report = act(
        file,
        blade_count=blades,
        guess=None if guess is None else turning.speed("guess", guess),
        fan_path=fan,
        fan_speed=None if fan_speed is None else turning.speed("fan-speed", fan_speed),
        fan_blade_count=fan_blades,
        mains=None if mains is None else units.read("mains", mains, "Hz"),
    )
    if plot:
        draw_sound(report, plot)
    show.answer(report, as_json, _in_words)
    if not report.sure:
        raise typer.Exit(1)


def _in_words(report):
    speed, doubt = (30 / np.pi * each for each in (report.rotor_speed_rad_s, report.rotor_speed_sd_rad_s))
    if report.sure:
        show.say(f"{speed:.4g} rpm, give or take {doubt:.1g} (one standard deviation), {report.blade_count} blades.")
    show.say(report.why)
    if not report.sure:
        show.say(f"Best of several unsure guesses: {speed:.0f} rpm. Do not use it; count turns or use a stroboscope.")
    if report.fan_level_dB is None:
        show.say("A fan nobody told of can be taken for the rotor: record it alone at the same place, and add --fan.")
    if report.rivals:
        show.table(
            ["other speeds that were weighed>", "blades>", "behind by>"],
            [
                [f"{30 / np.pi * each.rotor_speed_rad_s:.0f} rpm", str(each.blade_count), f"{each.lead:.1f}"]
                for each in report.rivals
            ],
        )
