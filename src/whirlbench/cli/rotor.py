"""``whirlbench rotor``."""

from typing import Annotated

import typer

from whirlbench import units
from whirlbench.cli import options, show
from whirlbench.errors import InputError
from whirlbench.parts.files import read_turbine


def rotor(
    turbine: options.TurbineFile,
    *,
    wind: options.Wind = None,
    tsr: Annotated[
        str | None, typer.Option(metavar="RATIOS", help="Tip-speed ratios: '4' or '0:8:0.5'.", show_default=False)
    ] = None,
    plot: options.Plot = None,
    as_json: options.AsJson = False,
):
    """Show TURBINE's rotor alone: power, thrust and torque coefficients over tip-speed ratio."""
    from whirlbench.actions.rotor import rotor as act

    speeds = options.winds(wind)
    if len(speeds) > 1:
        raise InputError("wind", f"{len(speeds)} winds", "one wind", try_="ask for one wind at a time, such as '4 m/s'")
    ratios = [] if tsr is None else units.read_series("tip-speed ratio", tsr, "")
    report = act(read_turbine(turbine), speeds[0] if speeds else None, ratios)
    if plot:
        from whirlbench.actions.draw import draw_rotor

        draw_rotor(report, plot)
    show.answer(report, as_json, _in_words)


def _in_words(report):
    show.say(
        f"{report.turbine}, wind {report.wind_speed_m_s:.2g} m/s: the rotor catches at most "
        f"{100 * report.peak_power_coefficient:.1f} % of the wind's power, when its tips move at "
        f"{report.peak_tip_speed_ratio:.2g} times the wind speed. "
        f"Blades cover {100 * report.solidity:.0f} % of the disc."
    )
    turned = [point for point in report.points if point.power_coefficient > -0.5]  # beyond, it is a propeller
    show.table(
        ["tip-speed ratio>", "Cp>", "Ct>", "Cq>", "Cq coming from rest>"],
        [
            [
                f"{point.tip_speed_ratio:.2f}",
                f"{point.power_coefficient:.4f}",
                f"{point.thrust_coefficient:.4f}",
                f"{point.torque_coefficient:.5f}",
                f"{point.starting_torque_coefficient:.5f}",
            ]
            for point in turned or report.points
        ],
    )
    show.say(
        "Cp is the share of the wind's power that reaches the shaft, Ct how hard the wind pushes the rotor back, "
        "Cq how hard it turns it."
    )
    show.say(
        f"To start, count on Cq = {report.standstill_torque_coefficient:.4f} at rest: still blades hardly slow the air "
        "down, and measured rotors start even earlier than that."
    )
