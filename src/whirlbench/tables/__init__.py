"""Published and catalogue numbers: one CSV a table, and the one loader that reads them."""

import csv
import functools
from dataclasses import dataclass, field
from pathlib import Path

from whirlbench.errors import TableError, UnknownKey, nearest

_HERE = Path(__file__).parent
_SEEN = ("read", "second hand", "digitised", "memory", "computed", "common practice")


class Row:
    """One row of a table; columns are attributes, numbers are floats, an empty cell is None."""

    def __init__(self, cells):
        self.__dict__.update(cells)

    def __repr__(self):
        return "-".join(str(cell) for cell in list(self.__dict__.values())[:4])


@dataclass(frozen=True)
class Table:
    """A table with its source.

    Attributes
    ----------
    name : str
        File name without ending.
    source : str
        Where the numbers come from.
    seen : str
        How they were seen: read, second hand, digitised, memory, computed or common practice.
    rows : tuple of Row
        The rows in file order.
    """

    name: str
    source: str
    seen: str
    rows: tuple
    _found: dict = field(default_factory=dict, init=False, repr=False, compare=False)

    def find(self, what=None, /, **wanted):
        """Return the first row whose named columns hold these values.

        Parameters
        ----------
        what : str, optional
            The field that asks, for the error; without it the table's own name.
        **wanted
            Column names and the values to look for.

        Returns
        -------
        Row
            The first row that fits.

        Raises
        ------
        UnknownKey
            No row fits; the message names the nearest.
        """
        asked = tuple(wanted.items())
        row = self._found.get(asked) or next((one for one in self.rows if _holds(one, asked)), None)
        if row is not None:
            self._found[asked] = row
            return row
        column, cell = next(iter(wanted.items()))
        known = [str(getattr(row, column)) for row in self.rows]
        needs = f"a {column} of the table {self.name}"
        raise UnknownKey(what or self.name, f"'{cell}'", needs, try_=nearest(str(cell), known))


@functools.cache
def load(name):
    """Shipped table by its path below ``tables``, for example ``gears/sliding_friction``.

    Parameters
    ----------
    name : str
        Path without ``.csv``.

    Returns
    -------
    Table
        The table with its source.

    Raises
    ------
    TableError
        No such table, or one without a source.
    """
    return load_file(_HERE / f"{name}.csv")


def load_file(path):
    """Table from any CSV file that opens with ``# source:`` and ``# seen:`` lines.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    Table
        The table with its source.

    Raises
    ------
    TableError
        No such file, no source, no note of how it was seen, or a row of another length than the header.
    """
    path = Path(path)
    if not path.is_file():
        raise TableError(f"{path.name}: no such table")
    lines = path.read_text(encoding="utf-8").splitlines()
    notes = [line[1:].strip() for line in lines if line.startswith("#")]
    source, seen = _note(notes, "source"), _note(notes, "seen")
    if not source or not seen.startswith(_SEEN):
        raise TableError(f"{path.name}: a table needs a 'source:' line and a 'seen:' line ({', '.join(_SEEN)})")
    body = list(csv.reader(line for line in lines if line.strip() and not line.startswith("#")))
    header, *records = body
    for record in records:
        if len(record) != len(header):
            raise TableError(f"{path.name}: row {record} has {len(record)} cells, header has {len(header)}")
    rows = tuple(Row({key: _cell(cell) for key, cell in zip(header, record, strict=True)}) for record in records)
    return Table(path.stem, source, seen, rows)


def _holds(row, asked):
    return all(getattr(row, column) == cell for column, cell in asked)


def _note(notes, key):
    return next((note.split(":", 1)[1].strip() for note in notes if note.startswith(f"{key}:")), "")


def _cell(text):
    text = text.strip()
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        return text
