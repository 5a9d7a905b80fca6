"""The guided sheet of a bench test to print: what to mind, steps to tick, what to write once, a table to fill in."""

from functools import partial

from whirlbench.make import page
from whirlbench.make.page import MARGIN, MM

_TEXT, _SMALL, _LINE = 9.5, 8.0, 4.6 * MM
_ROW, _HEAD, _TICK, _BOX = 8 * MM, 10 * MM, 11 * MM, 4.4 * MM
_GAP, _STEP_BOX = 2.4 * MM, 3.6 * MM
_FACT, _FACTS_A_ROW = 12 * MM, 3


def trial_sheet(path, sheet, *, paper="A4"):
    """Write the sheet of a bench test as PDF and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .pdf.
    sheet : dict
        ``name``, ``title``, ``tells``, ``effort_min``, ``needs``, ``steps``, ``cautions``, ``formula``, ``facts`` (each
        with ``name``, ``unit``, ``value``, ``hint``), ``columns`` and ``rows``.
    paper : str
        ``A4`` or ``letter``, upright.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another ending, unknown paper, or a place that cannot be written.
    """
    size = page.size_of(paper)
    flow = _Flow(size, sheet["title"])
    wide = size[0] - 2 * MARGIN
    flow.add(*_heading(sheet, wide))
    flow.add(*_blanks(wide))
    for words in sheet["cautions"]:
        flow.add(*_caution(words, wide))
    flow.add(*_headed("You need", wide))
    for words in sheet["needs"]:
        flow.add(*_entry(words, wide, box=False))
    flow.add(*_headed("Do", wide))
    for number, words in enumerate(sheet["steps"], start=1):
        flow.add(*_entry(f"{number}. {words}", wide, box=True))
    if sheet["facts"]:
        flow.add(*_headed("Write once", wide))
        for first in range(0, len(sheet["facts"]), _FACTS_A_ROW):
            flow.add(*_facts(sheet["facts"][first : first + _FACTS_A_ROW], wide))
    _add_table(flow, sheet, wide)
    flow.add(*_formula(sheet, wide))
    return page.write(path, flow.pages(), size=size, title=sheet["title"], what="sheet")


class _Flow:
    """Blocks one below the other, on as many pages as they take."""

    def __init__(self, size, title):
        self.width, self.height = size
        self.title, self.placed, self.top = title, [[]], self.height - MARGIN

    def add(self, height, draw, again=None):
        """Place a block; ``again`` is placed first where it opens a new page."""
        if self.top - height < MARGIN + 3 * MM:
            self.placed.append([])
            self.top = self.height - MARGIN - 9 * MM
            if again:
                self.add(*again)
        self.placed[-1].append((self.top, draw))
        self.top -= height

    def pages(self):
        return [partial(self._page, number=number) for number in range(len(self.placed))]

    def _page(self, canvas, number):
        if number:
            place = (MARGIN, self.height - MARGIN - 5 * MM)
            page.text(canvas, place, self.title, 11, bold=True, ink=page.INK)
        for top, draw in self.placed[number]:
            draw(canvas, top)
        words = f"page {number + 1} of {len(self.placed)}"
        page.text(canvas, (self.width - MARGIN, MARGIN - 3 * MM), words, _SMALL, align="right")


def _heading(sheet, wide):
    size = page.fitting(sheet["title"], wide, 18, bold=True)
    tells = page.wrapped(f"Tells {sheet['tells']}. Takes about {sheet['effort_min']} min.", wide, _TEXT)

    def draw(canvas, top):
        page.text(canvas, (MARGIN, top - 5.5 * MM), sheet["title"], size, bold=True, ink=page.INK)
        _lines(canvas, (MARGIN, top - 12 * MM), tells)

    return 11 * MM + _LINE * len(tells), draw


def _lines(canvas, place, lines, size=_TEXT):
    for number, line in enumerate(lines):
        page.text(canvas, (place[0], place[1] - number * _LINE), line, size, ink=page.INK)


def _blanks(wide):
    names = ("team", "part", "date", "who")

    def draw(canvas, top):
        each = (wide - (len(names) - 1) * 5 * MM) / len(names)
        for place, name in enumerate(names):
            x = MARGIN + place * (each + 5 * MM)
            page.text(canvas, (x, top - 7 * MM), name, _SMALL)
            canvas.setStrokeColor(page.SOFT)
            canvas.setLineWidth(0.6)
            canvas.line(x + page.width(name, _SMALL) + 2 * MM, top - 7.6 * MM, x + each, top - 7.6 * MM)

    return 11 * MM, draw


def _caution(words, wide):
    lines = page.wrapped(words, wide - 14 * MM, 9, bold=True)
    height = page.caution_height(len(lines))
    return height + 1.2 * MM, lambda canvas, top: page.caution(canvas, (MARGIN, top), lines, wide=wide, size=9)


def _headed(words, wide):
    def draw(canvas, top):
        page.text(canvas, (MARGIN, top - 6 * MM), words, 11, bold=True, ink=page.INK)

    return 8.2 * MM, draw


def _entry(words, wide, *, box):
    indent = 7 * MM if box else 4 * MM
    lines = page.wrapped(words, wide - indent, _TEXT)

    def draw(canvas, top):
        if box:
            page.tick_box(canvas, MARGIN + _STEP_BOX / 2, top - 3.9 * MM, side=_STEP_BOX)
        else:
            canvas.setFillColor(page.INK)
            canvas.circle(MARGIN + 1.3 * MM, top - 2.3 * MM, 0.6 * MM, stroke=0, fill=1)
        _lines(canvas, (MARGIN + indent, top - 3.4 * MM), lines)

    return _LINE * len(lines) + (0.8 * MM if box else 0.0), draw


def _facts(facts, wide):
    each = (wide - (_FACTS_A_ROW - 1) * 4 * MM) / _FACTS_A_ROW

    def draw(canvas, top):
        for place, fact in enumerate(facts):
            left = MARGIN + place * (each + 4 * MM)
            canvas.setStrokeColor(page.INK)
            canvas.setLineWidth(0.7)
            canvas.setFillColor("#FFFFFF")
            canvas.rect(left, top - 7.5 * MM, each, 7 * MM, stroke=1, fill=1)
            page.text(canvas, (left + 1.5 * MM, top - 4.8 * MM), fact["name"], _TEXT, bold=True, ink=page.INK)
            right = (left + each - 1.5 * MM, top - 4.8 * MM)
            page.text(canvas, right, fact["value"] or fact["unit"], _TEXT, align="right")
            size = page.fitting(fact["hint"], each, 7.5)
            page.text(canvas, (left, top - 10.6 * MM), page.cut(fact["hint"], each, size), size)

    return _FACT + 0.5 * MM, draw


def _add_table(flow, sheet, wide):
    names = [name.partition(" [") for name in sheet["columns"]]
    each = (wide - _TICK) / len(names)
    edges = [MARGIN, *(MARGIN + _TICK + place * each for place in range(len(names) + 1))]
    head = (_HEAD, partial(_table_head, edges=edges, names=[("done", "", ""), *names]))
    flow.add(*_space())
    if flow.top - head[0] - 2 * _ROW < MARGIN + 3 * MM:  # a head stays with its first rows
        flow.top = 0.0
    flow.add(*head)
    for row in sheet["rows"]:
        flow.add(_ROW, partial(_table_row, edges=edges, cells=["", *row]), again=head)


def _space():
    return _GAP, lambda canvas, top: None


def _table_head(canvas, top, edges, names):
    canvas.setFillColor(page.INK)
    canvas.rect(edges[0], top - _HEAD, edges[-1] - edges[0], _HEAD, stroke=0, fill=1)
    for (name, _, unit), left, right in zip(names, edges, edges[1:], strict=False):
        middle, unit = (left + right) / 2, unit.rstrip("]")
        size = page.fitting(name, right - left - 2 * MM, _TEXT, bold=True)
        up = top - (4.4 if unit else 6.0) * MM
        page.text(canvas, (middle, up), name, size, bold=True, ink=page.PAPER, align="centre")
        page.text(canvas, (middle, top - 8.2 * MM), unit, 7.5, ink=page.GRID, align="centre")


def _table_row(canvas, top, edges, cells):
    bottom = top - _ROW
    canvas.setStrokeColor(page.GRID)
    canvas.setLineWidth(0.6)
    canvas.line(edges[0], bottom, edges[-1], bottom)
    for edge in edges:
        canvas.line(edge, top, edge, bottom)
    page.tick_box(canvas, (edges[0] + edges[1]) / 2, bottom + (_ROW - _BOX) / 2, side=_BOX)
    for cell, left, right in zip(cells, edges, edges[1:], strict=False):
        page.text(canvas, ((left + right) / 2, bottom + 2.7 * MM), cell, 11, ink=page.INK, align="centre")


def _formula(sheet, wide):
    words = f"How the answer is worked out: {sheet['formula']}"
    last = (
        f"Type it in and read it: whirlbench trial read {sheet['name']} READINGS.csv --turbine TURBINE --out NEW.toml"
    )
    lines = [*page.wrapped(words, wide, 9), *page.wrapped(last, wide, 9)]
    return _LINE * len(lines) + 4 * MM, lambda canvas, top: _lines(canvas, (MARGIN, top - 6 * MM), lines, 9)
