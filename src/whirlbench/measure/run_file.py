"""Files of runs: the one that ``capture`` wrote read back as series of numbers over time, and a plain table written."""

import csv
import io
import json
import math
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from whirlbench.errors import InputError
from whirlbench.measure.columns import COLUMNS
from whirlbench.measure.protocol import meaning
from whirlbench.measure.readings_file import new_file
from whirlbench.measure.sample_file import BOOKS

_NAMED = {"time", *COLUMNS}  # others bear their unit in their heading
_TRY = "name the file that capture wrote, as it is"


@dataclass(frozen=True)
class RunSeries:
    """Series of one run.

    Attributes
    ----------
    begun_at : datetime
        When the first sample came.
    columns : dict of str to str
        Names and units, ``time`` [s] first; SI where it is a column of readings.
    samples : dict of str to list of float
        Equally long; what was not read is None.
    """

    begun_at: datetime
    columns: dict
    samples: dict


def read_run(path):
    """Run from a file of samples.

    Parameters
    ----------
    path : path
        ``.csv`` or ``.jsonl`` as ``capture`` writes it; half a line at its end, of a capture that was killed, is left.

    Returns
    -------
    RunSeries
        Time counts from the first sample, by the logger's own clock.

    Raises
    ------
    InputError
        No such file, no sample in it, or a line that is none.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise InputError("run", f"'{path}'", "a file that can be read", try_=_TRY) from None
    lines = text[: text.rfind("\n") + 1].splitlines()
    rows = list((_json_rows if path.suffix == ".jsonl" else _csv_rows)(lines, path.name))
    if not rows:
        raise InputError(path.name, "no sample", "one or more", try_=_TRY)
    headings = [name for name in dict.fromkeys(name for row in rows for name in row) if name not in BOOKS]
    columns, samples = {"time": "s"}, {"time": _times(rows)}
    for heading in headings:
        name, unit, scale, offset = meaning(heading)
        columns[name] = unit
        numbers = [row.get(heading) for row in rows]
        samples[name] = [None if number is None else scale * number + offset for number in numbers]
    return RunSeries(rows[0]["taken_at"], columns, samples)


def write_run(path, columns, samples):
    """Write a run to a new CSV file for other programs.

    Parameters
    ----------
    path : path
        A file that is not there yet.
    columns : dict of str to str
        Names and units.
    samples : dict of str to list
        Equally long; what was not read is None and becomes an empty cell.

    Raises
    ------
    InputError
        The file is already there, or cannot be written.
    """
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(f"{name} [{unit}]" if unit and name in _NAMED else name for name, unit in columns.items())
    writer.writerows(zip(*(samples[name] for name in columns), strict=True))
    new_file(path, page.getvalue())


def _csv_rows(lines, place):
    header = next(csv.reader(lines[:1]), [])
    if not set(BOOKS) <= set(header):
        needs = f"a file of samples, with the columns {', '.join(BOOKS)}"
        raise InputError(place, "other columns", needs, try_=f"{_TRY}; readings come in with import and log")
    for number, cells in enumerate(csv.reader(lines[1:]), 2):
        if len(cells) != len(header):
            raise _no_sample(place, number)
        yield _row(dict(zip(header, cells, strict=True)), place, number)


def _json_rows(lines, place):
    for number, line in enumerate(lines, 1):
        try:
            fields = json.loads(line)
        except (ValueError, RecursionError):
            raise _no_sample(place, number) from None
        if not (isinstance(fields, dict) and set(BOOKS) <= fields.keys()):
            raise _no_sample(place, number)
        yield _row(fields, place, number)


def _row(fields, place, number):
    """Time as such, everything else as numbers."""
    try:
        taken_at = datetime.fromisoformat(fields.pop("taken_at"))
        numbers = {name: None if cell in ("", None) else float(cell) for name, cell in fields.items()}
        whole = all(cell is None or math.isfinite(cell) for cell in numbers.values())
        if not whole or None in (numbers["ms"], numbers["restart"]):
            raise ValueError("no number")
        return {"taken_at": taken_at} | numbers
    except (TypeError, ValueError):
        raise _no_sample(place, number) from None


def _no_sample(place, number):
    return InputError(f"{place} line {number}", "a line that is no sample", "the line as it was written", try_=_TRY)


def _times(rows):
    """Seconds since the first sample; a logger that began anew counts on from when its first sample came."""
    times, restart, offset = [], None, 0.0
    for row in rows:
        seconds = row["ms"] / 1000
        if row["restart"] != restart:
            restart = row["restart"]
            came = (row["taken_at"] - rows[0]["taken_at"]).total_seconds()
            offset = max(came, times[-1] if times else 0.0) - seconds
        times.append(seconds + offset)
    return times
