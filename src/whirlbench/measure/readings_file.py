"""A readings file written: the same columns and units that are read again."""

import csv
import io
import os
from pathlib import Path

from whirlbench import units
from whirlbench.errors import InputError
from whirlbench.measure.cells import OPEN
from whirlbench.measure.columns import COLUMNS, NUMBERS, SHOWN_AS


def write_readings(path, readings):
    """Write readings to a new CSV file that ``read_readings`` reads.

    Parameters
    ----------
    path : path
        A file that is not there yet.
    readings : sequence of Reading
        At least one; columns that are empty everywhere are left out.

    Raises
    ------
    InputError
        The file is already there, or cannot be written.

    Notes
    -----
    Numbers are written to twelve digits in the units people read, such as rpm.
    """
    new_file(path, _text(readings))


def new_file(path, text):
    """Write a new file, on the disk itself when this returns.

    Parameters
    ----------
    path : path
        A file that is not there yet.
    text : str
        Its content.

    Raises
    ------
    InputError
        The file is already there, or cannot be written.
    """
    path = Path(path)
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
    except FileExistsError:
        needs = "a name that is free, for nothing is ever overwritten"
        raise InputError("out", f"'{path}', which is there already", needs, try_="another name") from None
    except OSError as error:
        needs = "a place that can be written"
        raise InputError("out", f"'{path}' ({error.strerror})", needs, try_="a folder of your own") from None


def _text(readings):
    used = [name for name in COLUMNS if any(_is_there(getattr(one, name)) for one in readings)]
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(f"{name} [{_shown(name)}]" if name in NUMBERS else name for name in used)
    writer.writerows([_cell(name, getattr(one, name)) for name in used] for one in readings)
    return page.getvalue()


def _is_there(value):
    return value is not None and value is not False and value != ""  # a reading of 0 is one


def _shown(name):
    return SHOWN_AS.get(COLUMNS[name], COLUMNS[name])


def _cell(name, value):
    if name == "pushed":
        return "yes" if value else "no"
    if name not in NUMBERS or value is None:
        return "" if value is None else " ".join(str(value).split())
    if name == "load_resistance" and value == OPEN:
        return "open"
    return f"{float(units.show(value, _shown(name), 15).split()[0]):.12g}"
