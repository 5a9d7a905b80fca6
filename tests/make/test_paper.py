"""Paper sheets: printed true to size, nothing lost between sheets, the same bytes, and no file from what is wrong."""

import numpy as np
import pypdfium2
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from turbines import example

from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.make.base_outline import base_drawing
from whirlbench.make.blade_outline import blade_drawing
from whirlbench.make.drawing import MARK, Circle, Drawing, Line, Outline, rectangle
from whirlbench.make.gear_outline import gear_drawing, gear_shape
from whirlbench.make.hub_outline import hub_drawings
from whirlbench.make.letters import spelt
from whirlbench.make.page import PAPERS
from whirlbench.make.paper import paper_sheets, plan_sheets
from whirlbench.make.sheet_frame import MEASURE, window
from whirlbench.make.tiling import OVERLAP, fits, shelves, tiling

DPI = 600
DOT = 25.4 / DPI  # [mm]
PAPER_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
EDGE, FOOT = 10.0, 21.0  # [mm] where the window begins
TOLD = {"title": "Team Dunlin: blades"}


def pages(path, dpi=DPI):
    """Each page as darkness, lowest row first, so that places are [mm] over the dot from the lower left."""
    document = pypdfium2.PdfDocument(path)
    try:
        return [
            255 - np.asarray(page.render(scale=dpi / 72, grayscale=True).to_numpy()).squeeze()[::-1]
            for page in document
        ]
    finally:
        document.close()


def words(path):
    document = pypdfium2.PdfDocument(path)
    try:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    finally:
        document.close()


def strokes(dark):
    """Middles [mm] of the dark runs along a line of dots, weighed by their ink."""
    inked = np.flatnonzero(dark > 40)
    runs = np.split(inked, np.flatnonzero(np.diff(inked) > 1) + 1)
    return np.array([(run + 0.5) @ dark[run].astype(float) / dark[run].sum() * DOT for run in runs if run.size])


def at(place):
    return int(place / DOT)


def ruler(dark, low, high, start):
    """Ticks between two places of a line of dots."""
    return strokes(dark[at(low) : at(high)]) + at(low) * DOT - start


def sheet(tmp_path, drawings, **more):
    return paper_sheets(tmp_path / "sheets.pdf", drawings, **{**TOLD, **more})


def square(side, name="square", hole=30.0):
    middle = side / 2
    return Drawing(name, (Outline(rectangle(side, side)),), (Circle(middle, middle, hole),))


@pytest.mark.parametrize("paper", PAPERS)
def test_rulers_and_features_are_true_to_size(tmp_path, paper):
    """Ruler across, upwards and in inches on every page; side and hole of a square of 120 mm, 0.1 mm at most."""
    printed = pages(sheet(tmp_path, [square(120.0)], paper=paper))
    for dark in printed:
        assert np.array(dark.shape) * DOT == pytest.approx(PAPER_MM[paper][::-1], abs=0.1)
        across = ruler(dark[at(EDGE + FOOT - 4.5 - 1.0)], EDGE - 1, EDGE + 100.5, EDGE)
        inches = ruler(dark[at(EDGE + FOOT - 13.5 - 1.0)], EDGE - 1, EDGE + 102.5, EDGE)
        beside = EDGE + window(paper)[0] + 2.5 + 1.0
        upwards = ruler(dark[:, at(beside)], EDGE + FOOT - 1, EDGE + FOOT + 100.5, EDGE + FOOT)
        assert across == pytest.approx(np.arange(101), abs=0.1)
        assert upwards == pytest.approx(np.arange(101), abs=0.1)
        assert inches == pytest.approx(25.4 / 8 * np.arange(33), abs=0.1)
    dark = printed[-1]
    placed = plan_sheets([square(120.0)], paper=paper)[0].placed[0]
    middle = EDGE + FOOT + placed.y + 60.0
    found = strokes(dark[at(middle), : at(EDGE + placed.x + 121.0)]) - EDGE - placed.x
    assert found == pytest.approx([0.0, 45.0, 60.0, 75.0, 120.0], abs=0.1), "edge, hole with its centre, edge"


@pytest.mark.parametrize("paper", PAPERS)
def test_a_large_part_is_true_across_its_sheets(tmp_path, paper):
    """Both sides of a plate of 380 by 100 mm, found on two sheets whose crosses are laid on each other."""
    plate = Drawing("plate", (Outline(rectangle(380.0, 100.0)),), (Circle(190.0, 50.0, 200.0 / 3, MARK, hole=False),))
    sheets = plan_sheets([plate], paper=paper)
    assert len(sheets) == 2
    assert all(each.on_its_side for each in sheets), "the long axis lies along the long side"
    printed = pages(sheet(tmp_path, [plate], paper=paper))[-2:]
    shift, edges = [], []
    for each, dark in zip(sheets, printed, strict=True):
        line = EDGE + FOOT + 25.0 - each.tile.low  # 25 mm above the lower side: across the straight sides
        inside = dark[at(line), at(EDGE) : at(EDGE + window(paper, True)[0])]
        edges.append(strokes(inside))
        join = each.tiling.across[1] - each.tile.left
        height = EDGE + FOOT + each.tiling.up[0] - each.tile.low
        cross = strokes(dark[at(height + 2.2), at(EDGE + join - 1) : at(EDGE + join + 1)])
        assert cross - 1.0 == pytest.approx([0.0], abs=0.1)
        shift.append(join)
    length = edges[1][-1] - shift[1] + shift[0] - edges[0][0]
    assert length == pytest.approx(380.0, abs=0.1)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_blade_a_gear_and_a_hub_are_true_to_size(tmp_path, paper):
    rotor = example("geared").rotor
    blade, gear, face = blade_drawing(rotor), gear_drawing(gear_shape(64, 0.5), 6.0), hub_drawings(rotor, 6.0)[0]
    sheets = plan_sheets([blade, gear, face], paper=paper)
    printed = pages(sheet(tmp_path, [blade, gear, face], paper=paper))[-len(sheets) :]
    seen = {
        placed.drawing.name: (EDGE + placed.x, EDGE + FOOT + placed.y, dark)
        for each, dark in zip(sheets, printed, strict=True)
        for placed in each.placed
    }
    left, low, dark = seen["blade"]
    tip = strokes(dark[at(low) - 40 : at(low + blade.size[1]) + 40, at(left + blade.size[0] - 0.4)])
    assert tip[-1] - tip[0] == pytest.approx(1000 * rotor.shape.tip_chord * 1.0066, abs=0.2)  # 5 % bend: its arc
    left, low, dark = seen[gear.name]
    x, y = left + gear.size[0] / 2, low + gear.size[1] / 2
    bore = strokes(dark[at(y), at(x - 4.5) : at(x + 4.5)])
    assert bore[-1] - bore[0] == pytest.approx(6.0, abs=0.1)
    tips = strokes(dark[at(y), at(x - 20) : at(x + 20)])  # 64 teeth: one lies on either side
    assert tips[-1] - tips[0] == pytest.approx(33.0, abs=0.1)
    left, low, dark = seen["hub-face"]
    x, y = left + 25.0, low + 25.0
    pins = sorted((c.x, c.diameter) for c in face.circles if abs(c.y) < 1e-6 and c.hole)  # in line with the bore
    through = strokes(dark[at(y + 0.6), at(x - 24.0) : at(x + 24.0)]) - 24.0 + (at(x - 24.0) * DOT - x + 24.0)
    expected = [cx + side * (d**2 / 4 - 0.36) ** 0.5 for cx, d in pins for side in (-1, 1)]
    assert through == pytest.approx(sorted([*expected, 0.0]), abs=0.1), "pins and bore, a cross in the bore"


SIZES = st.floats(5.0, 900.0)


@settings(max_examples=80, deadline=None)
@given(SIZES, SIZES, st.sampled_from(PAPERS), st.booleans(), st.floats(-300, 300))
def test_tiles_cover_everything_and_share_their_overlap(wide, high, paper, side, x):
    room = window(paper, side)
    drawing = Drawing("part", (Outline(rectangle(wide, high)),)).moved(x, -x)
    spread = tiling(drawing, room)
    shown = shapely.union_all([shapely.box(t.left, t.low, t.left + room[0], t.low + room[1]) for t in spread.tiles])
    assert shown.buffer(1e-9).contains(drawing.material)
    for tile in spread.tiles:
        right = spread.beside(tile, column=1)
        if right:
            assert tile.left + room[0] - right.left == pytest.approx(OVERLAP)
            assert spread.across[right.column] == pytest.approx(right.left + OVERLAP / 2)
        above = spread.beside(tile, row=1)
        if above:
            assert tile.low + room[1] - above.low == pytest.approx(OVERLAP)
            assert spread.up[above.row] == pytest.approx(above.low + OVERLAP / 2)
    numbers = [number for number, _, _ in spread.crosses.values()]
    assert numbers == list(range(1, len(numbers) + 1))
    assert bool(numbers) == (len(spread.tiles) > 1)


def test_a_sheet_that_would_show_nothing_is_left_out(tmp_path):
    corner = shapely.Polygon([(0, 0), (500, 0), (500, 20), (20, 20), (20, 500), (0, 500)])
    angle = Drawing("angle", (Outline(corner),))
    spread = tiling(angle, window("A4"))
    places = {(tile.column, tile.row) for tile in spread.tiles}
    assert (0, 0) in places
    assert (len(spread.across) - 2, len(spread.up) - 2) not in places
    path = sheet(tmp_path, [angle])
    assert len(pages(path, dpi=20)) == 1 + len(plan_sheets([angle]))
    frame = Drawing("frame", (Outline(rectangle(900.0, 900.0)),))
    inner = tiling(frame, window("A4"))
    assert len(inner.tiles) == (len(inner.across) - 1) * (len(inner.up) - 1), "no hole in a joined sheet"


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(st.floats(5, 170), st.floats(5, 220)), min_size=1, max_size=12), st.sampled_from(PAPERS))
def test_small_parts_share_sheets_without_touching(sizes, paper):
    room = window(paper)
    sizes = [size for size in sizes if fits(size, room)]
    sheets = shelves(sizes, room)
    assert [number for sheet in sheets for number, _, _ in sheet] == list(range(len(sizes)))
    for each in sheets:
        boxes = [shapely.box(x, y, x + sizes[i][0], y + sizes[i][1]) for i, x, y in each]
        assert all(shapely.box(0, 0, *room).contains(one) for one in boxes)
        assert all(a.distance(b) > 5.0 for i, a in enumerate(boxes) for b in boxes[:i])


def test_neighbours_are_named_and_the_rulers_explained(tmp_path):
    said = words(sheet(tmp_path, [base_drawing(example("advanced"))], cautions=["Goggles on when sawing."]))
    assert all(MEASURE in each and "Goggles on when sawing." in each for each in said)
    assert all(each.count("100 mm") >= 3 and "4 in" in each for each in said)
    assert "lay on sheet 2 (A2)" in said[1]
    assert "sheet 1 (A1) lies on here" in said[2]
    assert all(f"sheet {i} of {len(said) - 1}" in each for i, each in enumerate(said[1:], start=1))
    for number in range(2, len(said)):
        assert sum(f"sheet {number} (" in each for each in said) >= 2


def test_counts_notes_and_accents_show(tmp_path):
    parts = [square(20.0 + i, f"part-{i}") for i in range(4)]
    parts = [Drawing(p.name, p.outlines, p.circles, notes=("sand the edges", f"{p.name}: own note")) for p in parts]
    path = sheet(tmp_path, parts, title="Équipe Łódź, λ = 5°", counts={"part-2": 12})
    first, second = words(path)
    assert "Équipe Łódz, lambda = 5°" in first, "accents that the face has, the rest spelt"
    assert "part-2: make 12" in first
    assert first.count("sand the edges") == 1, "told once on the first page"
    assert "sand the edges" not in second
    assert "own note" in second
    assert b"Helvetica" not in path.read_bytes(), "every face travels inside the file"
    assert b"/PrintScaling /None" in path.read_bytes()
    assert spelt("Δβ → ½ Ж") == "deltabeta -> ½ ?"


def test_same_drawings_same_file(tmp_path):
    parts = [blade_drawing(example("starter").rotor), square(400.0)]
    for name in ("one", "two"):
        paper_sheets(tmp_path / f"{name}.pdf", parts, **TOLD)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


def test_a_drawing_of_lines_alone_is_printed(tmp_path):
    assert sheet(tmp_path, [Drawing("axis", lines=(Line(((0, 0), (50, 0)), MARK),))]).exists()


@pytest.mark.parametrize(
    ("drawings", "more", "told"),
    [
        ([], {}, "no drawings"),
        ([Drawing("empty")], {}, "nothing to draw"),
        ([square(4000.0)], {}, "sheets"),
        ([square(20.0)], {"title": "two\nlines"}, "one line"),
        ([square(20.0)], {"title": "   "}, "one line"),
        ([square(20.0)], {"title": "x" * 81}, "one line"),
        ([square(20.0)], {"cautions": ["a\x07bell"]}, "one line"),
        ([square(20.0)], {"paper": "A5"}, "A4"),
        ([square(20.0)], {"counts": {"square": 0}}, "whole number"),
        ([square(20.0)], {"counts": {"square": 2.5}}, "whole number"),
    ],
)
def test_what_cannot_be_printed_is_refused_without_a_file(tmp_path, drawings, more, told):
    with pytest.raises((InputError, UnknownKey, OutOfRange), match=told):
        sheet(tmp_path, drawings, **more)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", ["../blade", "a/b", "C:\\blade", "", "a\nb", "ro.tor", "-x"])
def test_hostile_names_are_refused(name):
    with pytest.raises(InputError, match="letters, digits"):
        square(20.0, name)


def test_places_that_cannot_be_written_are_refused(tmp_path):
    with pytest.raises(InputError, match=r"an ending \.pdf"):
        paper_sheets(tmp_path / "blade.doc", [square(20.0)], **TOLD)
    with pytest.raises(InputError, match="make the folder first"):
        paper_sheets(tmp_path / "missing" / "blade.pdf", [square(20.0)], **TOLD)
    assert not list(tmp_path.iterdir())
