"""Blocks that stand below each other on printed pages: sentences, cautions, rows, drawings true to size, boxes."""

from whirlbench.make import page
from whirlbench.make.page import MM
from whirlbench.make.true_size import ink

SIZE, STEP = 9.0, 4.4  # points and [mm] of words
_AFTER = 1.2  # [mm] below a block
_NAME = 44.0  # [mm] of the left column of rows
_BOX = (9.0, 7.0)  # [mm] of a box to tick with its number


def flow(blocks, room):
    """Blocks of each page.

    Parameters
    ----------
    blocks : sequence of (float, callable)
        Height [mm], and what draws the block from its upper left corner in points.
    room : float
        Height of a page [mm].

    Returns
    -------
    list of callable
        Each draws one page from its upper left corner in points.
    """
    pages, left = [[]], room
    for block in blocks:
        if left < block[0] and pages[-1]:
            pages.append([])
            left = room
        pages[-1].append(block)
        left -= block[0]
    return [_drawer(each) for each in pages]


def _drawer(blocks):
    def draw(canvas, corner):
        left, top = corner
        for high, put in blocks:
            put(canvas, (left, top))
            top -= high * MM

    return draw


def sentence(words, wide, *, size=SIZE, step=STEP, indent=0.0):
    """Block of a sentence in as many lines as it takes.

    Parameters
    ----------
    words : str
        The sentence.
    wide : float
        Room with its indent [mm].
    size : float
        Points.
    step : float
        From line to line [mm].
    indent : float
        From the left [mm].

    Returns
    -------
    tuple of float and callable
        Height [mm], and what draws it.
    """
    return lines(page.wrapped(words, (wide - indent) * MM, size), size=size, step=step, indent=indent)


def lines(words, *, size=SIZE, bold=False, step=STEP, indent=0.0):
    """Block of lines that fit.

    Parameters
    ----------
    words : sequence of str
        The lines.
    size : float
        Points.
    bold : bool
        Heavy letters.
    step : float
        From line to line [mm].
    indent : float
        From the left [mm].

    Returns
    -------
    tuple of float and callable
        Height [mm], and what draws it.
    """

    def put(canvas, corner):
        for i, line in enumerate(words):
            place = corner[0] + indent * MM, corner[1] - (0.75 + i) * step * MM
            page.text(canvas, place, line, size, bold=bold, ink=page.INK if bold else page.SOFT)

    return len(words) * step + _AFTER, put


def caution(words, wide):
    """Block of a caution.

    Parameters
    ----------
    words : str
        The sentence.
    wide : float
        Room [mm].

    Returns
    -------
    tuple of float and callable
        Height [mm], and what draws it.
    """
    told = page.wrapped(words, (wide - 13.0) * MM, 9.2, bold=True)

    def put(canvas, corner):
        page.caution(canvas, corner, told, wide=wide * MM)

    return page.caution_height(len(told)) / MM + 2.0, put


def row(name, words, wide, *, column=_NAME):
    """Block of a name and what is said of it, a thin line below.

    Parameters
    ----------
    name, words : str
        Left and right column.
    wide : float
        Room [mm].
    column : float
        Width of the left column [mm].

    Returns
    -------
    tuple of float and callable
        Height [mm], and what draws it.
    """
    named = lines(page.wrapped(name, (column - 3.0) * MM, SIZE, bold=True), bold=True)
    said = sentence(words, wide, indent=column)
    high = max(named[0], said[0])

    def put(canvas, corner):
        named[1](canvas, corner)
        said[1](canvas, corner)
        rule = corner[1] - (high - 0.4) * MM
        canvas.setStrokeColor(page.GRID)
        canvas.setLineWidth(0.5)
        canvas.setDash([])
        canvas.line(corner[0], rule, corner[0] + wide * MM, rule)

    return high, put


def drawn(drawing):
    """Block of a drawing true to size.

    Parameters
    ----------
    drawing : Drawing
        What to draw.

    Returns
    -------
    tuple of float and callable
        Height [mm], and what draws it.
    """
    left, low, _, high = drawing.bounds
    high = max([high, *(text.y + text.height for text in drawing.texts)])  # words may stand above the lines

    def put(canvas, corner):
        place = corner[0] + 2.0 * MM, corner[1] - (2.0 + high - low) * MM
        ink(canvas, drawing, place, (left, low))

    return high - low + 5.0, put


def ticks(numbers, wide):
    """Blocks of boxes to tick, a number in words under each; one block a row.

    Parameters
    ----------
    numbers : sequence of str
        Short words.
    wide : float
        Room [mm].

    Returns
    -------
    list of tuple of float and callable
        Height [mm], and what draws it.
    """
    count = max(1, int(wide / _BOX[0]))
    return [_tick_row(numbers[i : i + count]) for i in range(0, len(numbers), count)]


def _tick_row(numbers):
    def put(canvas, corner):
        for i, number in enumerate(numbers):
            middle = corner[0] + (i + 0.5) * _BOX[0] * MM
            page.tick_box(canvas, middle, corner[1] - 4.5 * MM, side=4.0 * MM)
            page.text(canvas, (middle, corner[1] - 7.4 * MM), number, 6.5, align="centre")

    return _BOX[1] + 2.0, put
