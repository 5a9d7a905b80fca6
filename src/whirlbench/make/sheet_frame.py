"""The frame of every sheet that is true to size: its heading, the rulers, and what to mind beside them."""

from whirlbench.errors import InputError
from whirlbench.make import page
from whirlbench.make.page import MM
from whirlbench.make.true_size import FOOT, SIDE, rulers

MEASURE = "MEASURE BEFORE YOU CUT: 100 mm across and upwards, 4 in across. Not true? Print again at 100 %, never 'fit'."
EDGE, HEAD = 10.0, 10.0  # [mm] unprinted, and for the name of the sheet
_SIZE, _STEP, _MOST = 7.0, 2.9, 6  # points, [mm] and lines of what to mind
_ASIDE = 116.0  # [mm] that the rulers and their words take
_LONGEST = 80


def window(paper, on_its_side=False):
    """Width and height that a sheet shows inside its frame.

    Parameters
    ----------
    paper : str
        ``A4`` or ``letter``.
    on_its_side : bool
        Wider than high.

    Returns
    -------
    tuple of float
        [mm].

    Raises
    ------
    UnknownKey
        Another paper.
    """
    wide, high = page.size_of(paper, on_its_side=on_its_side)
    return wide / MM - 2 * EDGE - SIDE, high / MM - 2 * EDGE - HEAD - FOOT


def frame(canvas, paper, *, cautions=(), on_its_side=False):
    """Turn the page, draw rulers and what to mind, and return where the window begins.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    paper : str
        ``A4`` or ``letter``.
    cautions : sequence of str
        Told after the words about measuring as far as there is room.
    on_its_side : bool
        Wider than high.

    Returns
    -------
    tuple of float
        Lower left corner of the window, points.
    """
    size = page.size_of(paper, on_its_side=on_its_side)
    canvas.setPageSize(size)
    corner = EDGE * MM, (EDGE + FOOT) * MM
    rulers(canvas, corner, window(paper, on_its_side))
    left = (EDGE + _ASIDE) * MM
    wide = size[0] - EDGE * MM - left
    told = (piece for each in (MEASURE, *cautions) for piece in page.wrapped(each, wide - 11.5 * MM, _SIZE, bold=True))
    lines = list(told)
    if len(lines) > _MOST:
        lines = [*lines[: _MOST - 1], "More cautions: first page."]
    page.caution(canvas, (left, corner[1] - 1.5 * MM), lines, wide=wide, size=_SIZE, step=_STEP)
    return corner


def heading(canvas, paper, words, *, number, on_its_side=False):
    """Write the name of a sheet above its window.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    paper : str
        ``A4`` or ``letter``.
    words : str
        Cut where they are too long.
    number : str
        Such as ``sheet 2 of 5``.
    on_its_side : bool
        Wider than high.
    """
    wide, high = window(paper, on_its_side)
    left, top = EDGE * MM, (EDGE + FOOT + high + 3.5) * MM
    right = left + (wide + SIDE) * MM
    page.text(canvas, (right, top), number, 9, bold=True, ink=page.INK, align="right")
    room = right - left - page.width(number, 9, True) - 4 * MM
    page.text(canvas, (left, top), page.cut(words, 0.88 * room, 11), 11, bold=True, ink=page.INK)


def one_line(what, words, *, longest=_LONGEST):
    """Words that are one printable line.

    Parameters
    ----------
    what : str
        Name of the field, for the error.
    words : str
        The words.
    longest : int
        Letters.

    Returns
    -------
    str
        Without spaces around them.

    Raises
    ------
    InputError
        Nothing, a line break or another control character, or too many letters.
    """
    words = words.strip()
    if not words or not words.isprintable() or len(words) > longest:
        needs = f"one line of 1 to {longest} letters"
        raise InputError(what, repr(words[:40]), needs, try_="leave out line breaks and shorten it")
    return words
