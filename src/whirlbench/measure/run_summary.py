"""What a run says in short: every quantity's mean, scatter and drift, and the energy."""

from whirlbench.measure.columns import COLUMNS
from whirlbench.measure.derived import OPEN_CIRCUIT, energy
from whirlbench.measure.readings import Reading
from whirlbench.measure.trend import Trend

_POWER = ("electrical_power", "W")
_OF_POWER = ("voltage", "current", "load_resistance")


class RunSummary:
    """Running summary of samples as they come, however many.

    Parameters
    ----------
    fixed : dict of str to float, optional
        Columns of readings that held for the whole run, SI, such as ``load_resistance``.

    Attributes
    ----------
    trends : dict of (str, str) to Trend
        By name and unit, in the order in which they came; ``electrical_power`` where it can be had.
    """

    def __init__(self, fixed=None):
        self.trends = {}
        self._fixed = {name: (number, COLUMNS[name]) for name, number in (fixed or {}).items()}

    def add(self, time, numbers):
        """Take one sample.

        Parameters
        ----------
        time : float
            When [s].
        numbers : dict of str to (float, str)
            Numbers with their units, SI where it is a column of readings.
        """
        power = _power({name: number for name, (number, unit) in {**self._fixed, **numbers}.items() if unit})
        told = [((name, unit), number) for name, (number, unit) in numbers.items()]
        for key, number in told if power is None else [*told, (_POWER, power)]:
            self.trends.setdefault(key, Trend()).add(time, number)

    @property
    def energy(self):
        """Energy with its doubt and what to blame for it [J], an Estimate; None where no power can be had."""
        if _POWER not in self.trends or self.trends[_POWER].count < 2:
            return None
        return energy(self.trends[_POWER].area, amps_read=self.mean_reading().current is not None)

    def mean_reading(self):
        """Means of the run as one reading.

        Returns
        -------
        Reading
            Every column of readings that was measured, or held for the whole run.
        """
        means = {name: trend.mean for (name, unit), trend in self.trends.items() if COLUMNS.get(name) == unit}
        return Reading(row=0, **{name: number for name, (number, _) in self._fixed.items()} | means)


def summary_of(samples, columns):
    """Summary of a whole run.

    Parameters
    ----------
    samples : dict of str to list
        Equally long, ``time`` [s] among them; what was not read is None.
    columns : dict of str to str
        Names and units.

    Returns
    -------
    RunSummary
        Of all samples.
    """
    found = RunSummary()
    names = [name for name in columns if name != "time"]
    for time, *numbers in zip(samples["time"], *(samples[name] for name in names), strict=True):
        read = zip(names, numbers, strict=True)
        found.add(time, {name: (number, columns[name]) for name, number in read if number is not None})
    return found


def _power(numbers):
    """Power into the load [W], or None: the volts of an open circuit are no power."""
    given = {name: numbers.get(name) for name in _OF_POWER}
    if (given["load_resistance"] or 0.0) >= OPEN_CIRCUIT:
        return None
    return Reading(row=0, **given).power
