"""Readings at the fan: a CSV file with units in its headers."""

import csv
import re
from dataclasses import dataclass
from pathlib import Path

from whirlbench import units
from whirlbench.errors import InputError, InputErrors, UnknownKey, nearest

COLUMNS = {
    "wind_speed": "m/s",
    "load_resistance": "ohm",
    "voltage": "V",
    "current": "A",
    "rotor_speed": "rad/s",
    "tip_force": "N",
    "tip_deflection": "m",
    "pushed": "",
    "note": None,
}
_HEADER = re.compile(r"\s*([^\[\(]+?)\s*(?:[\[\(]\s*(.*?)\s*[\]\)])?\s*$")
_OPEN = 1e7  # [ohm] nothing connected: what a hand meter itself draws
_VOLT_DOUBT = 0.02  # a hand meter on a trembling needle: common practice
_SPEED_DOUBT = 0.02
_DEFLECTION_DOUBT = 0.1


@dataclass(frozen=True)
class Reading:
    """One row at the fan; what was not read is None.

    Attributes
    ----------
    row : int
        Line in the file.
    wind_speed, load_resistance, voltage, current, rotor_speed : float or None
        [m/s], [ohm], [V], [A], [rad/s].
    tip_force, tip_deflection : float or None
        A sideways pull on the tower top [N] and how far it went [m].
    pushed : bool
        The rotor was started by hand.
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
        In file order; empty lines and lines that open with # are left out.

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
    columns = _columns(_cells(numbered[0][1], mark), path.name)
    errors, found = [], []
    for number, line in numbered[1:]:
        try:
            found.append(_reading(_cells(line, mark), columns, number, place=f"{path.name} line {number}", mark=mark))
        except InputErrors as several:
            errors.extend(several.errors)
    if errors:
        raise InputErrors(errors)
    return tuple(found)


def _cells(line, mark):
    """Cells of one line; a quoted text ends with its line, so one lost quote cannot swallow the rest of the file."""
    try:
        return next(csv.reader([line], delimiter=mark))
    except csv.Error:
        return [line]


def _columns(header, place):
    """Name and unit of every column."""
    columns, errors = [], []
    for cell in header:
        match = _HEADER.match(cell)
        name = match[1].strip().lower().replace(" ", "_") if match else cell
        if name not in COLUMNS:
            errors.append(
                UnknownKey(f"{place} > {cell.strip()}", "an unknown column", "a known one", try_=nearest(name, COLUMNS))
            )
            continue
        unit = match[2] or ""
        if COLUMNS[name] and not unit:
            example = {"rad/s": "rpm"}.get(COLUMNS[name], COLUMNS[name])
            try_ = f"write {name} [{example}]"
            errors.append(InputError(f"{place} > {name}", "no unit", "a unit in the header", try_=try_))
        elif COLUMNS[name]:
            errors.extend(_misfit(f"{place} > {name}", unit, COLUMNS[name]))
        columns.append((name, unit))
    twice = [name for name in COLUMNS if [known for known, _ in columns].count(name) > 1]
    errors += [InputError(f"{place} > {name}", "two columns", "one", try_="take one of them out") for name in twice]
    if errors:
        raise InputErrors(errors)
    return columns


def _misfit(what, unit, wanted):
    """Complaint about a header's unit, if there is one to make."""
    try:
        units.read(what, f"1 {unit}", wanted)
    except InputError as error:
        return [InputError(what, f"the unit '{unit}'", f"a unit that fits {wanted}", try_=error.try_)]
    return []


def _reading(row, columns, number, *, place, mark):
    while len(row) > len(columns) and not row[-1].strip():
        row = row[:-1]
    if len(row) > len(columns):
        needs = f"{len(columns)} cells as in the header"
        try_ = "write decimals with a point, and put a text with a comma in quotes"
        raise InputErrors([InputError(place, f"{len(row)} cells", needs, try_=try_)])
    fields, errors = {}, []
    for (name, unit), cell in zip(columns, row, strict=False):
        try:
            fields[name] = _entry(name, cell.strip(), unit, place=f"{place} > {name}", mark=mark)
        except InputError as error:
            errors.append(error)
    if not errors and fields.get("wind_speed") is None and fields.get("tip_force") is None:
        try_ = "write the wind of this reading, or the pull of a tower test"
        errors.append(InputError(f"{place} > wind_speed", "nothing", "a wind speed", try_=try_))
    if errors:
        raise InputErrors(errors)
    return Reading(row=number, **fields)


def _entry(name, cell, unit, *, place, mark):
    """What one cell says."""
    if name == "note":
        return cell
    if name == "pushed":
        return _yes(cell, place)
    if not cell:
        return None
    if name == "load_resistance" and cell.lower() == "open":
        return _OPEN
    text = cell.replace(",", ".") if mark == ";" else cell
    number = units.read(place, f"{text} {unit}", COLUMNS[name])
    if number < 0:
        try_ = "swap the meter's leads and write the number without its sign"
        raise InputError(place, cell, "0 or more", try_=try_)
    return number


def _yes(cell, place):
    known = {"": False, "no": False, "n": False, "0": False, "yes": True, "y": True, "1": True}
    if cell.lower() not in known:
        raise InputError(place, f"'{cell}'", "yes or no", try_="yes where the rotor was started by hand")
    return known[cell.lower()]


def doubts():
    """Relative standard uncertainty of each kind of reading, before a meter's own accuracy is known.

    Returns
    -------
    dict of str to float
        For voltage, rotor_speed and tip_deflection [-]: common practice.
    """
    return {"voltage": _VOLT_DOUBT, "rotor_speed": _SPEED_DOUBT, "tip_deflection": _DEFLECTION_DOUBT}
