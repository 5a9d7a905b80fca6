"""A CSV file taken apart: its encoding, its separator, its header, and a place for every line."""

import codecs
import collections
import re
from dataclasses import dataclass

from whirlbench.measure.headers import is_unit
from whirlbench.measure.readings import split

_MARKS = (";", "\t", ",")
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_LOOKED_AT = 200  # lines
_HEADER_WITHIN = 30
_NUMBER = re.compile(r"^[+\-−]?[.,]?\d")


@dataclass(frozen=True)
class Sheet:
    """A file taken apart; every line has its place in exactly one of the lists.

    Attributes
    ----------
    encoding, separator : str
        As found.
    header, unit_row : tuple of str
        Cells of the header, and of a line of units below it.
    rows : tuple of (int, str, list of str)
        Line number, line and cells of what should be readings.
    before : tuple of (int, str)
        Lines with numbers that stand before the header.
    header_lines, remark_lines, blank_lines : tuple of int
        Header, again where it is repeated; comments and titles; nothing but separators.
    """

    encoding: str
    separator: str
    header: tuple
    unit_row: tuple
    rows: tuple
    before: tuple
    header_lines: tuple
    remark_lines: tuple
    blank_lines: tuple


def take_apart(data):
    """Sheet from the bytes of a file; any bytes at all.

    Parameters
    ----------
    data : bytes
        The file.

    Returns
    -------
    Sheet
        A file without a header gets the headers ``column 1``, ``column 2`` and so on.
    """
    encoding, text = _decoded(data)
    lines = list(enumerate(re.split(r"\r\n|\r|\n", text), start=1))
    if lines and not lines[-1][1]:
        lines.pop()  # the end of the last line, no line of its own
    blank = tuple(i for i, line in lines if not line.strip(" ,;\t\0"))
    hint = next((line.strip()[4:] for _, line in lines[:1] if re.fullmatch(r"\s*sep=.\s*", line)), None)
    remarks = [i for i, line in lines if line.lstrip().startswith(("#", "//")) or (hint and i == 1)]
    body = [(i, line) for i, line in lines if i not in {*blank, *remarks}]
    mark = hint or _separator([line for _, line in body[:_LOOKED_AT]])
    table = [(i, line, [cell.strip() for cell in split(line, mark)]) for i, line in body]
    at = _header_at(table)
    if at is None:
        width = max((len(cells) for _, _, cells in table), default=0)
        named = tuple(f"column {k}" for k in range(1, width + 1))
        return Sheet(encoding, mark, named, (), tuple(table), (), (), tuple(remarks), blank)
    header, rest = table[at][2], table[at + 1 :]
    unit_row = tuple(rest[0][2]) if rest and _all_units(rest[0][2]) else ()
    again = [i for i, _, cells in rest if cells == header]
    heads = (table[at][0], *([rest[0][0]] if unit_row else []), *again)
    rows = tuple(row for row in rest if row[0] not in heads)
    titles = [i for i, _, cells in table[:at] if not any(map(_is_number, cells))]
    before = tuple((i, line) for i, line, _ in table[:at] if i not in titles)
    return Sheet(encoding, mark, tuple(header), unit_row, rows, before, heads, tuple(sorted(remarks + titles)), blank)


def _decoded(data):
    """Encoding and text; the last one takes any bytes."""
    found = [name for bom, name in _BOMS if data.startswith(bom)]
    zeros = data[:2000]
    if not found and zeros.count(0) > len(zeros) // 4:
        found = ["utf-16-le" if zeros[1::2].count(0) >= zeros[::2].count(0) else "utf-16-be"]
    for name in [*found, "utf-8", "cp1252"]:
        try:
            return name, data.decode(name)
        except UnicodeDecodeError:
            continue
    return "latin-1", data.decode("latin-1")


def _separator(lines):
    """The mark with which most lines have the same number of cells; a comma parts cells only if nothing else does."""

    def alike(mark):
        widths = collections.Counter(len(split(line, mark)) for line in lines)
        return max((count for width, count in widths.items() if width > 1), default=0)

    best = max(_MARKS, key=alike)  # the first of equals
    return best if alike(best) else ","


def _header_at(table):
    """Place of the first line that has most cells and mostly words in them."""
    filled = [[cell for cell in cells if cell] for _, _, cells in table[:_HEADER_WITHIN]]
    wordy = [k for k, cells in enumerate(filled) if 2 * sum(map(_is_number, cells)) < len(cells)]
    return max(wordy, key=lambda k: len(filled[k]), default=None)


def _is_number(cell):
    return bool(_NUMBER.match(cell))


def _all_units(cells):
    return any(cells) and all(is_unit(cell) for cell in cells if cell)
