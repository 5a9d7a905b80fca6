"""How drawings are spread over sheets of paper: whole ones side by side, large ones cut into tiles that overlap."""

import math
from dataclasses import dataclass
from itertools import product

import shapely

from whirlbench.errors import InputError
from whirlbench.make.drawing import CUT

OVERLAP = 10.0  # [mm] that two neighbouring tiles share
_CLEAR = 3.0  # [mm] around a drawing, so that no line lies on the edge of a sheet
_GAP = 6.0  # [mm] between two drawings on one sheet
_MOST_TILES = 60


@dataclass(frozen=True)
class Tile:
    """The part of a drawing that one sheet shows.

    Attributes
    ----------
    column, row : int
        From the left and from below, opening with 0.
    left, low : float
        Lower left corner of the window in the drawing [mm].
    """

    column: int
    row: int
    left: float
    low: float

    @property
    def name(self):
        """Letter of the row and number of the column, ``A1`` lower left."""
        letters = ""
        row = self.row
        while row >= 0:
            letters, row = chr(ord("A") + row % 26) + letters, row // 26 - 1
        return f"{letters}{self.column + 1}"


@dataclass(frozen=True)
class Tiling:
    """A drawing cut into tiles.

    Attributes
    ----------
    tiles : tuple of Tile
        Those that show something, row by row from below.
    across, up : tuple of float
        Lines at which sheets meet, and the outer ones half an overlap inside the windows [mm].
    room : tuple of float
        Width and height that each sheet shows [mm].
    """

    tiles: tuple
    across: tuple
    up: tuple
    room: tuple

    def beside(self, tile, *, column=0, row=0):
        """Return the printed tile so many columns and rows further, or None.

        Parameters
        ----------
        tile : Tile
            From where.
        column, row : int
            Steps to the right and upwards.

        Returns
        -------
        Tile or None
            None where nothing is printed.
        """
        wanted = (tile.column + column, tile.row + row)
        return next((each for each in self.tiles if (each.column, each.row) == wanted), None)

    @property
    def crosses(self):
        """Registration marks: column and row of lines to number, from 1, x and y [mm]."""
        places = product(range(len(self.up)), range(len(self.across)))
        shared = [(j, k) for k, j in places if self._around(j, k) >= 2]
        return {place: (i, self.across[place[0]], self.up[place[1]]) for i, place in enumerate(shared, start=1)}

    def _around(self, j, k):
        return sum(tile.column in (j - 1, j) and tile.row in (k - 1, k) for tile in self.tiles)


def fits(size, window):
    """Tell whether something fits on a sheet with a little room around it.

    Parameters
    ----------
    size : tuple of float
        Width and height [mm].
    window : tuple of float
        Width and height that a sheet shows [mm].

    Returns
    -------
    bool
        True when it does.
    """
    return all(each + 2 * _CLEAR <= room for each, room in zip(size, window, strict=True))


def tiling(drawing, window):
    """Tiles of a drawing, those without a line left out.

    Parameters
    ----------
    drawing : Drawing
        What to spread.
    window : tuple of float
        Width and height that a sheet shows [mm].

    Returns
    -------
    Tiling
        Centred on the drawing. Windows overlap by 10 mm; sheets meet in the middle of that.

    Raises
    ------
    InputError
        More than 60 tiles.
    """
    left, low, right, high = drawing.bounds
    starts = [
        _starts((a, b), room, drawing.name) for (a, b), room in zip(((left, right), (low, high)), window, strict=True)
    ]
    lines = [
        tuple([each + OVERLAP / 2 for each in start] + [start[-1] + room - OVERLAP / 2])
        for start, room in zip(starts, window, strict=True)
    ]
    if len(starts[0]) * len(starts[1]) > _MOST_TILES:
        got = f"{right - left:.0f} by {high - low:.0f} mm, which takes {len(starts[0]) * len(starts[1])} sheets"
        raise InputError(drawing.name, got, f"at most {_MOST_TILES} sheets", try_="check its sizes or draw it in parts")
    ink = _ink(drawing)
    tiles = (
        Tile(j, k, x, y)
        for (k, y), (j, x) in product(enumerate(starts[1]), enumerate(starts[0]))
        if ink.intersects(shapely.box(lines[0][j], lines[1][k], lines[0][j + 1], lines[1][k + 1]))
    )
    return Tiling(tuple(tiles), *lines, tuple(window))


def shelves(sizes, window):
    """Places of whole drawings on as many sheets as they take, in their order, row by row from the top.

    Parameters
    ----------
    sizes : sequence of tuple of float
        Width and height of each [mm]; each fits into the window.
    window : tuple of float
        Width and height that a sheet shows [mm].

    Returns
    -------
    list of list of tuple of (int, float, float)
        For each sheet: number of the drawing, left and low edge from the window's lower left corner [mm].
    """
    sheets, x, top, row = [], 0.0, 0.0, 0.0
    for number, (wide, high) in enumerate(sizes):
        if x + wide + _CLEAR > window[0]:  # a new row
            x, top, row = _CLEAR, top - row - _GAP, 0.0
        if not sheets or top - high < _CLEAR:
            x, top, row = _CLEAR, window[1] - _CLEAR, 0.0
            sheets.append([])
        sheets[-1].append((number, x, top - high))
        x, row = x + wide + _GAP, max(row, high)
    return sheets


def _starts(span, room, name):
    """Lower edges of the windows along one axis, centred on the drawing."""
    size = span[1] - span[0] + 2 * _CLEAR
    count = max(1, math.ceil((size - OVERLAP) / (room - OVERLAP) - 1e-9))
    if count > _MOST_TILES:
        needs = f"at most {_MOST_TILES} sheets"
        raise InputError(name, f"{size:.0f} mm long", needs, try_="check its sizes or draw it in parts")
    first = (span[0] + span[1] - OVERLAP - count * (room - OVERLAP)) / 2
    return [first + i * (room - OVERLAP) for i in range(count)]


def _ink(drawing):
    """Everything that a sheet must show: lines, and the inside of parts, else the joined sheets had a hole."""
    shapes = [each.polygon if each.layer == CUT else each.polygon.exterior for each in drawing.outlines]
    shapes += [each.polygon if not each.hole else each.polygon.exterior for each in drawing.circles]
    return shapely.union_all([*shapes, *(shapely.LineString(line.points) for line in drawing.lines)])
