"""First pages of a set of paper sheets: cautions, how to print and join, and which sheet shows what."""

from whirlbench.make import blocks, page
from whirlbench.make.drawing import CUT, ENGRAVE, MARK
from whirlbench.make.page import MM
from whirlbench.make.true_size import ink, pen

HOW = (
    "Print at 100 % ('actual size', never 'fit'). Measure the rulers on every sheet: one that is not true is waste.",
    "Large drawings: cut each sheet along the dotted lines at its right and its top, lay it on its neighbours so that "
    "crosses with the same number meet, then tape.",
    "Glue the paper to card or spray it to the material, cut outside the line, then file to the line.",
)
_PENS = ((CUT, "cut"), (ENGRAVE, "engrave or scratch lightly"), (MARK, "mark with a pen, fold or only read"))
_MAP = (54.0, 34.0)  # [mm] most width and height of the little plan of a large drawing
_NUMBERS = 18.0  # [mm] of the column of sheet numbers


def guide_pages(sheets, *, said, notes, room):
    """Drawers of the first pages.

    Parameters
    ----------
    sheets : sequence of PaperSheet
        In the order in which they are printed.
    said : tuple of (str, sequence of str)
        Title of the document, and cautions to tell in full.
    notes : sequence of str
        What holds for several drawings.
    room : tuple of float
        Width and height to fill [mm].

    Returns
    -------
    list of callable
        Each takes a canvas and the upper left corner in points and draws one page.
    """
    wide, (title, cautions) = room[0], said
    told = [blocks.lines(page.wrapped(title, wide * MM, 16, bold=True), size=16, bold=True, step=8.0)]
    told += [*(blocks.caution(each, wide) for each in cautions), *(blocks.sentence(each, wide) for each in HOW)]
    told.append(_legend())
    if notes:
        told += [_head("For several parts"), *(blocks.sentence(each, wide) for each in notes)]
    told += [_head("Sheets"), *(block for entry in _entries(sheets) for block in _entry(entry, wide))]
    return blocks.flow(told, room[1])


def _head(words):
    return blocks.lines([words], size=12, bold=True, step=6.0)


def _legend():
    def put(canvas, corner):
        for i, (layer, words) in enumerate(_PENS):
            x, y = corner[0] + i * 58 * MM, corner[1] - 4 * MM
            pen(canvas, layer, scale=MM)
            canvas.line(x, y, x + 12 * MM, y)
            canvas.setDash([])
            page.text(canvas, (x + 14 * MM, y - 1 * MM), words, blocks.SIZE)

    return 9.0, put


def _entries(sheets):
    """Sheets in runs that belong together: numbers and one sheet to tell of."""
    runs = []
    for number, sheet in enumerate(sheets, start=1):
        if runs and sheet.tiling is not None and runs[-1][1].tiling is sheet.tiling:
            runs[-1][0].append(number)
        else:
            runs.append(([number], sheet))
    return runs


def _entry(entry, wide):
    numbers, sheet = entry
    head = f"{numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else str(numbers[0])
    yield blocks.row(head, ",  ".join(each.label[0] for each in sheet.placed), wide, column=_NUMBERS)
    if sheet.tiling is not None:
        yield _described(sheet, numbers, wide)


def _described(sheet, numbers, wide):
    """Plan of a large drawing, its notes beside it."""
    aside = _NUMBERS + 4.0 + _MAP[0]
    notes = [piece for note in sheet.placed[0].label[1:] for piece in page.wrapped(note, (wide - aside) * MM, 8)]
    low, write = blocks.lines(notes, size=8, step=3.8, indent=aside)
    high, put = _map(sheet.tiling, sheet.placed[0].drawing, numbers)

    def both(canvas, corner):
        put(canvas, (corner[0] + _NUMBERS * MM, corner[1] - 1.5 * MM))
        write(canvas, corner)

    return max(high, low) + 3.0, both


def _map(tiling, drawing, numbers):
    """Little plan of a large drawing: which sheet lies where."""
    left, low = tiling.across[0], tiling.up[0]
    wide, high = tiling.across[-1] - left, tiling.up[-1] - low
    scale = min(_MAP[0] / wide, _MAP[1] / high)

    def put(canvas, corner):
        canvas.saveState()
        canvas.translate(corner[0], corner[1] - scale * high * MM)
        canvas.scale(scale, scale)
        for tile, number in zip(tiling.tiles, numbers, strict=True):
            x, y = ((tiling.across[tile.column] - left) * MM, (tiling.up[tile.row] - low) * MM)
            span = [line[i + 1] - line[i] for line, i in ((tiling.across, tile.column), (tiling.up, tile.row))]
            canvas.setStrokeColor(page.GRID)
            canvas.setLineWidth(0.6 / scale)
            canvas.rect(x, y, span[0] * MM, span[1] * MM, stroke=1, fill=0)
            page.text(canvas, (x + 2 / scale, y + 2 / scale), str(number), 7 / scale, bold=True, ink=page.INK)
        ink(canvas, drawing, (0, 0), (left, low))
        canvas.restoreState()

    return scale * high + 1.0, put
