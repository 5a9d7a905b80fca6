"""What one cell of a readings file says."""

from datetime import datetime, time

from whirlbench import units
from whirlbench.errors import InputError, within
from whirlbench.measure.columns import COLUMNS, TEXTS

OPEN = 1e7  # [ohm] nothing connected: what a hand meter itself draws
_YES = {"": False, "no": False, "n": False, "0": False, "yes": True, "y": True, "1": True}
_RANGES = {
    "air_temperature": (230.0, 330.0, "look at the unit: degC, degF or K"),
    "air_pressure": (5e4, 1.1e5, "write the station pressure and look at its unit: hPa, kPa or inHg"),
    "humidity": (0.0, 1.0, "write humidity [%] in the header where it is written as 45"),
}


def entry(name, cell, unit, *, place):
    """Value of one cell, SI.

    Parameters
    ----------
    name : str
        A column of ``COLUMNS``.
    cell : str
        What stands there, decimals with a point.
    unit : str
        Unit of the column as written in its header.
    place : str
        File, line and column, for the error.

    Returns
    -------
    float, str, bool or None
        None where nothing was read.

    Raises
    ------
    InputError
        A cell that cannot be used.
    """
    if name == "taken_at":
        return _moment(cell, place)
    if name in TEXTS:
        return cell
    if name == "pushed":
        return _yes(cell, place)
    if not cell:
        return None
    if name == "load_resistance" and cell.lower() == "open":
        return OPEN
    number = units.read(place, f"{cell} {unit}" if unit or COLUMNS[name] else cell, COLUMNS[name])
    if name in _RANGES:
        low, high, try_ = _RANGES[name]
        within(place, number, low=low, high=high, unit=COLUMNS[name], try_=try_)
    elif number < 0:
        try_ = "swap the meter's leads and write the number without its sign"
        raise InputError(place, cell, "0 or more", try_=try_)
    return number


def _yes(cell, place):
    if cell.lower() not in _YES:
        raise InputError(place, f"'{cell}'", "yes or no", try_="yes where the rotor was started by hand")
    return _YES[cell.lower()]


def _moment(cell, place):
    """A date, a date with a time, or a time of the day, as ISO 8601 writes them."""
    for kind in (datetime, time):
        try:
            return cell and kind.fromisoformat(cell).isoformat()
        except ValueError:
            continue
    needs = "a time such as 2026-05-12 14:03:20 or 14:03"
    raise InputError(place, f"'{cell}'", needs, try_="write the year first, then month and day")
