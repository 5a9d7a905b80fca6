"""``whirlbench doubt``."""

from whirlbench.cli import options, show, taken
from whirlbench.parts.files import read_turbine


def doubt(
    readings: taken.ReadingsFile = None,
    *,
    turbine: options.Turbine,
    meter: options.Meters = (),
    team: taken.TeamName = None,
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Say how sure READINGS are: power, Cp and tip-speed ratio with interval, and what the doubt comes from."""
    from whirlbench.actions.doubt import doubt as act

    parts = read_turbine(turbine)
    report = act(parts, taken.readings(readings, team, place, turbine=parts), meter)
    show.answer(report, as_json, _in_words)


def _in_words(report):
    from whirlbench.actions.doubt import QUANTITIES

    count = f"{len(report.points)} reading{'s'[: len(report.points) != 1]}"
    show.say(
        f"{report.turbine}: {count}, each with the range that holds the truth 19 times in 20. "
        f"The wind is held to be known to {100 * report.wind_doubt:.2g} %."
    )
    show.table(
        ["line>", "wind>", "load>", "power>", "Cp>", "tip-speed ratio>"],
        [_row(point) for point in report.points],
    )
    for budget in report.budgets:
        if budget.sentence and budget.quantity != "generator_speed":
            name = QUANTITIES[budget.quantity][0]
            show.say(f"{name[0].upper()}{name[1:]}: {budget.sentence[0].lower()}{budget.sentence[1:]}")
    if report.power_scatter is not None:
        show.say(f"Repeats of one setting scatter by {100 * report.power_scatter:.2g} % in power.")
    for point in report.points:
        if point.advice:
            show.say(f"Line {point.line}: {point.advice}")
    for note in report.notes:
        show.say(note)


def _row(point):
    power = (point.electrical_power_W, point.electrical_power_low_W, point.electrical_power_high_W)
    share = (point.power_coefficient, point.power_coefficient_low, point.power_coefficient_high)
    tips = (point.tip_speed_ratio, point.tip_speed_ratio_low, point.tip_speed_ratio_high)
    unit, size = ("mW", 1e3) if (power[0] or 0.0) < 0.0995 else ("W", 1.0)
    return [
        str(point.line),
        "" if point.wind_speed_m_s is None else f"{point.wind_speed_m_s:.3g} m/s",
        options.ohms(point.load_resistance_ohm),
        _ranged(power, size, unit),
        _ranged(share, 100, "%"),
        _ranged(tips, 1, ""),
    ]


def _ranged(numbers, size, unit):
    """A number and its range in one unit, such as ``2.5 (2.2 to 2.8) mW``."""
    if numbers[0] is None:
        return ""
    number, low, high = (f"{size * each:.2g}" for each in numbers)
    return f"{number} ({low} to {high}) {unit}".strip()
