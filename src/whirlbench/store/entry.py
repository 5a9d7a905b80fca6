"""A reading as the store knows it, and as a row of the table."""

import math
from dataclasses import MISSING, dataclass, fields

from whirlbench.errors import InputError
from whirlbench.measure.readings import Reading
from whirlbench.store import names
from whirlbench.store.schema import ReadingVersion

_FIELDS = {field.name: None if field.default is MISSING else field.default for field in fields(Reading)}
OWN = tuple(name for name in _FIELDS if name in ReadingVersion.__table__.c)  # the rest goes to ``more``


@dataclass(frozen=True)
class Entry:
    """One version of a reading with all that is known around it.

    Attributes
    ----------
    id, version : int
        Number of the reading in the store, and of this version of it from 1.
    gone : bool
        Deleted with this version.
    at, author : str
        When it was written, UTC, ISO 8601; first name or empty.
    turbine, turbine_version : str and int, or None
        What stood at the fan.
    plan, plan_row : str and int, or None
        Its place in a test plan.
    reading : Reading
        What was read.
    """

    id: int
    version: int
    gone: bool
    at: str
    author: str
    turbine: str | None
    turbine_version: int | None
    plan: str | None
    plan_row: int | None
    reading: Reading


def columns_of(reading):
    """Columns of the table from a reading.

    Parameters
    ----------
    reading : Reading
        What was read, SI.

    Returns
    -------
    dict of str to object
        Its own columns, and ``more`` with every other field that is not empty.

    Raises
    ------
    InputError
        A number that is none, or text that a database cannot hold.
    """
    values = {name: _checked(name, getattr(reading, name)) for name in _FIELDS}
    more = {name: value for name, value in values.items() if name not in OWN and value != _FIELDS[name]}
    return {name: values[name] for name in OWN} | {"more": more}


def reading_of(columns):
    """Reading from the columns of the table.

    Parameters
    ----------
    columns : mapping
        A row.

    Returns
    -------
    Reading
        Equal to the one that was written; what only a newer program knows is left out.
    """
    more = {name: _frozen(value) for name, value in columns["more"].items() if name in _FIELDS}
    return Reading(**_FIELDS | {name: columns[name] for name in OWN} | more)


def _checked(name, value):
    if isinstance(value, float) and not math.isfinite(value):
        raise InputError(name, str(value), "a number", try_="leave it empty where nothing was read")
    return names.checked_text(name, value) if isinstance(value, str) else value


def _frozen(value):
    return tuple(map(_frozen, value)) if isinstance(value, list) else value
