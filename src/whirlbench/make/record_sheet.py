"""A record sheet to print: runs in their order, what to set, a box to tick, boxes to write in."""

from dataclasses import dataclass
from pathlib import Path

from whirlbench.errors import InputError, UnknownKey, nearest

PAPERS = ("A4", "letter")
BOXES = (("wind", "m/s"), ("volts", "V"), ("load", "ohm"), ("speed", "rpm"), ("time", ""), ("who", ""))
CAUTION = (
    "Stand clear of the turning rotor, to the front or the back, never beside its disc. Goggles on. "
    "Fan off and rotor still before any hand goes near it."
)
_INK, _SOFT, _GRID, _PAPER, _BLUE = "#14110D", "#5C5347", "#CFC5B2", "#FBF7EE", "#56B4E9"
_MM = 72 / 25.4
_MARGIN, _ROW, _HEAD, _BAND = 12 * _MM, 9 * _MM, 11 * _MM, 6.5 * _MM
_TICK, _NUMBER = 9 * _MM, 14 * _MM
_NAMED, _WIDEST, _WRITTEN = 14 * _MM, 44 * _MM, 21 * _MM


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
    from reportlab.lib import pagesizes
    from reportlab.pdfgen.canvas import Canvas

    path = Path(path)
    if path.suffix.lower() != ".pdf":
        raise InputError("record sheet", f"'{path.name}'", "an ending .pdf", try_="name it sheet.pdf")
    if paper not in PAPERS:
        raise UnknownKey("paper", f"'{paper}'", "a known paper", try_=nearest(paper, PAPERS))
    if not rows:
        raise InputError("record sheet", "no runs", "one or more", try_="plan the runs first")
    size = pagesizes.landscape(pagesizes.A4 if paper == "A4" else pagesizes.LETTER)
    sheet = _Sheet(size, title, tuple(factors), tuple(lines))
    pages = sheet.pages(rows)
    try:
        with path.open("wb") as file:
            canvas = Canvas(file, pagesize=size, invariant=1)
            canvas.setTitle(title)
            for number, page in enumerate(pages, start=1):
                sheet.draw(canvas, page, f"page {number} of {len(pages)}", first=number == 1)
                canvas.showPage()
            canvas.save()
    except OSError as error:
        got = f"'{path}' ({(error.strerror or 'no reason').lower()})"
        raise InputError("record sheet", got, "a place that can be written", try_="make the folder first") from error
    return path


class _Sheet:
    """Where everything stands on a page."""

    def __init__(self, size, title, factors, lines):
        self.width, self.height = size
        self.title, self.factors = title, factors
        self.left, self.right = _MARGIN, self.width - _MARGIN
        self.lines = [piece for line in lines for piece in _wrapped(line, self.right - self.left, 9.5)]
        room = self.right - self.left - _TICK - _NUMBER
        each = max(_NAMED, min(_WIDEST, (room - len(BOXES) * _WRITTEN) / max(1, len(factors))))
        written = (room - each * len(factors)) / len(BOXES)
        widths = [_TICK, _NUMBER, *[each] * len(factors), *[written] * len(BOXES)]
        self.edges = [self.left + sum(widths[:place]) for place in range(len(widths) + 1)]

    def pages(self, rows):
        """Rows of each page, each new group announced."""
        pages, page, room, last = [], [], 0.0, None
        for row in rows:
            band = _BAND if row.group and (row.group != last or not page) else 0.0
            if not page or room < band + _ROW:
                page = []
                pages.append(page)
                room = self._table_top(first=len(pages) == 1) - _HEAD - _MARGIN - 6 * _MM
                band = _BAND if row.group else 0.0
            if band:
                page.append(row.group)
            page.append(row)
            room -= band + _ROW
            last = row.group
        return pages

    def _table_top(self, first):
        if not first:
            return self.height - _MARGIN - 9 * _MM
        return self.height - _MARGIN - 10 * _MM - 4.6 * _MM * len(self.lines) - 23 * _MM

    def draw(self, canvas, page, footer, first):
        """One page."""
        self._heading(canvas, first)
        top = self._table_top(first)
        self._columns(canvas, top)
        top -= _HEAD
        for entry in page:
            if isinstance(entry, str):
                self._band(canvas, top, entry)
                top -= _BAND
            else:
                self._row(canvas, top, entry)
                top -= _ROW
        canvas.setStrokeColor(_INK)
        canvas.setLineWidth(1)
        canvas.line(self.left, top, self.right, top)
        if any(isinstance(entry, SheetRow) and entry.reference for entry in page):
            words = "ref: the starter build again, to see whether the fan drifts."
            _text(canvas, (self.left, _MARGIN - 3 * _MM), words, 8)
        _text(canvas, (self.right, _MARGIN - 3 * _MM), footer, 8, align="right")

    def _heading(self, canvas, first):
        top = self.height - _MARGIN
        _text(canvas, (self.left, top - 5.5 * _MM), self.title, 18 if first else 11, bold=True, ink=_INK)
        if not first:
            return
        top -= 10 * _MM
        for line in self.lines:
            _text(canvas, (self.left, top - 2 * _MM), line, 9.5)
            top -= 4.6 * _MM
        top -= 2 * _MM
        blanks = ("team", "date", "place and fan setting", "meter and range")
        width = (self.right - self.left - 3 * 5 * _MM) / len(blanks)
        for place, blank in enumerate(blanks):
            x = self.left + place * (width + 5 * _MM)
            _text(canvas, (x, top - 6 * _MM), blank, 8)
            canvas.setStrokeColor(_SOFT)
            canvas.setLineWidth(0.6)
            after = canvas.stringWidth(blank, "Helvetica", 8) + 2 * _MM
            canvas.line(x + after, top - 6.6 * _MM, x + width, top - 6.6 * _MM)
        self._caution(canvas, top - 10.5 * _MM)

    def _caution(self, canvas, top):
        """Sign and sentence where the risk is."""
        height = 6.6 * _MM
        canvas.setFillColor("#F6E3B8")
        canvas.roundRect(self.left, top - height, self.right - self.left, height, 1.5 * _MM, stroke=0, fill=1)
        x, middle = self.left + 5 * _MM, top - height / 2
        sign = canvas.beginPath()
        sign.moveTo(x - 2.3 * _MM, middle - 1.9 * _MM)
        sign.lineTo(x + 2.3 * _MM, middle - 1.9 * _MM)
        sign.lineTo(x, middle + 2.1 * _MM)
        sign.close()
        canvas.setFillColor(_INK)
        canvas.drawPath(sign, stroke=0, fill=1)
        _text(canvas, (x, middle - 1.5 * _MM), "!", 8, bold=True, ink="#F6E3B8", align="centre")
        _text(canvas, (x + 5 * _MM, middle - 1.1 * _MM), CAUTION, 9.2, bold=True, ink=_INK)

    def _columns(self, canvas, top):
        canvas.setFillColor(_INK)
        canvas.rect(self.left, top - _HEAD, self.right - self.left, _HEAD, stroke=0, fill=1)
        names = [("done", ""), ("run", ""), *((name, "set") for name in self.factors), *BOXES]
        for (name, unit), left, right in zip(names, self.edges, self.edges[1:], strict=False):
            middle = (left + right) / 2
            up = top - (4.6 if unit else 6.4) * _MM
            size = _fitting(name, right - left - 2 * _MM, 9.5, bold=True)
            _text(canvas, (middle, up), name, size, bold=True, ink=_PAPER, align="centre")
            _text(canvas, (middle, top - 8.6 * _MM), unit, 7.5, ink=_GRID, align="centre")

    def _band(self, canvas, top, words):
        canvas.setFillColor("#E9E1D1")
        canvas.rect(self.left, top - _BAND, self.right - self.left, _BAND, stroke=0, fill=1)
        _text(canvas, (self.left + 3 * _MM, top - 4.4 * _MM), words, 9.5, bold=True, ink=_INK)

    def _row(self, canvas, top, row):
        bottom = top - _ROW
        if row.reference:
            canvas.setFillColor("#DDEFF9")
            canvas.rect(self.left, bottom, self.right - self.left, _ROW, stroke=0, fill=1)
            canvas.setFillColor(_BLUE)
            canvas.rect(self.left, bottom, 1.2 * _MM, _ROW, stroke=0, fill=1)
            _text(canvas, (self.edges[1] + 1.5 * _MM, bottom + 3.1 * _MM), "ref", 7.5)
        canvas.setStrokeColor(_GRID)
        canvas.setLineWidth(0.6)
        canvas.line(self.left, bottom, self.right, bottom)
        for edge in self.edges[2:-1]:
            canvas.line(edge, top, edge, bottom)
        canvas.setStrokeColor(_INK)
        canvas.setLineWidth(0.9)
        box = 4.4 * _MM
        canvas.setFillColor("#FFFFFF")
        middle = (self.edges[0] + self.edges[1]) / 2
        canvas.roundRect(middle - box / 2, bottom + (_ROW - box) / 2, box, box, 0.7 * _MM, stroke=1, fill=1)
        base = bottom + 3.1 * _MM
        _text(canvas, (self.edges[2] - 3 * _MM, base), str(row.number), 11, bold=True, ink=_INK, align="right")
        for place, setting in enumerate(row.settings):
            left, right = self.edges[2 + place : 4 + place]
            size = _fitting(setting, right - left - 3 * _MM, 11)
            words = _cut(setting, right - left - 3 * _MM, size)
            _text(canvas, ((left + right) / 2, base), words, size, ink=_INK, align="centre")


def _text(canvas, place, words, size, *, bold=False, ink=_SOFT, align="left"):
    canvas.setFillColor(ink)
    canvas.setFont("Helvetica-Bold" if bold else "Helvetica", size)
    draw = {"left": canvas.drawString, "right": canvas.drawRightString, "centre": canvas.drawCentredString}[align]
    draw(*place, words)


def _width(words, size, bold=False):
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return stringWidth(words, "Helvetica-Bold" if bold else "Helvetica", size)


def _fitting(words, room, size, bold=False):
    """The size, or one small enough for the words; never below 6 points."""
    return max(6.0, min(size, size * room / max(_width(words, size, bold), 1e-9)))


def _cut(words, room, size):
    while _width(words, size) > room + 0.01 and len(words) > 1:
        words = words[:-2] + "…"
    return words


def _wrapped(words, room, size):
    from reportlab.lib.utils import simpleSplit

    return simpleSplit(words, "Helvetica", size, room)
