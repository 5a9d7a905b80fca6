"""Columns of a readings file: their names, and the SI unit that each is kept in."""

import re

from whirlbench import units
from whirlbench.errors import InputError, InputErrors, UnknownKey, nearest

COLUMNS = {
    "taken_at": None,
    "build": None,
    "block": None,
    "run": None,
    "wind_speed": "m/s",
    "load_resistance": "ohm",
    "voltage": "V",
    "current": "A",
    "rotor_speed": "rad/s",
    "generator_speed": "rad/s",
    "air_temperature": "K",
    "air_pressure": "Pa",
    "humidity": "",
    "tip_force": "N",
    "tip_deflection": "m",
    "pushed": "",
    "meter": None,
    "note": None,
}
TEXTS = tuple(name for name, unit in COLUMNS.items() if unit is None)
NUMBERS = tuple(name for name in COLUMNS if name not in (*TEXTS, "pushed"))
SHOWN_AS = {"rad/s": "rpm", "K": "degC", "Pa": "hPa", "m": "mm", "": "%"}  # where people read and write
_HEADER = re.compile(r"\s*([^\[\(]+?)\s*(?:[\[\(]\s*(.*?)\s*[\]\)])?\s*$")


def split_header(cell):
    """Name and unit of a header such as ``wind_speed [m/s]`` or ``Wind Speed (km/h)``.

    Parameters
    ----------
    cell : str
        The header as written.

    Returns
    -------
    tuple of str
        Name in lower case with underscores, and unit, ``""`` where there is none.
    """
    match = _HEADER.match(cell)
    return (match[1].strip().lower().replace(" ", "_"), match[2] or "") if match else (cell, "")


def read_header(header, place):
    """Name and unit of every column, or all complaints about them.

    Parameters
    ----------
    header : sequence of str
        Cells of the header line.
    place : str
        File name, for the errors.

    Returns
    -------
    list of tuple of str
        Name and unit, in order.

    Raises
    ------
    InputErrors
        Unknown columns, missing or misfit units, a name that stands twice.
    """
    columns, errors = [], []
    for cell in header:
        name, unit = split_header(cell)
        if name not in COLUMNS:
            what = f"{place} > {cell.strip()}"
            errors.append(UnknownKey(what, "an unknown column", "a known one", try_=nearest(name, COLUMNS)))
            continue
        errors.extend(_complaint(f"{place} > {name}", name, unit))
        columns.append((name, unit))
    twice = [name for name in COLUMNS if [known for known, _ in columns].count(name) > 1]
    errors += [InputError(f"{place} > {name}", "two columns", "one", try_="take one of them out") for name in twice]
    if errors:
        raise InputErrors(errors)
    return columns


def _complaint(what, name, unit):
    """Complaint about a header's unit, if there is one to make."""
    wanted = COLUMNS[name]
    if wanted and not unit:
        try_ = f"write {name} [{SHOWN_AS.get(wanted, wanted) if wanted == 'rad/s' else wanted}]"
        return [InputError(what, "no unit", "a unit in the header", try_=try_)]
    if name not in NUMBERS or not unit:
        return []
    try:
        units.read(what, f"1 {unit}", wanted)
    except InputError as error:
        needs = f"a unit that fits {wanted}" if wanted else "% or no unit"
        return [InputError(what, f"the unit '{unit}'", needs, try_=error.try_)]
    return []
