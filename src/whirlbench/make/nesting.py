"""Parts laid out on sheets of a given size, never closer than asked."""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import rotate, translate

from whirlbench.errors import InputError, within
from whirlbench.make.cut_files import CHECK, check_line
from whirlbench.make.drawing import combined

_BAND = 8.0  # [mm] along the lower edge that is kept for the check line
_SLIDE = 0.25  # [mm] a part stops sliding when a step this small no longer helps
_TOUCH = 1e-6  # [mm] further apart than asked, so that rounding does no harm


@dataclass(frozen=True)
class Nest:
    """Sheets with parts on them.

    Attributes
    ----------
    sheets : tuple of Drawing
        One a sheet, lower left corner of the stock at the origin.
    placed : tuple of tuple of Drawing
        The parts of each sheet where they lie.
    left_over : tuple of str
        Names of parts that fit on no sheet.
    used : float
        Area of the placed parts over the area of the sheets used [-].
    """

    sheets: tuple
    placed: tuple
    left_over: tuple
    used: float


def nest(drawings, width, height, *, clearance=2.0, steps=4, most_sheets=10, name="sheet"):
    """Layout of parts on as few sheets as a simple rule finds.

    Parameters
    ----------
    drawings : sequence of Drawing
        The parts; the same drawing may stand in it many times.
    width, height : float
        Of the stock [mm].
    clearance : float
        Least distance between two parts, and to the edge of the stock [mm].
    steps : int
        Turns of a full circle that are tried: 4 are quarter turns, 2 keep the grain of the sheet.
    most_sheets : int
        Sheets at hand.
    name : str
        Stem of the sheets' names.

    Returns
    -------
    Nest
        The sheets, each with a check line of 100 mm at its lower edge where it is long enough.

    Raises
    ------
    OutOfRange
        Stock, clearance, steps or sheets outside what a workshop has.
    InputError
        No parts.

    Notes
    -----
    Parts go in by falling size. Each is tried at the corners that others leave, in every turn, then slides down and to
    the left as far as it can; the lowest place wins, then the one furthest left. True outlines count, so a tapered
    blade slides in beside its neighbour. The same parts give the same layout.
    """
    _check(drawings, width, height, (clearance, steps, most_sheets))
    order = sorted(range(len(drawings)), key=lambda i: (-max(drawings[i].size), -drawings[i].area, drawings[i].name, i))
    floor = _BAND if width >= CHECK + 2 * clearance and height > 4 * _BAND else 0.0
    sheets, left_over = [], []
    for index in order:
        part = _Part(drawings[index], steps)
        for sheet in (*sheets, None):
            if sheet is None and len(sheets) < most_sheets:
                sheets.append(sheet := _Sheet(width, height, clearance, floor))
            if sheet is not None and sheet.take(part):
                break
        else:
            left_over.append(drawings[index].name)
        sheets = [sheet for sheet in sheets if sheet.placed]
    placed = tuple(tuple(sheet.placed) for sheet in sheets)
    lines = [check_line(clearance, 1.5)] if floor else []
    made = tuple(combined(f"{name}-{i}", [*parts, *lines]) for i, parts in enumerate(placed, 1))
    area = sum(part.area for parts in placed for part in parts)
    return Nest(made, placed, tuple(left_over), area / (len(made) * width * height) if made else 0.0)


class _Part:
    """A part in every turn, moved so that its lower left corner is the origin."""

    def __init__(self, drawing, steps):
        self.turns = []
        whole = drawing.material.union(shapely.union_all([each.polygon for each in drawing.outlines]))
        outside = shapely.union_all([shapely.Polygon(part.exterior) for part in shapely.get_parts(whole)])
        for step in range(steps):
            angle = 360.0 * step / steps
            shape = rotate(outside, angle, origin=(0.0, 0.0))
            left, low, right, high = shape.bounds
            moved = drawing.moved(-left, -low, angle=angle)
            self.turns.append((translate(shape, -left, -low), (right - left, high - low), moved))


class _Sheet:
    """Stock with the parts laid on it so far."""

    def __init__(self, width, height, clearance, floor):
        self.clearance, self.floor = clearance, max(floor, clearance)
        self.room = width - clearance, height - clearance
        self.shapes, self.placed = [], []

    def take(self, part):
        """Lay a part on the sheet, if there is a place for it."""
        found = [(place, turn) for turn in part.turns if (place := self._best(*turn[:2])) is not None]
        if not found:
            return False
        (x, y), (shape, _, drawing) = min(found, key=_lowest)
        self.shapes.append(translate(shape, x, y))
        self.placed.append(drawing.moved(x, y))
        return True

    def _best(self, shape, size):
        """Lowest free place of a shape after sliding, or None."""
        for x, y in self._corners():
            if self._free(shape, size, x, y):
                return self._slid(shape, size, x, y)
        return None

    def _corners(self):
        """Places to try: where the right and upper edges of what lies there meet, lowest first."""
        bounds = np.array([shape.bounds for shape in self.shapes]).reshape(-1, 4)
        across = np.unique([self.clearance, *(bounds[:, 2] + self.clearance + _TOUCH)])
        upward = np.unique([self.floor, *(bounds[:, 3] + self.clearance + _TOUCH)])
        return [(x, y) for y in upward for x in across]

    def _slid(self, shape, size, x, y):
        for _ in range(3):
            before = x, y
            y -= self._way(shape, size, (x, y), down=1.0)
            x -= self._way(shape, size, (x, y), down=0.0)
            if (x, y) == before:
                break
        return x, y

    def _way(self, shape, size, start, *, down):
        """How far a shape can slide down, or to the left, in small steps without coming too near to another."""
        x, y = start
        longest = y - self.floor if down else x - self.clearance
        way, step = 0.0, max(longest / 2, _SLIDE)
        while step >= _SLIDE:
            there = way + step
            free = there <= longest and self._free(shape, size, x - there * (1.0 - down), y - there * down)
            way, step = (there, step) if free else (way, step / 2)
        return way

    def _free(self, shape, size, x, y):
        if x < self.clearance or y < self.floor or x + size[0] > self.room[0] or y + size[1] > self.room[1]:
            return False
        if not self.shapes:
            return True
        return not shapely.dwithin(translate(shape, x, y), self.shapes, self.clearance).any()


def _lowest(found):
    """Upper, then right edge of a part laid at a place, to the micrometre."""
    (x, y), (_, size, _) = found
    return round(y + size[1], 3), round(x + size[0], 3)


def _check(drawings, width, height, limits):
    clearance, steps, most_sheets = limits
    if not drawings:
        raise InputError("parts to lay out", "none", "one or more", try_="name the parts")
    within("stock size", (width, height), low=10.0, high=5000.0, unit="mm", try_="measure the sheet")
    within("clearance", clearance, low=0.0, high=50.0, unit="mm", try_="2 mm suits a laser, 5 mm a knife")
    within("turns tried", steps, low=1, high=72, unit="", try_="4 are quarter turns")
    within("sheets at hand", most_sheets, low=1, high=100, unit="", try_="count the sheets")
