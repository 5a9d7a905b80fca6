"""The document of a build pack: pictures and sizes of every piece, lists, steps with their cautions, provenance."""

import html
import io
import math

from whirlbench.make import page
from whirlbench.make.drawing import CUT
from whirlbench.make.letters import SHARE, face, spelt
from whirlbench.make.lists import bill_rows
from whirlbench.make.page import AMBER, BLUE, GRID, INK, MARGIN, MM, SAND, SOFT
from whirlbench.make.picture import picture_png

_ACROSS = 3  # pictures side by side
_PICTURE = 0.66  # height over width
_PIXELS = (420, 277)
_TITLES = {
    "blades": "Blades",
    "hub": "Hub",
    "gauges": "Pitch gauge",
    "gears": "Gears",
    "pulleys": "Pulleys",
    "coil": "Coil former",
    "tower": "Tower",
    "base": "Base and ballast",
}
_GENERAL = (
    "The cautions here are general: the rules of your room and event come first, and a qualified adult decides. Sizes "
    "carry the allowances of common practice: make one test piece before the whole set."
)


def build_document(path, pack, provenance):
    """Write the document and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .pdf.
    pack : Pack
        All that it tells.
    provenance : sequence of tuple of str
        Rows of the provenance sheet, headings first.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another ending.
    UnknownKey
        Another paper.
    """
    from reportlab.platypus import SimpleDocTemplate

    path = page.checked(path, "build pack")
    size = page.size_of(pack.paper)
    document = SimpleDocTemplate(
        str(path),
        pagesize=size,
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=MARGIN + 4 * MM,
        title=f"Build pack: {pack.turbine.name}",
        author=pack.team or "Whirlbench",
        invariant=1,
        initialFontName=face(),
    )
    look = _Look(size[0] - 2 * MARGIN - 12)  # the frame keeps 6 points of padding at either side
    story = [*_front(look, pack), *_pieces(look, pack), *_coil(look, pack), *_bill(look, pack)]
    story += [*_steps(look, pack), *_provenance(look, provenance)]

    def foot(canvas, _):
        page.text(canvas, (MARGIN, MARGIN - 2 * MM), pack.turbine.name, 8)
        page.text(canvas, (size[0] - MARGIN, MARGIN - 2 * MM), f"page {canvas.getPageNumber()}", 8, align="right")

    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return path


class _Look:
    """Styles, and flowables made from plain words."""

    def __init__(self, wide):
        from reportlab.lib.styles import ParagraphStyle

        self.wide = wide
        body = ParagraphStyle(
            "body",
            fontName=face(),
            bulletFontName=face(),
            fontSize=9.2 * SHARE,
            leading=12,
            textColor=INK,
            spaceAfter=3,
        )
        heavy = {"fontName": face(bold=True), "keepWithNext": 1}
        head = ParagraphStyle("head", body, fontSize=14 * SHARE, leading=17, spaceBefore=10, spaceAfter=5, **heavy)
        self.styles = {
            "body": body,
            "title": ParagraphStyle(
                "title", body, fontName=face(bold=True), fontSize=22 * SHARE, leading=26, spaceAfter=6
            ),
            "head": head,
            "kind": ParagraphStyle("kind", head, keepWithNext=0),  # its pictures may run over pages
            "step": ParagraphStyle(
                "step", body, fontName=face(bold=True), fontSize=10 * SHARE, spaceBefore=8, keepWithNext=1
            ),
            "small": ParagraphStyle("small", body, fontSize=7.6 * SHARE, leading=9.4, textColor=SOFT, spaceAfter=0),
            "label": ParagraphStyle(
                "label", body, fontName=face(bold=True), fontSize=8.4 * SHARE, leading=10, spaceAfter=0
            ),
        }

    def words(self, text, style="body", bullet=None):
        """Paragraph of plain words; marks of the page language in them stay words."""
        from reportlab.platypus import Paragraph

        mark = {} if bullet is None else {"bulletText": bullet}
        return Paragraph(
            html.escape(spelt(text), quote=False), self._indented(style) if bullet else self.styles[style], **mark
        )

    def _indented(self, style):
        from reportlab.lib.styles import ParagraphStyle

        return ParagraphStyle(f"{style}-list", self.styles[style], leftIndent=11, bulletIndent=2)

    def table(self, rows, shares, *, blanks=False):
        """Table with a heading; shares of the width for the columns; with room to write where it has blanks."""
        from reportlab.platypus import Table

        cells = [[self.words(cell, "small" if number else "label") for cell in row] for number, row in enumerate(rows)]
        whole = sum(shares)
        style = [
            ("BACKGROUND", (0, 0), (-1, 0), SAND),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, GRID),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 3),
            ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ]
        if blanks:
            style += [("INNERGRID", (0, 0), (-1, -1), 0.4, GRID), ("BOTTOMPADDING", (0, 1), (-1, -1), 9)]
        widths = [self.wide * share / whole for share in shares]
        return Table(cells, widths, repeatRows=1, style=style, hAlign="LEFT")

    def caution(self, risk, why, do):
        """A caution on amber."""
        from reportlab.platypus import Table

        told = [self.words(f"Mind: {risk}.", "label"), self.words(f"{why} {do}", "small")]
        style = [("BACKGROUND", (0, 0), (-1, -1), AMBER), ("BOTTOMPADDING", (0, 0), (-1, -1), 5)]
        return Table([[told]], [self.wide], style=style, hAlign="LEFT", spaceAfter=4)


def _front(look, pack):
    yield look.words(f"Build pack: {pack.turbine.name}", "title")
    if pack.team:
        yield look.words(f"Team: {pack.team}")
    yield look.words(_GENERAL)
    yield look.words("What is in the folder", "head")
    rows = [("kind", "on paper, 1:1", "to cut (DXF, SVG)", "to print (STL, 3MF, STEP)")]
    for kind, title in _TITLES.items():
        row = [_count(pieces.get(kind, ())) for pieces in (pack.flats, pack.cuts, pack.solids)]
        if any(row):
            rows.append((title, *row))
    yield look.table(rows, (3, 2, 2, 3))
    if pack.as_made:
        told = "turbine-as-made.toml holds the turbine with the masses of its prints, computed from their solids."
        yield look.words(f"{told} Weigh the real ones and write their masses into it.")
        for one in pack.weighings:
            yield look.words(one.sentence, bullet="•")
    if pack.stays:
        yield look.words("What stays as it was", "head")
        yield look.words(f"Not in this pack, as the earlier turbine has them: {', '.join(pack.stays)}.")
    if pack.refusals:
        yield look.words("What cannot be made, and why", "head")
        for one in pack.refusals:
            yield look.words(f"{one.piece}: {one.why}", bullet="•")


def _count(pieces):
    return f"{len(pieces)} piece{'s' if len(pieces) > 1 else ''}" if pieces else ""


def _pieces(look, pack):
    from reportlab.platypus import CondPageBreak

    for kind, title in _TITLES.items():
        flats, solids = pack.flats.get(kind, ()), pack.solids.get(kind, ())
        if not flats and not solids:
            continue
        yield CondPageBreak(95 * MM)
        yield look.words(title, "kind")
        cells = [_solid_cell(look, solid) for solid in solids] + [_flat_cell(look, flat) for flat in flats]
        yield _grid(look, cells)
        printed = [(solid.name, (solid.orientation, *solid.notes)) for solid in solids]
        for words, noted in (("Printed", printed), ("Flat", [(one.drawing.name, one.drawing.notes) for one in flats])):
            if noted:
                yield look.words(words, "label")
            for note in _told_once(noted):
                yield look.words(note, "small", bullet="•")


def _told_once(noted):
    """Notes of named pieces, each once, behind the names of those that it is for when it is not for all."""
    owners = {}
    for name, notes in noted:
        for note in filter(None, notes):
            owners.setdefault(note, []).append(name)
    for note, names in owners.items():
        shared = len(names) == len(noted) or note.startswith(names[0])
        yield note if shared else f"{', '.join(names)}: {note}"


def _grid(look, cells):
    from reportlab.platypus import Table

    rows = [cells[start : start + _ACROSS] for start in range(0, len(cells), _ACROSS)]
    rows[-1] += [""] * (_ACROSS - len(rows[-1]))
    style = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2),
    ]
    return Table(rows, [look.wide / _ACROSS] * _ACROSS, style=style, hAlign="LEFT")


def _flat_cell(look, flat):
    wide, high = flat.drawing.size
    told = f"flat, {wide:.1f} x {high:.1f} mm, from {flat.stock.replace('paper only', 'paper')}"
    return _cell(look, _sketch(flat.drawing, look.wide / _ACROSS - 4), f"{flat.count} x {flat.drawing.name}", told)


def _solid_cell(look, solid):
    from reportlab.platypus import Image

    wide = look.wide / _ACROSS - 4
    picture = picture_png(solid.mesh, width=_PIXELS[0], height=_PIXELS[1])
    size = " x ".join(f"{one:.1f}" for one in solid.mesh.size.tolist())
    told = f"printed {solid.material}, {size} mm, {1e3 * solid.mass:.1f} g each"
    return _cell(look, Image(io.BytesIO(picture), wide, _PICTURE * wide), f"{solid.count} x {solid.name}", told)


def _cell(look, picture, name, told):
    return [picture, look.words(name, "label"), look.words(told, "small")]


def _sketch(drawing, wide):
    """Picture of a flat piece, scaled to fit: what is cut filled, the rest as lines."""
    from reportlab.graphics.shapes import Drawing, Rect

    high = _PICTURE * wide
    left, low, right, top = drawing.bounds
    scale = min((wide - 12) / max(right - left, 1e-9), (high - 12) / max(top - low, 1e-9))
    shift = (wide - scale * (left + right)) / 2, (high - scale * (low + top)) / 2

    def at(points):
        return [(scale * x + shift[0], scale * y + shift[1]) for x, y, *_ in points]

    picture = Drawing(wide, high)
    picture.add(Rect(0, 0, wide, high, fillColor=_color(page.PAPER), strokeColor=None))
    for shape in _shapes(drawing, at):
        picture.add(shape)
    return picture


def _shapes(drawing, at):
    from reportlab.graphics.shapes import PolyLine

    material = drawing.material
    for part in getattr(material, "geoms", [material]):
        if not part.is_empty:
            yield _filled(part, at)
    drawn = [each.polygon.exterior.coords for each in (*drawing.outlines, *drawing.circles) if each.layer != CUT]
    for points in [*drawn, *(line.points for line in drawing.lines)]:
        flat = [number for point in at(points) for number in point]
        yield PolyLine(flat, strokeColor=_color(SOFT), strokeWidth=0.4)


def _filled(part, at):
    """A polygon with holes."""
    from reportlab.graphics.shapes import Path

    path = Path(fillColor=_color(BLUE), strokeColor=_color(INK), strokeWidth=0.6, fillMode=0)
    for ring in (part.exterior, *part.interiors):
        first, *rest = at(ring.coords[:-1])
        path.moveTo(*first)
        for point in rest:
            path.lineTo(*point)
        path.closePath()
    return path


def _color(text):
    from reportlab.lib.colors import HexColor

    return HexColor(text)


def _coil(look, pack):
    if pack.coil:
        yield look.words("Coil card", "head")
        yield look.table((("what", "how much"), *pack.coil), (1, 3))


def _bill(look, pack):
    from reportlab.platypus import PageBreak

    yield PageBreak()
    yield look.words("Bill of materials", "head")
    yield look.table(bill_rows(pack.items), (5, 7, 4, 2.2, 2.4, 2.2, 2, 2.2))
    known = math.fsum(item.mass * item.count for item in pack.items if item.mass is not None)
    yield look.words(f"Masses that are known add up to {1e3 * known:.0f} g. An empty cell: not known, or no bin given.")
    yield look.words("Tools", "head")
    for one in pack.tools:
        yield look.words(one, bullet="•")


def _steps(look, pack):
    yield look.words("Steps", "head")
    for number, step in enumerate(pack.steps, 1):
        yield look.words(f"{number}. {step.title}", "step")
        for caution in step.cautions:
            yield look.caution(*caution)
        for words in step.does:
            yield look.words(words, bullet="•")


def _provenance(look, rows):
    from reportlab.platypus import PageBreak

    yield PageBreak()
    yield look.words("Provenance sheet", "head")
    yield look.words(
        "For the judges: who made which piece, how and with what. Fill in by hand; strike out what was not made. "
        "What was bought, lent or made by an adult is told as such."
    )
    yield look.table(rows, (4, 1.5, 2.8, 2.8, 5.4, 2.8, 2, 4.4), blanks=True)
