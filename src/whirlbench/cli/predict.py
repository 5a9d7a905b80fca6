"""``whirlbench predict``."""

from typing import Annotated

import typer

from whirlbench import units
from whirlbench.advise import energy
from whirlbench.cli import options, show
from whirlbench.parts.files import read_turbine

_FALLS = ("slides", "tips over")
_MANY = 8  # winds from which the work takes over a second


def predict(
    turbine: options.TurbineFile,
    *,
    wind: options.Wind = None,
    pushed: Annotated[bool, typer.Option("--pushed", help="Start the rotor by hand.")] = False,
    window: Annotated[str, typer.Option(metavar="TIME", help="Length of a scored run from letting go.")] = "60 s",
    plot: options.Plot = None,
    as_json: options.AsJson = False,
):
    """Predict what TURBINE does in a wind: volts, watts, whether it starts, and where the energy goes."""
    from whirlbench.actions.predict import predict as act

    part = read_turbine(turbine)
    winds = options.winds(wind)
    run = units.read("window", window, "s")
    with show.progress(len(winds), quiet=as_json or len(winds) < _MANY) as tick:
        report = act(part, winds, pushed=pushed, window=run, tick=lambda done: tick(f"wind {done} of {len(winds)}"))
    if plot:
        from whirlbench.actions.draw import draw_prediction

        draw_prediction(part, report, plot)
    show.answer(report, as_json, _in_words)
    last = report.points[-1]
    if (not last.starts and not pushed) or last.symptom in _FALLS:
        raise typer.Exit(1)


def _in_words(report):
    last = report.points[-1]
    show.say(f"{report.turbine}, wind {last.wind_speed_m_s:.2g} m/s: {last.sentence}")
    show.table(
        ["wind>", "state", "rotor>", "tip-speed ratio>", "Cp>", "volts>", "amps>", "power>", "likely>"],
        [_row(point) for point in report.points],
    )
    for finding in last.findings[1:]:
        show.say(f"Also: {finding.sentence} {finding.evidence}".strip())
    _energy(last)
    _trust(last)


def _row(point):
    return [
        f"{point.wind_speed_m_s:.2f} m/s",
        point.state,
        f"{point.rotor_speed_rad_s * 9.5493:.0f} rpm",
        f"{point.tip_speed_ratio:.2f}",
        f"{round(point.power_coefficient, 3) + 0.0:.3f}",
        f"{point.voltage_V:.2f} V",
        f"{point.current_A * 1000:.0f} mA",
        show.watts(point.electrical_power_W),
        show.between(point.electrical_power_low_W, point.electrical_power_high_W),
    ]


def _energy(point):
    show.table(
        ["where the wind's energy goes", "power>", "of the wind>"],
        [
            [
                energy.PLAIN.get(step.part, step.part),
                show.watts(step.power_W),
                f"{100 * step.power_W / point.wind_power_W:.1f} %",
            ]
            for step in point.energy_path
            if step.power_W > 5e-6 * point.wind_power_W or step.part == "load"
        ],
        title=f"Energy path at {point.wind_speed_m_s:.2f} m/s",
    )


def _trust(point):
    start = point.start_wind_speed_m_s
    if start is None:
        show.say("No wind starts it: at rest the blades push the wrong way or not at all.")
    else:
        show.say(
            f"It should start by itself from about {start:.1f} m/s; in this wind the chance is "
            f"{100 * point.start_chance:.0f} %."
        )
    if point.time_to_speed_s is not None:
        show.say(
            f"Let go, it is up to speed after {point.time_to_speed_s:.1f} s and gives {point.energy_J:.3g} J in "
            f"{point.window_s:.0f} s."
        )
    if point.state in ("slow", "needs a push"):
        show.say(
            f"After a push it would run at {point.after_push_rotor_speed_rad_s * 9.5493:.0f} rpm and give "
            f"{show.watts(point.after_push_power_W)}."
        )
    for warning in point.warnings:
        show.say(f"Careful: {warning}")
    show.say(
        "The likely range holds four times out of five if the parts are as described. One reading of volts, ohms and "
        "rpm in a known wind narrows it most: see whirlbench improve --readings."
    )
