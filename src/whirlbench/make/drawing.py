"""What every flat product is: polygons, circles, lines and words in millimetres, each on the layer of its operation."""

import math
import re
from dataclasses import dataclass, replace

import shapely
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError, UnknownKey, nearest

CUT, ENGRAVE, MARK = "CUT", "ENGRAVE", "MARK"
LAYERS = (CUT, ENGRAVE, MARK)  # through the sheet, a shallow line, a pen line or a fold
MM = 1000.0  # parts speak metres, drawings millimetres
_LARGEST = 5000.0  # [mm]
_CHORDS = 32  # of a quarter circle where a circle must stand in as a polygon


@dataclass(frozen=True)
class Circle:
    """A true circle.

    Attributes
    ----------
    x, y, diameter : float
        Centre and diameter [mm].
    layer : str
        ``CUT``, ``ENGRAVE`` or ``MARK``.
    hole : bool
        On the layer CUT: a hole in the part, not the rim of a disc.
    """

    x: float
    y: float
    diameter: float
    layer: str = CUT
    hole: bool = True

    @property
    def polygon(self):
        """The circle as a polygon of 128 corners, for looks and clearances only."""
        return shapely.Point(self.x, self.y).buffer(self.diameter / 2, quad_segs=_CHORDS)


@dataclass(frozen=True)
class Line:
    """An open line through points.

    Attributes
    ----------
    points : tuple of (float, float)
        At least two [mm].
    layer : str
        ``ENGRAVE`` or ``MARK``; what is cut must close.
    """

    points: tuple
    layer: str = ENGRAVE


@dataclass(frozen=True)
class Outline:
    """A closed outline, with or without holes that are no circles.

    Attributes
    ----------
    polygon : shapely Polygon
        [mm].
    layer : str
        ``CUT``, ``ENGRAVE`` or ``MARK``.
    """

    polygon: Polygon
    layer: str = CUT


@dataclass(frozen=True)
class Text:
    """Words on a drawing.

    Attributes
    ----------
    x, y : float
        Middle of the words [mm].
    words : str
        One line.
    height : float
        Of a capital letter [mm].
    angle : float
        Turn against the clock [deg].
    layer : str
        ``ENGRAVE`` or ``MARK``.
    """

    x: float
    y: float
    words: str
    height: float = 3.0
    angle: float = 0.0
    layer: str = MARK


@dataclass(frozen=True)
class Drawing:
    """A flat product, true to size, y upwards.

    Attributes
    ----------
    name : str
        What it is called; also the stem of its files, so letters, digits, ``-`` and ``_`` only.
    outlines : tuple of Outline
        Closed outlines.
    circles : tuple of Circle
        True circles.
    lines : tuple of Line
        Open lines.
    texts : tuple of Text
        Words.
    notes : tuple of str
        What whoever makes the part should know: tolerance applied, kerf, angles to set.
    """

    name: str
    outlines: tuple = ()
    circles: tuple = ()
    lines: tuple = ()
    texts: tuple = ()
    notes: tuple = ()

    def __post_init__(self):
        file_stem("name of the drawing", self.name)
        for item in (*self.outlines, *self.circles, *self.lines, *self.texts):
            if item.layer not in LAYERS:
                raise UnknownKey("layer", f"'{item.layer}'", "a known layer", try_=nearest(item.layer, LAYERS))
        for outline in self.outlines:
            _check_polygon(self.name, outline.polygon)
        _check_rest(self)

    @property
    def material(self):
        """What is left of the sheet when everything on CUT is cut: a Polygon or MultiPolygon [mm]."""
        whole = [each.polygon for each in self.outlines if each.layer == CUT]
        whole += [each.polygon for each in self.circles if each.layer == CUT and not each.hole]
        holes = [each.polygon for each in self.circles if each.layer == CUT and each.hole]
        return shapely.union_all(whole).difference(shapely.union_all(holes))

    @property
    def area(self):
        """Area of the parts with circles taken true, not as polygons [mm^2]."""
        signed = sum(math.pi * c.diameter**2 / 4 * (-1 if c.hole else 1) for c in self.circles if c.layer == CUT)
        return signed + sum(each.polygon.area for each in self.outlines if each.layer == CUT)

    @property
    def bounds(self):
        """Least x, least y, greatest x and greatest y of everything but words [mm]."""
        shapes = [each.polygon for each in (*self.outlines, *self.circles)]
        return tuple(
            shapely.total_bounds([*shapes, *(shapely.LineString(line.points) for line in self.lines)]).tolist()
        )

    @property
    def size(self):
        """Width and height of everything but words [mm]."""
        left, low, right, high = self.bounds
        return right - left, high - low

    def moved(self, x=0.0, y=0.0, *, angle=0.0):
        """Return the drawing turned about its origin against the clock, then shifted.

        Parameters
        ----------
        x, y : float
            Shift [mm].
        angle : float
            Turn [deg].

        Returns
        -------
        Drawing
            Same name and notes.
        """
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))

        def at(px, py):
            return c * px - s * py + x, s * px + c * py + y

        def outline(each):
            return replace(each, polygon=affinity.affine_transform(each.polygon, [c, -s, s, c, x, y]))

        def spot(each):
            px, py = at(each.x, each.y)
            return replace(each, x=px, y=py)

        return replace(
            self,
            outlines=tuple(outline(each) for each in self.outlines),
            circles=tuple(spot(each) for each in self.circles),
            lines=tuple(replace(each, points=tuple(at(*point) for point in each.points)) for each in self.lines),
            texts=tuple(replace(spot(each), angle=each.angle + angle) for each in self.texts),
        )


def file_stem(what, name):
    """Return a name that is safe as the stem of a file on any machine.

    Parameters
    ----------
    what : str
        Name of the field, for the error.
    name : str
        The name.

    Returns
    -------
    str
        The same name.

    Raises
    ------
    InputError
        Empty, longer than 60 characters, or with anything but letters, digits, ``-`` and ``_``.
    """
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,59}", name):
        needs = "1 to 60 letters, digits, - or _, opening with a letter or digit"
        raise InputError(what, repr(name[:60]), needs, try_="leave out slashes, points and spaces")
    return name


def rectangle(width, height):
    """Rectangle with its lower left corner at the origin.

    Parameters
    ----------
    width, height : float
        [mm].

    Returns
    -------
    shapely Polygon
        [mm].
    """
    return orient(box(0.0, 0.0, width, height))


def combined(name, drawings, *, notes=()):
    """One drawing from several that already lie where they should.

    Parameters
    ----------
    name : str
        What to call it.
    drawings : sequence of Drawing
        In one coordinate system.
    notes : tuple of str
        Put before the notes of the drawings.

    Returns
    -------
    Drawing
        All of them, notes told once.
    """
    fields = ("outlines", "circles", "lines", "texts")
    joined = {field: tuple(item for each in drawings for item in getattr(each, field)) for field in fields}
    told = dict.fromkeys([*notes, *(note for each in drawings for note in each.notes)])
    return Drawing(name, **joined, notes=tuple(told))


def _check_rest(drawing):
    for circle in drawing.circles:
        if not 0.0 < circle.diameter <= _LARGEST:
            got = f"a circle of {circle.diameter:g} mm"
            raise InputError(drawing.name, got, f"more than 0 and at most {_LARGEST:.0f} mm", try_="check its diameter")
    if any(line.layer == CUT for line in drawing.lines):
        raise InputError(drawing.name, "an open line on CUT", "an outline: what is cut must close", try_="close it")
    for text in drawing.texts:
        if not text.words.isprintable():
            raise InputError(drawing.name, repr(text.words[:40]), "words in one line", try_="leave out line breaks")


def _check_polygon(name, polygon):
    good = isinstance(polygon, Polygon) and polygon.is_valid and not polygon.is_empty
    if not good or polygon.area <= 1e-6:
        raise InputError(
            name, "an outline without area or crossing itself", "a simple closed outline", try_="check sizes"
        )
    if max(map(abs, polygon.bounds)) > _LARGEST:
        got = f"an outline that reaches {max(map(abs, polygon.bounds)):.0f} mm"
        raise InputError(
            name, got, f"at most {_LARGEST:.0f} mm", try_="lengths in a file need their unit: 65 mm, not 65 m"
        )
