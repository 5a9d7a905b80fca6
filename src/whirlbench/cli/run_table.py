"""How a run looks in a terminal."""

from whirlbench import units
from whirlbench.cli import show
from whirlbench.measure.columns import SHOWN_AS


def quantities(report):
    """Show what a run says in short.

    Parameters
    ----------
    report : CaptureReport or RunReport
        With its quantities and energy.
    """
    if report.quantities:
        show.table(
            ["quantity", "samples>", "mean>", "sd>", "drift over the run>"],
            [_row(line) for line in report.quantities],
        )
    if report.energy_J is not None:
        joules = f"{report.energy_J:.3g} J +- {report.energy_sd_J:.1g} J"
        show.say(f"Energy into the load over the run: {joules} (one standard deviation).")


def _row(line):
    steady = abs(line.drift) < 2 * line.drift_sd
    drift = f"{_step(line.drift, line.unit)} +- {_step(line.drift_sd, line.unit)}{' (none seen)' if steady else ''}"
    return [words(line.name), str(line.count), shown(line.mean, line.unit, 4), _step(line.sd, line.unit), drift]


def words(name):
    """Name of a quantity in words.

    Parameters
    ----------
    name : str
        Of a column, or a logger's own heading.

    Returns
    -------
    str
        Without unit and underscores.
    """
    return name.partition("[")[0].strip().replace("_", " ")


def shown(number, unit, digits=3):
    """Number as a person reads it.

    Parameters
    ----------
    number : float
        In ``unit``.
    unit : str
        SI, or what a logger wrote.
    digits : int
        Significant digits.

    Returns
    -------
    str
        Number and unit.
    """
    if unit == "W":
        return show.watts(number)
    known = unit and unit in SHOWN_AS  # a number without a unit may be anything
    return units.show(number, SHOWN_AS[unit], digits) if known else f"{number:.{digits}g} {unit}".strip()


def _step(number, unit):
    """A difference: a temperature's zero plays no part in it."""
    return f"{number:.2g} K" if unit == "K" else shown(number, unit, 2)
