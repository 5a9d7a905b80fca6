"""Readings as the page and other programs see them: keys carry SI units."""

from dataclasses import fields

from whirlbench.actions.report import Report
from whirlbench.measure.columns import COLUMNS
from whirlbench.measure.readings import Reading

_ENDINGS = {name: f"_{unit.replace('/', '_')}" if unit else "" for name, unit in COLUMNS.items()}
KEYS = {field.name: field.name + _ENDINGS.get(field.name, "") for field in fields(Reading) if field.name != "row"}


class ReadingLine(Report):
    """One version of a reading, SI, with all that is known around it; what was not read is null."""

    id: int
    version: int
    gone: bool
    at: str
    author: str
    turbine: str | None
    turbine_version: int | None
    plan: str | None
    plan_row: int | None
    wind_speed_m_s: float | None
    load_resistance_ohm: float | None
    voltage_V: float | None
    current_A: float | None
    rotor_speed_rad_s: float | None
    generator_speed_rad_s: float | None
    air_temperature_K: float | None
    air_pressure_Pa: float | None
    humidity: float | None
    tip_force_N: float | None
    tip_deflection_m: float | None
    pushed: bool
    taken_at: str
    build: str
    block: str
    run: str
    meter: str
    note: str
    electrical_power_W: float | None

    def reading(self):
        """Return what was read, as every calculation takes it."""
        return Reading(row=self.id, **{name: getattr(self, key) for name, key in KEYS.items()})


class ReadingsReport(Report):
    """A page of readings, the newest first; ``before`` asks for the next page, null where there is none."""

    team: str
    readings: tuple[ReadingLine, ...]
    before: int | None
    count: int


class RowReport(Report):
    """One reading with every version of it, the oldest first."""

    team: str
    now: ReadingLine
    versions: tuple[ReadingLine, ...]


class WrittenLine(Report):
    """A reading that was sent, as the store knows it; ``new`` is false where it was there already."""

    id: int
    version: int
    new: bool
    mark: str | None


class WrittenReport(Report):
    """Answer to readings that were sent, in order; ``change`` can be undone, null where nothing was new."""

    team: str
    readings: tuple[WrittenLine, ...]
    new: int
    change: int | None


class TurbineLine(Report):
    """A kept version of a turbine, which may stand at the fan; ``now`` where it is the newest."""

    name: str
    version: int
    at: str
    now: bool


class Neighbours(Report):
    """What a new reading is held against: the turbine at the fan as ``restored`` takes it, and its like."""

    turbine: tuple[str, dict] | None
    alike: tuple[ReadingLine, ...]


def line_of(entry):
    """Line of the table from what the store knows of a reading.

    Parameters
    ----------
    entry : Entry
        From the store.

    Returns
    -------
    ReadingLine
        The same for a page or a program.
    """
    own = {KEYS[name]: getattr(entry.reading, name) for name in KEYS}
    around = {name: value for name, value in vars(entry).items() if name != "reading"}
    return ReadingLine(**around, **own, electrical_power_W=entry.reading.power)
