"""A record sheet to print: runs in their order, what to set, a box to tick, boxes to write in."""

from dataclasses import dataclass
from functools import partial

from whirlbench.errors import InputError
from whirlbench.make import page
from whirlbench.make.page import MARGIN, MM

BOXES = (("wind", "m/s"), ("volts", "V"), ("load", "ohm"), ("speed", "rpm"), ("time", ""), ("who", ""))
CAUTION = (
    "Stand clear of the turning rotor, to the front or the back, never beside its disc. Goggles on. "
    "Fan off and rotor still before any hand goes near it."
)
_ROW, _HEAD, _BAND = 9 * MM, 11 * MM, 6.5 * MM
_TICK, _NUMBER, _BOX = 9 * MM, 14 * MM, 4.4 * MM
_NAMED, _WIDEST, _WRITTEN = 14 * MM, 44 * MM, 21 * MM


@dataclass(frozen=True)
class SheetRow:
    """One run on the sheet.

    Attributes
    ----------
    number : int
        Place in the order.
    settings : tuple of str
        What each factor is set to.
    group : str
        Such as ``day 1``; a line announces each new one; empty for none.
    reference : bool
        A run of the starter build that watches the fan.
    """

    number: int
    settings: tuple
    group: str = ""
    reference: bool = False


def record_sheet(path, rows, *, title, factors, lines=(), paper="A4"):
    """Write a record sheet as PDF and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .pdf.
    rows : sequence of SheetRow
        In the order in which they are run.
    title : str
        What is tested.
    factors : sequence of str
        Headings of the settings.
    lines : sequence of str
        Sentences under the title.
    paper : str
        ``A4`` or ``letter``, on its side.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        No rows, another ending, unknown paper, or a place that cannot be written.
    """
    page.checked(path, "record sheet")
    size = page.size_of(paper, on_its_side=True)
    if not rows:
        raise InputError("record sheet", "no runs", "one or more", try_="plan the runs first")
    sheet = _Sheet(size, title, tuple(factors), tuple(lines))
    pages = sheet.pages(rows)
    draws = [
        partial(sheet.draw, entries=entries, footer=f"page {number} of {len(pages)}", first=number == 1)
        for number, entries in enumerate(pages, start=1)
    ]
    return page.write(path, draws, size=size, title=title, what="record sheet")


class _Sheet:
    """Where everything stands on a page."""

    def __init__(self, size, title, factors, lines):
        self.width, self.height = size
        self.title, self.factors = title, factors
        self.left, self.right = MARGIN, self.width - MARGIN
        self.lines = [piece for line in lines for piece in page.wrapped(line, self.right - self.left, 9.5)]
        room = self.right - self.left - _TICK - _NUMBER
        each = max(_NAMED, min(_WIDEST, (room - len(BOXES) * _WRITTEN) / max(1, len(factors))))
        written = (room - each * len(factors)) / len(BOXES)
        widths = [_TICK, _NUMBER, *[each] * len(factors), *[written] * len(BOXES)]
        self.edges = [self.left + sum(widths[:place]) for place in range(len(widths) + 1)]

    def pages(self, rows):
        """Rows of each page, each new group announced."""
        pages, entries, room, last = [], [], 0.0, None
        for row in rows:
            band = _BAND if row.group and (row.group != last or not entries) else 0.0
            if not entries or room < band + _ROW:
                entries = []
                pages.append(entries)
                room = self._table_top(first=len(pages) == 1) - _HEAD - MARGIN - 6 * MM
                band = _BAND if row.group else 0.0
            if band:
                entries.append(row.group)
            entries.append(row)
            room -= band + _ROW
            last = row.group
        return pages

    def _table_top(self, first):
        if not first:
            return self.height - MARGIN - 9 * MM
        return self.height - MARGIN - 10 * MM - 4.6 * MM * len(self.lines) - 23 * MM

    def draw(self, canvas, entries, footer, first):
        """One page."""
        self._heading(canvas, first)
        top = self._table_top(first)
        self._columns(canvas, top)
        top -= _HEAD
        for entry in entries:
            if isinstance(entry, str):
                self._band(canvas, top, entry)
                top -= _BAND
            else:
                self._row(canvas, top, entry)
                top -= _ROW
        canvas.setStrokeColor(page.INK)
        canvas.setLineWidth(1)
        canvas.line(self.left, top, self.right, top)
        if any(isinstance(entry, SheetRow) and entry.reference for entry in entries):
            words = "ref: the starter build again, to see whether the fan drifts."
            page.text(canvas, (self.left, MARGIN - 3 * MM), words, 8)
        page.text(canvas, (self.right, MARGIN - 3 * MM), footer, 8, align="right")

    def _heading(self, canvas, first):
        top = self.height - MARGIN
        page.text(canvas, (self.left, top - 5.5 * MM), self.title, 18 if first else 11, bold=True, ink=page.INK)
        if not first:
            return
        top -= 10 * MM
        for line in self.lines:
            page.text(canvas, (self.left, top - 2 * MM), line, 9.5)
            top -= 4.6 * MM
        top -= 2 * MM
        blanks = ("team", "date", "place and fan setting", "meter and range")
        width = (self.right - self.left - 3 * 5 * MM) / len(blanks)
        for place, blank in enumerate(blanks):
            x = self.left + place * (width + 5 * MM)
            page.text(canvas, (x, top - 6 * MM), blank, 8)
            canvas.setStrokeColor(page.SOFT)
            canvas.setLineWidth(0.6)
            after = page.width(blank, 8) + 2 * MM
            canvas.line(x + after, top - 6.6 * MM, x + width, top - 6.6 * MM)
        wide = self.right - self.left
        size = page.fitting(CAUTION, wide - 14 * MM, 9.2, bold=True)
        page.caution(canvas, (self.left, top - 10.5 * MM), [CAUTION], wide=wide, size=size)

    def _columns(self, canvas, top):
        canvas.setFillColor(page.INK)
        canvas.rect(self.left, top - _HEAD, self.right - self.left, _HEAD, stroke=0, fill=1)
        names = [("done", ""), ("run", ""), *((name, "set") for name in self.factors), *BOXES]
        for (name, unit), left, right in zip(names, self.edges, self.edges[1:], strict=False):
            middle = (left + right) / 2
            up = top - (4.6 if unit else 6.4) * MM
            size = page.fitting(name, right - left - 2 * MM, 9.5, bold=True)
            page.text(canvas, (middle, up), name, size, bold=True, ink=page.PAPER, align="centre")
            page.text(canvas, (middle, top - 8.6 * MM), unit, 7.5, ink=page.GRID, align="centre")

    def _band(self, canvas, top, words):
        canvas.setFillColor(page.SAND)
        canvas.rect(self.left, top - _BAND, self.right - self.left, _BAND, stroke=0, fill=1)
        page.text(canvas, (self.left + 3 * MM, top - 4.4 * MM), words, 9.5, bold=True, ink=page.INK)

    def _row(self, canvas, top, row):
        bottom = top - _ROW
        if row.reference:
            canvas.setFillColor("#DDEFF9")
            canvas.rect(self.left, bottom, self.right - self.left, _ROW, stroke=0, fill=1)
            canvas.setFillColor(page.BLUE)
            canvas.rect(self.left, bottom, 1.2 * MM, _ROW, stroke=0, fill=1)
            page.text(canvas, (self.edges[1] + 1.5 * MM, bottom + 3.1 * MM), "ref", 7.5)
        canvas.setStrokeColor(page.GRID)
        canvas.setLineWidth(0.6)
        canvas.line(self.left, bottom, self.right, bottom)
        for edge in self.edges[2:-1]:
            canvas.line(edge, top, edge, bottom)
        page.tick_box(canvas, (self.edges[0] + self.edges[1]) / 2, bottom + (_ROW - _BOX) / 2, side=_BOX)
        base = bottom + 3.1 * MM
        page.text(canvas, (self.edges[2] - 3 * MM, base), str(row.number), 11, bold=True, ink=page.INK, align="right")
        for place, setting in enumerate(row.settings):
            left, right = self.edges[2 + place : 4 + place]
            size = page.fitting(setting, right - left - 3 * MM, 11)
            words = page.cut(setting, right - left - 3 * MM, size)
            page.text(canvas, ((left + right) / 2, base), words, size, ink=page.INK, align="centre")
