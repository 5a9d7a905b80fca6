"""Paper sheets true to size: drawings on A4 or Letter, large ones over several sheets that are taped together."""

from collections import Counter
from dataclasses import dataclass
from functools import partial

from whirlbench.errors import InputError, OutOfRange
from whirlbench.make import page
from whirlbench.make.drawing import Drawing
from whirlbench.make.page import MM
from whirlbench.make.paper_guide import guide_pages
from whirlbench.make.sheet_frame import HEAD, frame, heading, one_line, window
from whirlbench.make.tiling import Tile, Tiling, fits, shelves, tiling
from whirlbench.make.true_size import ink, neighbours, registration

_LABEL = 62.0  # [mm] least width of the words below a drawing
_LINE, _SIZE, _BELOW = 3.0, 7.0, 2.0  # [mm] and points of those words, [mm] below the drawing
_OFTEN = 3  # drawings that share a note before it moves to the first page


@dataclass(frozen=True)
class Placed:
    """A drawing on a sheet.

    Attributes
    ----------
    drawing : Drawing
        The drawing.
    x, y : float
        Its lower left corner in the window [mm].
    label : tuple of str
        Lines below it: name, how many, notes.
    """

    drawing: Drawing
    x: float
    y: float
    label: tuple = ()


@dataclass(frozen=True)
class PaperSheet:
    """One sheet to print.

    Attributes
    ----------
    on_its_side : bool
        Wider than high.
    placed : tuple of Placed
        Whole drawings, or the one that a tile shows a part of.
    tile : Tile or None
        What the sheet shows of one large drawing.
    tiling : Tiling or None
        All sheets of that drawing.
    """

    on_its_side: bool
    placed: tuple
    tile: Tile | None = None
    tiling: Tiling | None = None

    @property
    def names(self):
        """Names of the drawings on it."""
        return tuple(each.drawing.name for each in self.placed)


def paper_sheets(path, drawings, *, paper="A4", title, cautions=(), counts=None):
    """Write drawings true to size as PDF and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .pdf.
    drawings : sequence of Drawing
        In the order in which they are printed; small ones share sheets.
    paper : str
        ``A4`` or ``letter``.
    title : str
        Of the document, one line.
    cautions : sequence of str
        Risks of cutting and making; in full on the first page, in short beside the rulers of every sheet.
    counts : dict of str to int, optional
        How often to make each drawing, by its name; 1 where nothing is said.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        No drawings, an empty or far too large one, a title that is no line, another ending, or a place that cannot be
        written.
    UnknownKey
        Another paper.

    Notes
    -----
    Same drawings, same bytes. Viewers are asked not to scale, but only the rulers tell whether the printer kept to it.
    """
    page.checked(path, "paper sheets")
    title = one_line("title", title)
    cautions = tuple(one_line("caution", each, longest=400) for each in cautions)
    sheets = plan_sheets(drawings, paper=paper, counts=counts)
    guide = guide_pages(sheets, said=(title, cautions), notes=shared_notes(drawings), room=window(paper))
    pages = [partial(_guide, paper=paper, said=(title, cautions), draw=draw) for draw in guide]
    pages += [partial(_sheet, paper=paper, said=(title, cautions), sheets=sheets, number=i) for i in range(len(sheets))]
    return page.write(path, pages, size=page.size_of(paper), title=title, what="paper sheets", true_size=True)


def plan_sheets(drawings, *, paper="A4", counts=None):
    """Which sheet shows what.

    Parameters
    ----------
    drawings : sequence of Drawing
        In the order in which they are printed.
    paper : str
        ``A4`` or ``letter``.
    counts : dict of str to int, optional
        How often to make each drawing, by its name.

    Returns
    -------
    tuple of PaperSheet
        Whole drawings on sheets upright where they fit, else on their side; larger ones in tiles, the long axis along
        the paper's long side unless the other way takes fewer sheets.

    Raises
    ------
    InputError
        No drawings, or an empty or far too large one.
    UnknownKey
        Another paper.
    """
    page.size_of(paper)
    if not drawings:
        raise InputError("paper sheets", "no drawings", "one or more", try_="choose what to make first")
    told = shared_notes(drawings)
    cells = [_cell(_drawn(each), window(paper), counts, told) for each in drawings]
    sheets = []
    for on_its_side in (False, True):
        rest = [cell for cell in cells if not fits(cell.size, window(paper, on_its_side))]
        sheets += _shared([cell for cell in cells if cell not in rest], paper, on_its_side)
        cells = rest
    sheets += [sheet for cell in cells for sheet in _tiled(cell, paper)]
    order = {each.name: -i for i, each in enumerate(drawings)}
    return tuple(sorted(sheets, key=lambda sheet: -max(order[name] for name in sheet.names)))


def shared_notes(drawings):
    """Notes that several drawings share, told once on the first page instead of below each.

    Parameters
    ----------
    drawings : sequence of Drawing
        All of the document.

    Returns
    -------
    tuple of str
        Those of three drawings or more.
    """
    counted = Counter(note for drawing in drawings for note in dict.fromkeys(drawing.notes))
    return tuple(note for note, count in counted.items() if count >= _OFTEN)


def _drawn(drawing):
    if not (drawing.outlines or drawing.circles or drawing.lines):
        raise InputError(drawing.name, "nothing to draw", "an outline, a circle or a line", try_="add a part to it")
    return drawing


def _count_of(name, counts):
    count = (counts or {}).get(name, 1)
    if not (isinstance(count, int) and 1 <= count <= 999):
        raise OutOfRange(f"count of {name}", str(count), "a whole number from 1 to 999", try_="count the pieces")
    return count


@dataclass(frozen=True)
class _Cell:
    """A drawing with the words below it."""

    drawing: Drawing
    label: tuple
    size: tuple


def _cell(drawing, room, counts, told):
    wide = max(drawing.size[0], min(_LABEL, room[0] - 8.0))
    count = _count_of(drawing.name, counts)
    alone = [note.removeprefix(f"{drawing.name}: ") for note in drawing.notes if note not in told]
    notes = (piece for note in alone for piece in page.wrapped(note, wide * MM, _SIZE))
    label = (drawing.name if count == 1 else f"{drawing.name}: make {count}", *notes)
    return _Cell(drawing, label, (wide, drawing.size[1] + _BELOW + _LINE * len(label)))


def _shared(cells, paper, on_its_side):
    def placed(number, x, y):
        cell = cells[number]
        return Placed(cell.drawing, x, y + cell.size[1] - cell.drawing.size[1], cell.label)

    found = shelves([cell.size for cell in cells], window(paper, on_its_side))
    return [PaperSheet(on_its_side, tuple(placed(*each) for each in sheet)) for sheet in found]


def _tiled(cell, paper):
    wide, high = cell.drawing.size
    spread = [(tiling(cell.drawing, window(paper, way)), way) for way in (wide > high, wide <= high)]
    chosen, on_its_side = min(spread, key=lambda each: len(each[0].tiles))  # the first of equals: long along long
    left, low, _, _ = cell.drawing.bounds
    return [
        PaperSheet(on_its_side, (Placed(cell.drawing, left - tile.left, low - tile.low, cell.label),), tile, chosen)
        for tile in chosen.tiles
    ]


def _guide(canvas, *, paper, said, draw):
    corner = frame(canvas, paper, cautions=said[1])
    draw(canvas, (corner[0], corner[1] + (window(paper)[1] + HEAD) * MM))


def _sheet(canvas, *, paper, said, sheets, number):
    sheet = sheets[number]
    corner = frame(canvas, paper, cautions=said[1], on_its_side=sheet.on_its_side)
    words = said[0] if sheet.tile is None else f"{sheet.names[0]}, piece {sheet.tile.name}  ·  {said[0]}"
    told = f"sheet {number + 1} of {len(sheets)}"
    heading(canvas, paper, words, number=told, on_its_side=sheet.on_its_side)
    if sheet.tile is not None:
        _piece(canvas, sheet, corner, sheets)
    else:
        for each in sheet.placed:
            _whole(canvas, each, (corner[0] + each.x * MM, corner[1] + each.y * MM))


def _whole(canvas, placed, corner):
    left, low, _, _ = placed.drawing.bounds
    ink(canvas, placed.drawing, corner, (left, low))
    for i, line in enumerate(placed.label, start=1):
        place = corner[0], corner[1] - (_BELOW - 0.4 + _LINE * i - 0.8) * MM
        page.text(canvas, place, line, _SIZE, bold=i == 1, ink=page.INK if i == 1 else page.SOFT)


def _piece(canvas, sheet, corner, sheets):
    """Part of a large drawing, clipped to the window, with what joins it to its neighbours."""
    placed, tile = sheet.placed[0], sheet.tile
    number = {each.tile: i for i, each in enumerate(sheets, start=1) if each.tiling is sheet.tiling}
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(*corner, *(each * MM for each in sheet.tiling.room))
    canvas.clipPath(clip, stroke=0, fill=0)
    ink(canvas, placed.drawing, corner, (tile.left, tile.low))
    canvas.restoreState()
    registration(canvas, sheet.tiling, tile, corner)
    neighbours(canvas, sheet.tiling, tile, corner, named=lambda other: f"sheet {number[other]} ({other.name})")
