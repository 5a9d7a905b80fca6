"""Readings from anybody's table: every line comes in, or is refused with its reason; none vanishes."""

import re
from dataclasses import dataclass

from whirlbench import units
from whirlbench.errors import InputError
from whirlbench.measure import numerals
from whirlbench.measure.cells import entry
from whirlbench.measure.columns import COLUMNS, NUMBERS, TEXTS
from whirlbench.measure.headers import unit_of
from whirlbench.measure.readings import Reading

_NOTHING = {"", "-", "--", "—", "–", "n/a", "na", "#n/a", "nan", "none", "null", "?"}
_OPEN = {"open", "inf", "infinite", "∞", "ol", "o.l.", "abierto", "offen", "none", "no load", "sin carga"}
_OVER = {"ol", "o.l.", "0l", "over", "overload"}
_YES = {"si", "sí", "ja", "oui", "true", "x", "✓"}
_NO = {"false", "nein", "non", "-"}
_PLAIN = re.compile(r"^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)$", re.DOTALL)
_LONGEST = 400  # letters of a cell: what is longer is no reading


@dataclass(frozen=True)
class Refused:
    """A line that did not come in.

    Attributes
    ----------
    line : int
        Line number in the file.
    text : str
        The line as it stands there.
    reason : str
        What is wrong and what to do.
    """

    line: int
    text: str
    reason: str


def table_decimal(sheet, matches):
    """Mark before decimals in the columns that are matched with numbers.

    Parameters
    ----------
    sheet : Sheet
        The file.
    matches : sequence of Match
        One a column.

    Returns
    -------
    str or None
        ``.``, ``,`` or None where the cells disagree.
    """
    numbers = [k for k, match in enumerate(matches) if match.column in NUMBERS]
    cells = (cells[k] for _, _, cells in sheet.rows for k in numbers if k < len(cells))
    return numerals.decimal_mark(cells, sheet.separator)


def table_readings(sheet, matches, *, decimal, fill=None):
    """Readings and refused lines of a table.

    Parameters
    ----------
    sheet : Sheet
        The file.
    matches : sequence of Match
        One a column.
    decimal : str or None
        Mark before decimals, as ``table_decimal`` tells it.
    fill : dict of str to float, optional
        What holds for every row that does not say otherwise, SI.

    Returns
    -------
    readings : tuple of Reading
        The good lines, in file order.
    refused : tuple of Refused
        The others.
    """
    reason = "it stands before the header; put it below, or make it a comment with #"
    good, refused = [], [Refused(line, text, reason) for line, text in sheet.before]
    for line, text, cells in sheet.rows:
        try:
            good.append(_reading(line, cells, matches, decimal=decimal, fill=fill or {}))
        except _Unusable as why:
            refused.append(Refused(line, text, str(why)))
    return tuple(good), tuple(refused)


class _Unusable(Exception):
    """Why a line is refused."""


def _reading(line, cells, matches, *, decimal, fill):
    _check_width(cells, matches)
    fields, extra, wrong = {}, [], []
    for match, cell in zip(matches, cells, strict=False):
        if match.column:
            try:
                fields[match.column] = _cell(match, cell, decimal)
            except InputError as error:
                wrong.append(str(error))
        elif cell and not match.left_out:
            extra.append(f"{match.header.strip() or 'no name'}: {_clean(cell)}")
    if wrong:
        raise _Unusable(" ".join(wrong))
    if all(fields.get(name) is None for name in NUMBERS):
        raise _Unusable("no number was read in it; match a header with a column, or make the line a comment with #")
    for name, value in fill.items():
        if fields.get(name) is None:
            fields[name] = value
    fields["note"] = "; ".join(filter(None, [fields.get("note", ""), *extra]))
    return Reading(row=line, **fields)


def _check_width(cells, matches):
    """A line of another length may be cut short, or parted by a decimal comma."""
    more = [cell for cell in cells[len(matches) :] if cell]
    if more:
        raise _Unusable(
            f"{len(cells)} cells where the header has {len(matches)}; put a text or a decimal comma in quotes"
        )
    lacking = [match.header for match in matches[len(cells) :] if match.column in NUMBERS]
    if lacking:
        raise _Unusable(f"it ends before {', '.join(lacking)}; it may be cut short: write the cells, empty ones too")


def _cell(match, cell, decimal):
    """Value of a cell, SI; None where nothing was read."""
    name, low = match.column, cell.lower()
    if len(cell) > _LONGEST and name != "note":
        raise InputError(match.header, f"{len(cell)} letters", "a reading", try_="look for a lost quote or line end")
    if name == "pushed":
        return entry(name, "yes" if low in _YES else "no" if low in _NO else cell, "", place=match.header)
    if name == "taken_at":
        return entry(name, re.sub(r"^(\d{4})[/.](\d\d)[/.](\d\d)", r"\1-\2-\3", cell), "", place=match.header)
    if name in TEXTS:
        return _clean(cell)
    if name == "load_resistance" and low in _OPEN:
        return entry(name, "open", "", place=match.header)
    if low in _OVER:
        raise InputError(match.header, f"'{cell}', a meter over its range", "a number", try_="take the next range")
    return None if low in _NOTHING else _number(match, cell, decimal)


def _number(match, cell, decimal):
    text = numerals.pointed(cell, decimal, place=match.header)
    plain = _PLAIN.match(text)
    number, own = plain.groups() if plain else (text, "")
    unit = unit_of(match.column, own) if own else match.unit
    if own and unit is None:  # a doubt, a fraction, or a word that is no unit
        number, unit = text, match.unit if match.unit not in own else ""
    if not unit and COLUMNS[match.column] and not own:
        try_ = f"say the unit: --map '{match.header.strip()}={match.column} [unit]'"
        raise InputError(match.header, f"'{cell}' without a unit", "a unit", try_=try_)
    return entry(match.column, number, unit or "", place=match.header)


def _clean(text):
    """One line of printable text."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


def filled(wishes):
    """Numbers that hold for every row, from texts such as ``wind_speed=4.5 m/s``.

    Parameters
    ----------
    wishes : sequence of str
        Column, =, and number with unit.

    Returns
    -------
    dict of str to float
        SI.

    Raises
    ------
    InputError
        No such column of numbers, or a number without its unit.
    """
    found = {}
    for wish in wishes:
        name, _, value = (piece.strip() for piece in wish.partition("="))
        if name not in NUMBERS:
            needs = "a column of numbers, =, and a number with its unit"
            raise InputError("fill", f"'{wish}'", needs, try_="write it like 'wind_speed=4.5 m/s'")
        units.read(f"fill > {name}", value, COLUMNS[name])
        found[name] = entry(name, value, "", place=f"fill > {name}")
    return found
