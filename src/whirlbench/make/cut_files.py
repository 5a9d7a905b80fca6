"""DXF and SVG files of a drawing: true size, one layer an operation, the same bytes every time."""

import html
import io

import shapely
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError
from whirlbench.make.drawing import CUT, ENGRAVE, LAYERS, MARK, Drawing, Line, Text, combined
from whirlbench.make.mesh_files import write_bytes

CHECK = 100.0  # [mm] length of the line that proves the size of a file
_BELOW = 8.0  # [mm] from the parts to the check line
_MARGIN = 5.0  # [mm] around an SVG
_COLOURS = {CUT: ("#D00000", 1), ENGRAVE: ("#0040C0", 5), MARK: ("#202020", 7)}  # of SVG, and by number of DXF
_STROKE = 0.1  # [mm]


def check_line(x=0.0, y=0.0):
    """Drawing of the line of 100 mm that proves the size of a file.

    Parameters
    ----------
    x, y : float
        Its left end [mm].

    Returns
    -------
    Drawing
        On the layer ENGRAVE, told in words above it.
    """
    line = Line(((x, y), (x + CHECK, y)), ENGRAVE)
    return Drawing("check-line", lines=(line,), texts=(Text(x + CHECK / 2, y + 3.0, "100 mm", 3.0, layer=ENGRAVE),))


def has_check_line(drawing):
    """Tell whether a drawing holds a line of 100 mm on the layer ENGRAVE already.

    Parameters
    ----------
    drawing : Drawing
        Any.

    Returns
    -------
    bool
        True when it does.
    """
    lengths = (shapely.LineString(line.points).length for line in drawing.lines if line.layer == ENGRAVE)
    return any(abs(length - CHECK) < 1e-9 for length in lengths)


def with_check_line(drawing):
    """Drawing with the check line of 100 mm below it, unless it has one.

    Parameters
    ----------
    drawing : Drawing
        Any.

    Returns
    -------
    Drawing
        Same name and notes.
    """
    if has_check_line(drawing):
        return drawing
    left, low, _, _ = drawing.bounds
    return combined(drawing.name, [drawing, check_line(left, low - _BELOW)])


def dxf_bytes(drawing):
    """Content of a DXF file: R2010, millimetres declared, layers CUT, ENGRAVE and MARK.

    Parameters
    ----------
    drawing : Drawing
        What to write; the check line is added when it has none.

    Returns
    -------
    bytes
        The whole file. Outlines are closed polylines, circles are true circles, the dates are fixed.
    """
    import ezdxf  # 0.3 s: only for those who want a file

    drawing = with_check_line(drawing)
    fixed = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # dates and identities: the same bytes every time
    try:
        document = ezdxf.new("R2010", units=ezdxf.units.MM)
        document.header["$MEASUREMENT"] = 1
        for layer in LAYERS:
            document.layers.add(layer, color=_COLOURS[layer][1])
        _fill(document.modelspace(), drawing)
        for kind in sorted(document.entitydb.dxf_types_in_use()):  # else in the order of a set, another one each time
            document.classes.add_class(kind)
        stream = io.StringIO()
        document.write(stream)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = fixed
    return stream.getvalue().encode(document.output_encoding, errors="dxfreplace")


def svg_bytes(drawing):
    """Content of an SVG file in which one unit is one millimetre.

    Parameters
    ----------
    drawing : Drawing
        What to write; the check line is added when it has none.

    Returns
    -------
    bytes
        The whole file: a group for each of CUT, ENGRAVE and MARK, with a colour of its own.
    """
    drawing = with_check_line(drawing)
    left, low, right, high = drawing.bounds
    left, low, right, high = left - _MARGIN, low - _MARGIN, right + _MARGIN, high + _MARGIN
    wide, tall = _short(right - left), _short(high - low)
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{tall}mm" viewBox="0 0 {wide} {tall}">',
        f"<title>{html.escape(drawing.name)}</title>",
    ]
    for layer in LAYERS:
        inside = list(svg_items(drawing, layer, (left, high)))
        style = f'fill="none" stroke="{_COLOURS[layer][0]}" stroke-width="{_STROKE}"'
        pieces += [f'<g id="{layer}" {style}>', *inside, "</g>"]
    return "\n".join([*pieces, "</svg>", ""]).encode()


def svg_items(drawing, layer, corner):
    """Elements of one layer of a drawing; y points down in SVG.

    Parameters
    ----------
    drawing : Drawing
        Any.
    layer : str
        ``CUT``, ``ENGRAVE`` or ``MARK``.
    corner : tuple of float
        Where the upper left corner of the picture lies in the drawing [mm].

    Yields
    ------
    str
        One element, in millimetres.
    """
    left, high = corner

    def at(point):
        return f"{_short(point[0] - left)},{_short(high - point[1])}"

    for outline in drawing.outlines:
        if outline.layer == layer:
            paths = ("M" + " ".join(map(at, ring)) + "Z" for ring in _rings(outline.polygon))
            yield f'<path d="{" ".join(paths)}"/>'
    for circle in drawing.circles:
        if circle.layer == layer:
            place = f'cx="{_short(circle.x - left)}" cy="{_short(high - circle.y)}"'
            yield f'<circle {place} r="{_short(circle.diameter / 2)}"/>'
    for line in drawing.lines:
        if line.layer == layer:
            yield f'<polyline points="{" ".join(map(at, line.points))}"/>'
    for text in drawing.texts:
        if text.layer == layer:
            yield _svg_text(text, text.x - left, high - text.y)


def write_dxf(path, drawing):
    """Write a drawing as DXF and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .dxf.
    drawing : Drawing
        What to write.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another ending, an empty drawing, or a place that cannot be written.
    """
    _not_empty(drawing)
    return write_bytes(path, ".dxf", dxf_bytes(drawing))


def write_svg(path, drawing):
    """Write a drawing as SVG and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .svg.
    drawing : Drawing
        What to write.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another ending, an empty drawing, or a place that cannot be written.
    """
    _not_empty(drawing)
    return write_bytes(path, ".svg", svg_bytes(drawing))


def _not_empty(drawing):
    if not (drawing.outlines or drawing.circles):
        raise InputError(drawing.name, "nothing to cut", "an outline or a circle", try_="add a part to the sheet")


def _fill(space, drawing):
    from ezdxf.enums import TextEntityAlignment

    for outline in drawing.outlines:
        for ring in _rings(outline.polygon):
            space.add_lwpolyline(ring, close=True, dxfattribs={"layer": outline.layer})
    for circle in drawing.circles:
        space.add_circle((circle.x, circle.y), circle.diameter / 2, dxfattribs={"layer": circle.layer})
    for line in drawing.lines:
        space.add_lwpolyline(line.points, dxfattribs={"layer": line.layer})
    for text in drawing.texts:
        words = text.words.replace("%%", "% %").replace("^", "^ ")  # DXF reads both as commands
        placed = space.add_text(words, height=text.height, rotation=text.angle, dxfattribs={"layer": text.layer})
        placed.set_placement((text.x, text.y), align=TextEntityAlignment.MIDDLE_CENTER)


def _rings(polygon):
    """Corners of the outside and of each hole, first corner not repeated."""
    polygon = orient(polygon)
    return [list(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]


def _svg_text(text, x, y):
    place = f'transform="translate({_short(x)} {_short(y)}) rotate({_short(-text.angle)})"'
    size = f'font-size="{_short(text.height / 0.7)}" y="{_short(text.height / 2)}"'  # a capital is 0.7 of the size
    font = f'font-family="sans-serif" text-anchor="middle" fill="{_COLOURS[text.layer][0]}" stroke="none"'
    return f"<text {place} {size} {font}>{html.escape(text.words)}</text>"


def _short(number):
    """Number to a tenth of a micrometre, without idle zeros."""
    return f"{number + 0.0:.4f}".rstrip("0").rstrip(".")
