"""``whirlbench listen``."""

from pathlib import Path
from typing import Annotated

import numpy as np
import typer

from whirlbench import units
from whirlbench.cli import log, options, show
from whirlbench.errors import InputError

_Sound = Annotated[Path, typer.Argument(metavar="FILE", help="Recording: WAV, FLAC, OGG or MP3.", show_default=False)]
_Blades = Annotated[int | None, typer.Option(metavar="N", help="Blades, 2 to 12.", show_default=False)]
_Guess = Annotated[str | None, typer.Option(metavar="SPEED", help="Good to 25 %: '400 rpm'.", show_default=False)]
_Fan = Annotated[Path | None, typer.Option(metavar="FILE", help="Recording of the fan alone.", show_default=False)]
_FanSpeed = Annotated[str | None, typer.Option(metavar="SPEED", help="Of the fan: '1200 rpm'.", show_default=False)]
_FanBlades = Annotated[int | None, typer.Option(metavar="N", help="Of the fan.", show_default=False)]
_NoFan = Annotated[bool, typer.Option("--no-fan", help="No fan can be heard.")]
_Mains = Annotated[
    str | None, typer.Option(metavar="FREQUENCY", help="'50 Hz' or '60 Hz'; else both.", show_default=False)
]


def listen(
    file: _Sound,
    *,
    blades: _Blades = None,
    guess: _Guess = None,
    fan: _Fan = None,
    fan_speed: _FanSpeed = None,
    fan_blades: _FanBlades = None,
    no_fan: _NoFan = False,
    mains: _Mains = None,
    team: options.IntoTeam = None,
    fill: options.Fill = None,
    turbine: options.KeptTurbine = None,
    by: options.Author = "",
    place: options.StorePlace = None,
    plot: options.Plot = None,
    as_json: options.AsJson = False,
):
    """Tell the rotor's speed from a recording in FILE, or say that it is not sure.

    A fan sounds like a rotor, so it is sure only with --fan, with --fan-speed and --fan-blades, or with --no-fan.
    With --team and --fill 'wind_speed=4.5 m/s' a speed that is sure goes into the team's store as a reading.
    """
    told = _fan(fan, fan_speed, fan_blades, no_fan)
    from whirlbench.actions.listen import draw_sound
    from whirlbench.actions.listen import listen as act

    report = act(
        file,
        blade_count=blades,
        guess=None if guess is None else units.read("guess", guess, "rad/s"),
        mains=None if mains is None else units.read("mains", mains, "Hz"),
        **told,
    )
    if plot:
        draw_sound(report, plot)
    if team and report.sure:
        source = f"heard in {file.name}"
        report = log.with_speed(report, team, source=source, fill=fill, turbine=turbine, author=by, place=place)
    show.answer(report, as_json, _in_words)
    if not report.sure:
        raise typer.Exit(1)


def _fan(path, speed, blades, none):
    """What was told of the fan, as the action takes it."""
    if (speed is None) != (blades is None):
        got = "one of the two"
        raise InputError("fan-speed and fan-blades", got, "both or none", try_="better still, record the fan alone")
    speed = None if speed is None else units.read("fan-speed", speed, "rad/s")
    return {"fan_path": path, "fan_speed": speed, "fan_blade_count": blades, "no_fan": none}


def _in_words(report):
    speed, doubt = (30 / np.pi * each for each in (report.rotor_speed_rad_s, report.rotor_speed_sd_rad_s))
    if report.sure:
        show.say(f"{speed:.4g} rpm, give or take {doubt:.1g} (one standard deviation), {report.blade_count} blades.")
    show.say(report.why)
    if not report.sure:
        show.say(f"Best of several unsure guesses: {speed:.0f} rpm. Do not use it; count turns or use a stroboscope.")
    if report.logged:
        show.say("Logged as a reading of the team.")
    if report.rivals:
        show.table(
            ["other speeds that were weighed>", "blades>", "behind by>"],
            [
                [f"{30 / np.pi * each.rotor_speed_rad_s:.0f} rpm", str(each.blade_count), f"{each.lead:.1f}"]
                for each in report.rivals
            ],
        )
