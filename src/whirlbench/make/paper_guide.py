"""First pages of a set of paper sheets: cautions, how to print and join, and which sheet shows what."""

from whirlbench.make import page
from whirlbench.make.drawing import CUT, ENGRAVE, MARK
from whirlbench.make.page import MM
from whirlbench.make.true_size import ink, pen

HOW = (
    "Print at 100 % ('actual size', never 'fit'). Measure the rulers on every sheet: one that is not true is waste.",
    "Large drawings: cut each sheet along its dotted line, lay its crosses on the crosses with the same number, "
    "hold it to a window or a lamp to see both, then tape.",
    "Glue the paper to card or spray it to the material, cut outside the line, then file to the line.",
)
_PENS = ((CUT, "cut"), (ENGRAVE, "engrave or scratch lightly"), (MARK, "mark with a pen, fold or only read"))
_MAP = (54.0, 34.0)  # [mm] most width and height of the little plan of a large drawing
_SIZE, _STEP = 9.0, 4.4  # points and [mm] of words


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
    blocks = [_words([title], size=16, bold=True, step=8.0), *(_caution(each, wide) for each in cautions)]
    blocks += [_words(page.wrapped(each, wide * MM, _SIZE)) for each in HOW]
    blocks += [_legend(), _words(["Sheets"], size=12, bold=True, step=6.0)]
    if notes:
        blocks.insert(-1, _words(["For several parts"], size=12, bold=True, step=6.0))
        blocks[-1:-1] = [_words(page.wrapped(each, wide * MM, _SIZE)) for each in notes]
    blocks += [block for entry in _entries(sheets) for block in _entry(entry, wide)]
    pages, left = [[]], room[1]
    for block in blocks:
        if left < block[0] and pages[-1]:
            pages.append([])
            left = room[1]
        pages[-1].append(block)
        left -= block[0]
    return [_drawer(page_blocks) for page_blocks in pages]


def _drawer(blocks):
    def draw(canvas, corner):
        left, top = corner
        for high, put in blocks:
            put(canvas, (left, top))
            top -= high * MM

    return draw


def _words(lines, *, size=_SIZE, bold=False, step=_STEP, indent=0.0):
    """Block of lines: its height [mm] and what draws it."""

    def put(canvas, corner):
        for i, line in enumerate(lines):
            place = corner[0] + indent * MM, corner[1] - (0.75 * step + i * step) * MM
            page.text(canvas, place, line, size, bold=bold, ink=page.INK if bold else page.SOFT)

    return len(lines) * step + 1.2, put


def _caution(words, wide):
    lines = page.wrapped(words, (wide - 13.0) * MM, 9.2, bold=True)
    return page.caution_height(len(lines)) / MM + 2.0, lambda canvas, corner: page.caution(
        canvas, corner, lines, wide=wide * MM
    )


def _legend():
    def put(canvas, corner):
        for i, (layer, words) in enumerate(_PENS):
            x, y = corner[0] + i * 58 * MM, corner[1] - 4 * MM
            pen(canvas, layer, scale=MM)
            canvas.line(x, y, x + 12 * MM, y)
            canvas.setDash([])
            page.text(canvas, (x + 14 * MM, y - 1 * MM), words, _SIZE)

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
    if sheet.tiling is None:
        told = page.wrapped(",  ".join(each.label[0] for each in sheet.placed), (wide - 18) * MM, _SIZE)
        yield _numbered(head, told, bold=False)
        return
    yield _numbered(head, sheet.placed[0].label[:1], bold=True)
    drawing = sheet.placed[0].drawing
    high, put = _map(sheet.tiling, drawing, numbers)
    lines = [piece for note in drawing.notes for piece in page.wrapped(note, (wide - 24 - _MAP[0]) * MM, 8)]
    low, write = _words(lines, size=8, step=3.8, indent=20.0 + _MAP[0])

    def both(canvas, corner):
        put(canvas, (corner[0] + 18 * MM, corner[1]))
        write(canvas, corner)

    yield max(high, low) + 2.0, both


def _numbered(head, lines, *, bold):
    high, put = _words(lines, bold=bold, indent=18.0)

    def both(canvas, corner):
        page.text(canvas, (corner[0], corner[1] - 0.75 * _STEP * MM), head, _SIZE, bold=True, ink=page.INK)
        put(canvas, corner)

    return high, both


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
            canvas.setStrokeColor(page.GRID)
            canvas.setLineWidth(0.6 / scale)
            span = [lines[i + 1] - lines[i] for lines, i in ((tiling.across, tile.column), (tiling.up, tile.row))]
            canvas.rect(x, y, span[0] * MM, span[1] * MM, stroke=1, fill=0)
            page.text(canvas, (x + 2 / scale, y + 2 / scale), str(number), 7 / scale, bold=True, ink=page.INK)
        ink(canvas, drawing, (0, 0), (left, low))
        canvas.restoreState()

    return scale * high + 1.0, put
