"""Readings as a table for other programs: CSV, XLSX, Parquet; units stand in the headers."""

import csv
import itertools
import os
import re
from dataclasses import fields
from pathlib import Path

from whirlbench.errors import InputError, MissingExtra
from whirlbench.measure.columns import COLUMNS, NUMBERS
from whirlbench.measure.readings import Reading

_AROUND = {
    "id": "reading",
    "version": "version",
    "gone": "deleted",
    "at": "written_at",
    "author": "author",
    "turbine": "turbine",
    "turbine_version": "turbine_version",
    "plan": "plan",
    "plan_row": "plan_row",
}
_READ = tuple(field.name for field in fields(Reading))
_WHOLE = {"id", "version", "turbine_version", "plan_row", "row"}
_YES_OR_NO = {"gone", "pushed"}
_FORMULA = ("=", "+", "-", "@", "\t", "\r")  # what a spreadsheet would work out instead of show
_UNSHOWN = re.compile(r"[\x00-\x08\x0b-\x1f\ufffe\uffff]")  # what no XML file can hold
_MOST_ROWS, _LONGEST_CELL = 1_048_575, 32_767  # of an XLSX sheet
_AT_ONCE = 10_000  # rows of a Parquet batch


def write(entries, path):
    """Write readings to a file; an older file of that name is replaced when the new one is whole.

    Parameters
    ----------
    entries : iterable of Entry
        The readings.
    path : path
        ``.csv``, ``.xlsx`` or ``.parquet``.

    Returns
    -------
    int
        Rows written.

    Raises
    ------
    InputError
        A name with another ending, a place that cannot be written, or more rows than a sheet holds.
    MissingExtra
        Parquet without the extra that writes it.
    """
    path = Path(path)
    writers = {".csv": _csv, ".xlsx": _xlsx, ".parquet": _parquet}
    writer = writers.get(path.suffix.lower())
    if writer is None:
        raise InputError("out", f"'{path.name}'", "a name that ends in .csv, .xlsx or .parquet", try_="write data.csv")
    counted = itertools.count()
    rows = (_row(entry) for entry in entries if next(counted) >= 0)
    part = path.with_name(f"{path.name}.part")
    try:
        writer(rows, part)
        os.replace(part, path)
    except OSError as error:
        got = f"'{path}' ({error.strerror or error})"
        raise InputError("out", got, "a file that can be written", try_="name a folder of your own") from None
    finally:
        part.unlink(missing_ok=True)
    return next(counted)


def header():
    """Headers of the table.

    Returns
    -------
    list of str
        Names, with the SI unit where a number has one.
    """
    units = {name: f" [{COLUMNS[name]}]" for name in NUMBERS if COLUMNS[name]}
    return [*_AROUND.values(), *(f"{name}{units.get(name, '')}" for name in _READ)]


def _row(entry):
    return [*(getattr(entry, name) for name in _AROUND), *(getattr(entry.reading, name) for name in _READ)]


def _csv(rows, path):
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(header())
        writer.writerows([_cell(value) for value in row] for row in rows)


def _cell(value):
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value


def _xlsx(rows, path):
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("readings")
    sheet.freeze_panes = "A2"
    sheet.append(header())
    for number, row in enumerate(rows, 1):
        if number > _MOST_ROWS:
            book.close()
            raise InputError("out", f"more than {_MOST_ROWS} readings", "fewer in one sheet", try_="write a .csv file")
        sheet.append([_text(sheet, value) if isinstance(value, str) else value for value in row])
    book.save(path)


def _text(sheet, text):
    """Text as a sheet can show it, even one that opens like a formula; an empty one takes no place."""
    shown = _UNSHOWN.sub("", text)[:_LONGEST_CELL]
    if not shown.startswith("="):
        return shown or None
    from openpyxl.cell import WriteOnlyCell

    cell = WriteOnlyCell(sheet, shown)
    cell.data_type = "s"
    return cell


def _parquet(rows, path):
    try:
        import pyarrow as pa
        from pyarrow import parquet
    except ImportError:
        raise MissingExtra("Parquet needs an extra. Try: pip install 'whirlbench[parquet]', or write .csv.") from None
    kinds = dict.fromkeys(_WHOLE, pa.int64()) | dict.fromkeys(_YES_OR_NO, pa.bool_())
    kinds |= dict.fromkeys(NUMBERS, pa.float64())
    names = [*_AROUND, *_READ]
    shape = pa.schema([(head, kinds.get(name, pa.string())) for head, name in zip(header(), names, strict=True)])
    with parquet.ParquetWriter(path, shape) as writer:
        while batch := list(itertools.islice(rows, _AT_ONCE)):
            columns = zip(*batch, strict=True)
            arrays = [pa.array(column, type=field.type) for column, field in zip(columns, shape, strict=True)]
            writer.write_batch(pa.record_batch(arrays, schema=shape))
