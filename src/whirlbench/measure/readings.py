"""Readings at the fan: a CSV file with units in its headers."""

import csv
from dataclasses import dataclass
from pathlib import Path

from whirlbench.errors import InputError, InputErrors
from whirlbench.measure.cells import entry
from whirlbench.measure.columns import NUMBERS, read_header

_VOLT_DOUBT = 0.02  # a hand meter on a trembling needle: common practice
_SPEED_DOUBT = 0.02
_DEFLECTION_DOUBT = 0.1


@dataclass(frozen=True)
class Reading:
    """One row at the fan; what was not read is None, or an empty text.

    Attributes
    ----------
    row : int
        Line in the file.
    wind_speed, load_resistance, voltage, current, rotor_speed, generator_speed : float or None
        [m/s], [ohm], [V], [A], [rad/s], [rad/s].
    air_temperature, air_pressure, humidity : float or None
        [K], station pressure [Pa], [-].
    tip_force, tip_deflection : float or None
        A sideways pull on the tower top [N] and how far it went [m].
    pushed : bool
        The rotor was started by hand.
    taken_at : str
        Date and time, or time of the day, ISO 8601.
    build, block, run : str
        Which variant was on the bench, and its place in a test plan.
    meter : str
        Accuracy as printed on the instrument.
    note : str
        Anything the team wrote.
    """

    row: int
    wind_speed: float | None = None
    load_resistance: float | None = None
    voltage: float | None = None
    current: float | None = None
    rotor_speed: float | None = None
    tip_force: float | None = None
    tip_deflection: float | None = None
    pushed: bool = False
    note: str = ""
    generator_speed: float | None = None
    air_temperature: float | None = None
    air_pressure: float | None = None
    humidity: float | None = None
    taken_at: str = ""
    build: str = ""
    block: str = ""
    run: str = ""
    meter: str = ""

    @property
    def power(self):
        """Electrical power from what was read [W], or None."""
        if self.voltage is None:
            return None
        if self.current is not None:
            return self.voltage * self.current
        return self.voltage**2 / self.load_resistance if self.load_resistance else None


def read_readings(path):
    """Readings from a CSV file.

    Parameters
    ----------
    path : path
        Headers such as ``wind_speed [m/s],load_resistance [ohm],voltage [mV],rotor_speed [rpm],note``.

    Returns
    -------
    tuple of Reading
        In file order; empty lines, lines that open with #, and runs of a plan with nothing read yet are left out.

    Raises
    ------
    InputErrors
        Every cell and header that cannot be used.
    InputError
        No such file, or no row.
    """
    path = Path(path)
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError):
        raise InputError("readings", f"'{path}'", "a CSV file that can be read", try_="check name and folder") from None
    numbered = [
        (i, line) for i, line in enumerate(lines, start=1) if line.strip(" ,;\t") and not line.lstrip().startswith("#")
    ]
    if len(numbered) < 2:
        raise InputError(
            path.name, f"{len(numbered)} lines", "a header and a row or more", try_="compare with the example"
        )
    # a spreadsheet that writes decimals with a comma parts its cells with semicolons
    mark = ";" if numbered[0][1].count(";") > numbered[0][1].count(",") else ","
    columns = read_header(split(numbered[0][1], mark), path.name)
    errors, found = [], []
    for number, line in numbered[1:]:
        try:
            cells = split(line, mark)
            if not _is_still_to_do(cells, columns):
                found.append(_reading(cells, columns, number, place=f"{path.name} line {number}", mark=mark))
        except InputErrors as several:
            errors.extend(several.errors)
    if errors:
        raise InputErrors(errors)
    if not found:
        raise InputError(path.name, "no run filled in", "a reading or more", try_="write wind and volts beside the run")
    return tuple(found)


def split(line, mark):
    """Cells of one line; a quoted text ends with its line, so one lost quote cannot swallow the rest of the file.

    Parameters
    ----------
    line : str
        One line of the file.
    mark : str
        What parts the cells.

    Returns
    -------
    list of str
        The cells.
    """
    try:
        return next(csv.reader([line], delimiter=mark), [])
    except csv.Error:
        return [line]


def _is_still_to_do(cells, columns):
    """A run that a plan wrote down and nobody has filled in."""
    filled = {name for (name, _), cell in zip(columns, cells, strict=False) if cell.strip()}
    return "run" in filled and filled <= {"run", "block", "build"}


def _reading(row, columns, number, *, place, mark):
    while len(row) > len(columns) and not row[-1].strip():
        row = row[:-1]
    if len(row) > len(columns):
        needs = f"{len(columns)} cells as in the header"
        try_ = "write decimals with a point, and put a text with a comma in quotes"
        raise InputErrors([InputError(place, f"{len(row)} cells", needs, try_=try_)])
    fields, errors = {}, []
    for (name, unit), cell in zip(columns, row, strict=False):
        text = cell.strip()
        if mark == ";" and name in NUMBERS:
            text = text.replace(",", ".")
        try:
            fields[name] = entry(name, text, unit, place=f"{place} > {name}")
        except InputError as error:
            errors.append(error)
    if not errors and fields.get("wind_speed") is None and fields.get("tip_force") is None:
        try_ = "write the wind of this reading, or the pull of a tower test"
        errors.append(InputError(f"{place} > wind_speed", "nothing", "a wind speed", try_=try_))
    if errors:
        raise InputErrors(errors)
    return Reading(row=number, **fields)


def doubts():
    """Relative standard uncertainty of each kind of reading, before a meter's own accuracy is known.

    Returns
    -------
    dict of str to float
        For voltage, rotor_speed and tip_deflection [-]: common practice.
    """
    return {"voltage": _VOLT_DOUBT, "rotor_speed": _SPEED_DOUBT, "tip_deflection": _DEFLECTION_DOUBT}
