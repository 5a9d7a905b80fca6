"""What printed pages share: papers, inks, words that fit, boxes to tick, the sign of a caution, and the file itself."""

import io
from pathlib import Path

from whirlbench.errors import InputError, UnknownKey, nearest
from whirlbench.make.letters import SHARE, face, spelt

PAPERS = ("A4", "letter")
INK, SOFT, GRID, PAPER, BLUE, DEEP, AMBER, SAND = (
    "#14110D",
    "#5C5347",
    "#CFC5B2",
    "#FBF7EE",
    "#56B4E9",
    "#0040C0",
    "#F6E3B8",
    "#E9E1D1",
)
MM = 72 / 25.4
MARGIN = 12 * MM
_SMALLEST = 6.0  # points


def size_of(paper, *, on_its_side=False):
    """Width and height of a paper.

    Parameters
    ----------
    paper : str
        ``A4`` or ``letter``.
    on_its_side : bool
        Wider than high.

    Returns
    -------
    tuple of float
        Points.

    Raises
    ------
    UnknownKey
        Another paper.
    """
    from reportlab.lib import pagesizes

    if paper not in PAPERS:
        raise UnknownKey("paper", f"'{paper}'", "a known paper", try_=nearest(paper, PAPERS))
    size = pagesizes.A4 if paper == "A4" else pagesizes.LETTER
    return pagesizes.landscape(size) if on_its_side else size


def write(path, pages, *, size, title, what, true_size=False):
    """Write pages as PDF and return where they went.

    Parameters
    ----------
    path : path
        File to write, ending in .pdf.
    pages : sequence of callable
        Each draws one page on the canvas it is given.
    size : tuple of float
        Of every page, points.
    title : str
        Title of the document.
    what : str
        Name of the file for the errors.
    true_size : bool
        Ask viewers not to scale when they print.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another ending, or a place that cannot be written.
    """
    from reportlab.pdfgen.canvas import Canvas

    path, content = checked(path, what), io.BytesIO()
    canvas = Canvas(content, pagesize=size, invariant=1, initialFontName=face())
    canvas.setTitle(title)
    if true_size:
        canvas.setViewerPreference("PrintScaling", "None")
    for draw in pages:
        draw(canvas)
        canvas.showPage()
    canvas.save()
    try:
        path.write_bytes(content.getvalue())
    except OSError as error:
        got = f"'{path}' ({(error.strerror or 'no reason').lower()})"
        raise InputError(what, got, "a place that can be written", try_="make the folder first") from error
    return path


def checked(path, what):
    """Path of a PDF.

    Parameters
    ----------
    path : path
        File to write.
    what : str
        Name of the file for the errors.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        An ending that is not .pdf.
    """
    path = Path(path)
    if path.suffix.lower() != ".pdf":
        raise InputError(what, f"'{path.name}'", "an ending .pdf", try_="name it sheet.pdf")
    return path


def text(canvas, place, words, size, *, bold=False, ink=SOFT, align="left"):
    """Draw words on one line.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    place : tuple of float
        Left, middle or right of the base line, points.
    words : str
        What to write.
    size : float
        Points.
    bold : bool
        Heavy letters.
    ink : str
        ``#RRGGBB``.
    align : str
        ``left``, ``centre`` or ``right``.
    """
    canvas.setFillColor(ink)
    canvas.setFont(face(bold), SHARE * size)
    draw = {"left": canvas.drawString, "right": canvas.drawRightString, "centre": canvas.drawCentredString}[align]
    draw(*place, spelt(words))


def width(words, size, bold=False):
    """Width of words in points.

    Parameters
    ----------
    words : str
        The words.
    size : float
        Points.
    bold : bool
        Heavy letters.

    Returns
    -------
    float
        Points.
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return stringWidth(spelt(words), face(bold), SHARE * size)


def fitting(words, room, size, bold=False):
    """Size of letters, or one small enough for the words.

    Parameters
    ----------
    words : str
        The words.
    room : float
        Points.
    size : float
        Wanted size, points.
    bold : bool
        Heavy letters.

    Returns
    -------
    float
        Never below 6 points.
    """
    return max(_SMALLEST, min(size, size * room / max(width(words, size, bold), 1e-9)))


def cut(words, room, size):
    """Words cut to a room, with an ellipsis where something is missing.

    Parameters
    ----------
    words : str
        The words.
    room : float
        Points.
    size : float
        Of the letters, points.

    Returns
    -------
    str
        One letter at least.
    """
    while width(words, size) > room + 0.01 and len(words) > 1:
        words = words[:-2] + "…"
    return words


def wrapped(words, room, size, *, bold=False):
    """Words in lines that fit.

    Parameters
    ----------
    words : str
        The words.
    room : float
        Points.
    size : float
        Of the letters, points.
    bold : bool
        Heavy letters.

    Returns
    -------
    list of str
        Lines.
    """
    from reportlab.lib.utils import simpleSplit

    return simpleSplit(spelt(words), face(bold), SHARE * size, room)


def tick_box(canvas, middle, bottom, *, side=4.4 * MM):
    """Draw a box to tick.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    middle, bottom : float
        Of the box, points.
    side : float
        Points.
    """
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.9)
    canvas.setFillColor("#FFFFFF")
    canvas.roundRect(middle - side / 2, bottom, side, side, 0.7 * MM, stroke=1, fill=1)


def caution(canvas, corner, lines, *, wide, size=9.2, step=4.6):
    """Draw sentences about a risk on an amber ground behind a sign.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    corner : tuple of float
        Top left, points.
    lines : sequence of str
        Lines that fit into the width less 12 mm.
    wide : float
        Width, points.
    size : float
        Of the letters, points.
    step : float
        From line to line [mm].

    Returns
    -------
    float
        Height that it took, points.
    """
    left, top = corner
    height = caution_height(len(lines), step=step)
    canvas.setFillColor(AMBER)
    canvas.roundRect(left, top - height, wide, height, 1.5 * MM, stroke=0, fill=1)
    x, middle = left + 5 * MM, top - 3.3 * MM
    sign = canvas.beginPath()
    sign.moveTo(x - 2.3 * MM, middle - 1.9 * MM)
    sign.lineTo(x + 2.3 * MM, middle - 1.9 * MM)
    sign.lineTo(x, middle + 2.1 * MM)
    sign.close()
    canvas.setFillColor(INK)
    canvas.drawPath(sign, stroke=0, fill=1)
    text(canvas, (x, middle - 1.5 * MM), "!", 8, bold=True, ink=AMBER, align="centre")
    for number, line in enumerate(lines):
        place = (x + 5 * MM, middle - 1.1 * MM - number * step * MM)
        text(canvas, place, line, size, bold=True, ink=INK)
    return height


def caution_height(count, *, step=4.6):
    """Height of a caution of some lines.

    Parameters
    ----------
    count : int
        Lines.
    step : float
        From line to line [mm].

    Returns
    -------
    float
        Points.
    """
    return (6.6 + step * (count - 1)) * MM
