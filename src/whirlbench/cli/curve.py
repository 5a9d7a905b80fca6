"""``whirlbench curve``."""

from typing import Annotated

import typer

from whirlbench import units
from whirlbench.cli import options, show, taken
from whirlbench.parts.files import read_turbine


def curve(
    readings: taken.ReadingsFile = None,
    *,
    turbine: options.Turbine,
    bin_width: Annotated[str, typer.Option(metavar="SPEED", help="Width of a bin of wind.")] = "0.5 m/s",
    density_rule: Annotated[
        str, typer.Option(metavar="RULE", help="How air density is taken out: power, wind or none.")
    ] = "power",
    meter: options.Meters = (),
    team: taken.TeamName = None,
    place: options.StorePlace = None,
    plot: options.Plot = None,
    as_json: options.AsJson = False,
):
    """Show the power curve in READINGS: mean power by bins of wind, with standard errors, at one air density."""
    from whirlbench.actions.curve import curve as act

    width = units.read("width of a bin", bin_width, "m/s")
    parts = read_turbine(turbine)
    report = act(
        parts, taken.readings(readings, team, place, turbine=parts), width=width, rule=density_rule, meters=meter
    )
    if plot:
        from whirlbench.charts import files
        from whirlbench.charts.power_curve import power_curve

        files.save(power_curve(report.model_dump()), plot)
    show.answer(report, as_json, _in_words)


def _in_words(report):
    runs = sum(len(one.runs) for one in report.curves)
    show.say(
        f"{report.turbine}: {runs} run{'s'[: runs != 1]} in bins of {report.bin_width_m_s:.2g} m/s. "
        f"Air density: {report.density_words}."
    )
    for one in report.curves:
        show.table(
            ["bin>", "wind>", "power>", "+->", "one run +->", "runs>"],
            [_row(each) for each in one.bins],
            title=" ".join(filter(None, [one.build, options.ohms(one.load_resistance_ohm)])) or "load not written down",
        )
    if any(each.count == 1 for one in report.curves for each in one.bins):
        show.say("A bin with one run has no +- because nobody knows its scatter: three runs a bin are a good start.")
    for note in report.notes:
        show.say(note)


def _row(each):
    return [
        f"{each.centre_m_s:.3g} m/s",
        f"{each.wind_speed_m_s:.2f} m/s",
        show.watts(each.electrical_power_W),
        "" if each.electrical_power_sd_W is None else show.watts(each.electrical_power_sd_W),
        "" if each.scatter_W is None else show.watts(each.scatter_W),
        str(each.count),
    ]
