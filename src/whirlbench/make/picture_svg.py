"""Pictures of pieces for a page: a flat one as it is cut, a solid shaded; they fill whatever room they are given."""

import base64
import html

import shapely
from shapely import affinity

from whirlbench.make.cut_files import svg_items
from whirlbench.make.drawing import CUT, ENGRAVE, MARK, Drawing, Outline
from whirlbench.make.page import BLUE, DEEP, INK, PAPER, SOFT
from whirlbench.make.picture import picture_png

_MARGIN = 0.04  # of the longer side
_PEN = 0.003
_LETTER = 0.35  # half the width of a letter over its height
_PIXELS = (480, 320)
_LINES = {ENGRAVE: DEEP, MARK: SOFT}


def flat_svg(drawing):
    """SVG picture of a flat piece: what is left of the sheet filled, engraved and marked lines over it.

    Parameters
    ----------
    drawing : Drawing
        True to size; a millimetre is one unit of the picture.

    Returns
    -------
    str
        Without width and height, so it takes the room it is given.
    """
    left, low, right, high = _bounds(drawing)
    across = max(right - left, high - low)
    margin, pen = _MARGIN * across, _PEN * across
    wide, tall = right - left + 2 * margin, high - low + 2 * margin
    corner = left - margin, high + margin
    style = f'fill="{BLUE}" fill-rule="evenodd" stroke="{INK}" stroke-width="{pen:.3g}"'
    whole = Drawing(drawing.name, tuple(map(Outline, shapely.get_parts(drawing.material))))
    groups = [_group(style, svg_items(whole, CUT, corner))]
    for layer, ink in _LINES.items():
        groups.append(_group(f'fill="none" stroke="{ink}" stroke-width="{pen:.3g}"', svg_items(drawing, layer, corner)))
    return _svg(drawing.name, (wide, tall), groups)


def solid_svg(solid):
    """SVG picture of a solid: the shaded picture of the documents, held inside.

    Parameters
    ----------
    solid : Solid
        The part.

    Returns
    -------
    str
        Without width and height, so it takes the room it is given.
    """
    content = base64.b64encode(picture_png(solid.mesh, width=_PIXELS[0], height=_PIXELS[1])).decode()
    image = f'<image width="{_PIXELS[0]}" height="{_PIXELS[1]}" href="data:image/png;base64,{content}"/>'
    return _svg(solid.name, _PIXELS, [image])


def _bounds(drawing):
    """Bounds of a drawing with its words."""
    shapes = [shapely.box(*drawing.bounds)]
    for text in drawing.texts:
        half = _LETTER * text.height * len(text.words), text.height / 2
        turned = affinity.rotate(shapely.box(-half[0], -half[1], *half), text.angle, origin=(0, 0))
        shapes.append(affinity.translate(turned, text.x, text.y))
    return shapely.total_bounds(shapes).tolist()


def _group(style, items):
    return "\n".join([f"<g {style}>", *items, "</g>"])


def _svg(name, size, inside):
    wide, tall = (f"{one:.4g}" for one in size)
    name = html.escape(name)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {tall}" role="img" aria-label="{name}">'
    ground = f'<rect width="100%" height="100%" fill="{PAPER}"/>'
    return "\n".join([head, f"<title>{name}</title>", ground, *inside, "</svg>", ""])
