"""A drawing put on a printed page true to size, the rulers that prove it, and the marks by which sheets meet."""

from whirlbench.make import page
from whirlbench.make.drawing import CUT, ENGRAVE, MARK
from whirlbench.make.letters import CAPITAL
from whirlbench.make.page import MM
from whirlbench.make.tiling import OVERLAP

CHECK, INCHES = 100.0, 4  # [mm] and [in] of the rulers
FOOT, SIDE = 21.0, 9.0  # [mm] that the rulers take below and beside the window
_PENS = {CUT: (page.INK, 0.30, ()), ENGRAVE: (page.DEEP, 0.20, ()), MARK: (page.SOFT, 0.15, (1.6, 0.9))}  # [mm]
_CENTRE = 1.5  # [mm] half the cross in a hole to drill
_CROSS = 3.0  # [mm] half a registration mark
_TICKS = ((10, 3.4), (5, 2.4), (1, 1.5))  # [mm] apart and long


def ink(canvas, drawing, corner, origin):
    """Draw a drawing true to size.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    drawing : Drawing
        What to draw.
    corner : tuple of float
        Where ``origin`` comes to lie, points.
    origin : tuple of float
        A place on the drawing [mm].
    """
    canvas.saveState()
    canvas.translate(*corner)
    canvas.scale(MM, MM)
    canvas.translate(-origin[0], -origin[1])
    canvas.setLineJoin(1)
    canvas.setLineCap(0)
    for layer in (MARK, ENGRAVE, CUT):
        pen(canvas, layer)
        path = canvas.beginPath()
        _trace(path, drawing, layer)
        if layer == ENGRAVE:
            _centres(path, drawing)
        canvas.drawPath(path, stroke=1, fill=0)
    for each in drawing.texts:
        _write(canvas, each)
    canvas.restoreState()


def pen(canvas, layer, *, scale=1.0):
    """Take the pen of a layer.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    layer : str
        ``CUT``, ``ENGRAVE`` or ``MARK``.
    scale : float
        Units of the page in a millimetre.
    """
    colour, wide, dash = _PENS[layer]
    canvas.setStrokeColor(colour)
    canvas.setLineWidth(wide * scale)
    canvas.setDash([each * scale for each in dash])


def rulers(canvas, corner, tall):
    """Draw rulers of 100 mm across and upwards and one of 4 in across.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    corner : tuple of float
        Lower left corner of the window, points.
    tall : tuple of float
        Width and height of the window [mm].
    """
    left, low = corner
    _ruler(canvas, (left, low - 4.5 * MM), CHECK, _millimetres())
    _ruler(canvas, (left, low - 13.5 * MM), 25.4 * INCHES, _inches())
    canvas.saveState()
    canvas.translate(left + (tall[0] + 2.5) * MM, low)
    canvas.rotate(90)
    _ruler(canvas, (0.0, 0.0), CHECK, _millimetres())
    canvas.restoreState()


def registration(canvas, tiling, tile, corner):
    """Draw the lines at which a sheet meets its neighbours, and the crosses to lay on theirs.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    tiling : Tiling
        All sheets of the drawing.
    tile : Tile
        This one.
    corner : tuple of float
        Lower left corner of its window, points.
    """
    across = tiling.across[tile.column : tile.column + 2]
    up = tiling.up[tile.row : tile.row + 2]

    def at(x, y):
        return corner[0] + (x - tile.left) * MM, corner[1] + (y - tile.low) * MM

    canvas.setLineWidth(0.3)
    canvas.setStrokeColor(page.INK)
    canvas.setDash([1, 2])
    for side, x in zip((-1, 1), across, strict=True):
        if tiling.beside(tile, column=side):
            canvas.line(*at(x, up[0]), *at(x, up[1]))
    for side, y in zip((-1, 1), up, strict=True):
        if tiling.beside(tile, row=side):
            canvas.line(*at(across[0], y), *at(across[1], y))
    canvas.setDash([])
    for (j, k), (number, x, y) in tiling.crosses.items():
        if j - tile.column in (0, 1) and k - tile.row in (0, 1):
            _cross(canvas, at(x, y), number, right=j == tile.column, above=k == tile.row)


def neighbours(canvas, tiling, tile, corner, *, named):
    """Name the sheet that goes on at each edge, in the strip that is cut away.

    Parameters
    ----------
    canvas : reportlab Canvas
        The page.
    tiling : Tiling
        All sheets of the drawing.
    tile : Tile
        This one.
    corner : tuple of float
        Lower left corner of its window, points.
    named : callable
        Words for a tile.
    """
    across, up = (
        [line - edge for line in lines]
        for lines, edge in (
            (tiling.across[tile.column : tile.column + 2], tile.left),
            (tiling.up[tile.row : tile.row + 2], tile.low),
        )
    )
    middle = sum(across) / 2, sum(up) / 2
    inset = OVERLAP / 4
    for column, row, x, y, angle in (
        (-1, 0, across[0] - inset, middle[1], 90),
        (1, 0, across[1] + inset, middle[1], -90),
        (0, -1, middle[0], up[0] - inset, 0),
        (0, 1, middle[0], up[1] + inset, 0),
    ):
        other = tiling.beside(tile, column=column, row=row)
        if other is None:
            continue
        canvas.saveState()
        canvas.translate(corner[0] + x * MM, corner[1] + y * MM)
        canvas.rotate(angle)
        cuts = column + row > 0  # of two sheets the one to the left or below is cut and lies on top
        words = (
            f"cut along the dots and lay on {named(other)}" if cuts else f"{named(other)} lies on here, up to the dots"
        )
        wide = page.width(words, 6.5) + 4
        canvas.setFillColor("#FFFFFF")
        canvas.rect(-wide / 2, -3.5, wide, 7, stroke=0, fill=1)
        page.text(canvas, (0, -2.2), words, 6.5, align="centre")
        canvas.restoreState()


def _trace(path, drawing, layer):
    for outline in (each for each in drawing.outlines if each.layer == layer):
        for ring in (outline.polygon.exterior, *outline.polygon.interiors):
            _follow(path, list(ring.coords)[:-1])
            path.close()
    for circle in (each for each in drawing.circles if each.layer == layer):
        path.circle(circle.x, circle.y, circle.diameter / 2)
    for line in (each for each in drawing.lines if each.layer == layer):
        _follow(path, line.points)


def _centres(path, drawing):
    """Crosses in what is cut round: where to set the drill or the compass."""
    for circle in (each for each in drawing.circles if each.layer == CUT):
        arm = min(_CENTRE, circle.diameter / 4)
        _follow(path, ((circle.x - arm, circle.y), (circle.x + arm, circle.y)))
        _follow(path, ((circle.x, circle.y - arm), (circle.x, circle.y + arm)))


def _follow(path, points):
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)


def _write(canvas, text):
    canvas.saveState()
    canvas.translate(text.x, text.y)
    canvas.rotate(text.angle)
    place = (0.0, -text.height / 2)
    page.text(canvas, place, text.words, text.height / CAPITAL, ink=_PENS[text.layer][0], align="centre")
    canvas.restoreState()


def _millimetres():
    for at in range(int(CHECK) + 1):
        long = next(long for apart, long in _TICKS if at % apart == 0)
        yield at, long, (f"{at} mm" if at == CHECK else str(at)) if at % 10 == 0 else ""


def _inches():
    for at in range(8 * INCHES + 1):
        long = 3.4 if at % 8 == 0 else 2.4 if at % 4 == 0 else 1.5
        yield at * 25.4 / 8, long, (f"{at // 8} in" if at == 8 * INCHES else str(at // 8)) if at % 8 == 0 else ""


def _ruler(canvas, corner, length, ticks):
    """Base line with ticks below; the middles of the end ticks are the length apart."""
    left, low = corner
    canvas.setStrokeColor(page.INK)
    canvas.setDash([])
    canvas.setLineWidth(0.4)
    canvas.setLineCap(0)
    canvas.line(left, low, left + length * MM, low)
    for at, long, words in ticks:
        x = left + at * MM
        canvas.line(x, low, x, low - long * MM)
        if words:
            place = (x + 0.6 * MM, low - 3.6 * MM) if at < length else (x + 0.9 * MM, low - 2.2 * MM)
            page.text(canvas, place, words, 5.5, ink=page.INK)


def _cross(canvas, place, number, *, right, above):
    """Cross with a ring; its number stands inside the sheet."""
    x, y = place
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.4)
    canvas.line(x - _CROSS * MM, y, x + _CROSS * MM, y)
    canvas.line(x, y - _CROSS * MM, x, y + _CROSS * MM)
    canvas.circle(x, y, 1.5 * MM, stroke=1, fill=0)
    aside, lift = (2.4 if right else -2.4) * MM, (2.4 if above else -4.2) * MM
    page.text(canvas, (x + aside, y + lift), str(number), 7, bold=True, ink=page.INK, align="centre")
