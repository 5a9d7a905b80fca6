"""DXF and SVG: true size, clean, the same bytes; kerf to both sides."""

import io
import math
import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree

import ezdxf
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon
from turbines import example

from whirlbench.errors import InputError, OutOfRange
from whirlbench.make.blade_outline import blade_drawing
from whirlbench.make.cut_files import dxf_bytes, has_check_line, svg_bytes, with_check_line, write_dxf, write_svg
from whirlbench.make.drawing import CUT, ENGRAVE, MARK, Circle, Drawing, Line, Outline, Text, rectangle
from whirlbench.make.gear_outline import gear_drawing, gear_shape
from whirlbench.make.hub_outline import hub_drawings, hub_holes
from whirlbench.make.nesting import nest
from whirlbench.make.process import grown, process, with_kerf
from whirlbench.make.rib_outline import rib_drawing
from whirlbench.parts.section import Airfoil

GEARED = example("geared").rotor
PRODUCTS = (
    blade_drawing(GEARED),
    rib_drawing(Airfoil(name="4415"), 60.0, 4.0, words="1"),
    *hub_drawings(GEARED, 6.0),
    gear_drawing(gear_shape(64, 1.5), 6.0),
    gear_drawing(gear_shape(8, 1.5, shift=0.35), 2.0, name="pinion"),
)
SVG = "{http://www.w3.org/2000/svg}"


def named(drawing):
    return drawing.name


def read_dxf(content):
    return ezdxf.read(io.StringIO(content.decode()))


def dxf_area(document):
    """Area of everything on CUT, holes taken off by who lies inside whom."""
    space = document.modelspace()
    rings = [Polygon(line.get_points("xy")) for line in space.query("LWPOLYLINE[layer=='CUT']")]
    rounds = [
        (shapely.Point(c.dxf.center.x, c.dxf.center.y), c.dxf.radius) for c in space.query("CIRCLE[layer=='CUT']")
    ]
    shapes = [(ring, ring.area) for ring in rings] + [(point.buffer(r), math.pi * r**2) for point, r in rounds]
    depth = [sum(other.contains(shape) for other, _ in shapes) - 1 for shape, _ in shapes]
    return sum(area * (-1) ** level for (_, area), level in zip(shapes, depth, strict=True))


@pytest.mark.parametrize("drawing", PRODUCTS, ids=named)
def test_a_dxf_is_clean_and_its_areas_are_those_of_the_model(drawing):
    document = read_dxf(dxf_bytes(drawing))
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == 4
    assert {layer.dxf.name for layer in document.layers} >= {CUT, ENGRAVE, MARK}
    assert dxf_area(document) == pytest.approx(drawing.area, rel=1e-3)
    space = document.modelspace()
    assert all(line.closed for line in space.query("LWPOLYLINE[layer=='CUT']"))
    assert len(space.query("CIRCLE")) == len(drawing.circles)


def test_holes_of_a_hub_are_where_they_belong_in_the_file():
    face = hub_drawings(GEARED, 6.0)[0]
    space = read_dxf(dxf_bytes(face)).modelspace()
    centres = np.array([tuple(c.dxf.center)[:2] for c in space.query("CIRCLE[layer=='CUT']") if c.dxf.radius == 1.0])
    wanted = np.array([(hole.x, hole.y) for hole in hub_holes(GEARED, 17.5)])
    assert np.abs(centres - wanted).max() < 0.05


@pytest.mark.parametrize("drawing", PRODUCTS, ids=named)
def test_every_file_carries_a_line_of_100_mm(drawing):
    checked = with_check_line(drawing)
    assert has_check_line(checked)
    assert not has_check_line(drawing)
    assert with_check_line(checked) is checked
    lines = read_dxf(dxf_bytes(drawing)).modelspace().query("LWPOLYLINE[layer=='ENGRAVE']")
    assert any(np.ptp(np.array(line.get_points("xy")), axis=0) == pytest.approx((100.0, 0.0)) for line in lines)


def test_a_nested_sheet_has_the_area_of_its_parts_in_the_file():
    sheet = nest([PRODUCTS[0]] * 4 + list(PRODUCTS[2:4]), 450.0, 300.0).sheets[0]
    document = read_dxf(dxf_bytes(sheet))
    assert dxf_area(document) == pytest.approx(4 * PRODUCTS[0].area + PRODUCTS[2].area + PRODUCTS[3].area, rel=1e-3)


@pytest.mark.parametrize("write", [dxf_bytes, svg_bytes])
def test_the_same_drawing_gives_the_same_bytes(write):
    assert write(PRODUCTS[0]) == write(PRODUCTS[0])
    assert write(PRODUCTS[0]) != write(PRODUCTS[1])


def test_another_process_writes_the_same_bytes():
    code = (
        "import hashlib, sys\n"
        "from whirlbench.make.cut_files import dxf_bytes, svg_bytes\n"
        "from whirlbench.make.gear_outline import gear_drawing, gear_shape\n"
        "drawing = gear_drawing(gear_shape(20, 1.0), 3.0)\n"
        "print(hashlib.sha256(dxf_bytes(drawing) + svg_bytes(drawing)).hexdigest())"
    )
    answers = set()
    for seed in ("1", "4", "7"):  # of the order in which Python walks through sets
        told = {**os.environ, "PYTHONHASHSEED": seed}
        answers.add(subprocess.run([sys.executable, "-c", code], capture_output=True, env=told, check=True).stdout)
    assert len(answers) == 1


def test_writing_leaves_the_dxf_library_as_it_was():
    before = ezdxf.options.write_fixed_meta_data_for_testing
    dxf_bytes(PRODUCTS[0])
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


@pytest.mark.parametrize("drawing", PRODUCTS, ids=named)
def test_an_svg_speaks_millimetres_and_has_the_areas_of_the_model(drawing):
    root = ElementTree.fromstring(svg_bytes(drawing))
    width, height = (float(root.get(key).removesuffix("mm")) for key in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {root.get('width')[:-2]} {root.get('height')[:-2]}"
    checked = with_check_line(drawing)
    assert (width - 10, height - 10) == pytest.approx(checked.size, abs=2e-4)
    cut = next(group for group in root.iter(f"{SVG}g") if group.get("id") == CUT)
    area = 0.0
    for path in cut.iter(f"{SVG}path"):
        rings = [
            np.array(re.findall(r"([-\d.]+),([-\d.]+)", ring), dtype=float) for ring in path.get("d").split("Z")[:-1]
        ]
        area += Polygon(rings[0], rings[1:]).area
    for circle, model in zip(cut.iter(f"{SVG}circle"), [c for c in drawing.circles if c.layer == CUT], strict=True):
        assert float(circle.get("r")) == pytest.approx(model.diameter / 2, abs=1e-4)
        area += (-1 if model.hole else 1) * math.pi * float(circle.get("r")) ** 2
    assert area == pytest.approx(drawing.area, rel=1e-3)


def picture(drawing, dots=10):
    """Pixels of an SVG, dark is True, at some dots a millimetre."""
    import vl_convert
    from PIL import Image

    scale = dots * 25.4 / 96
    return (
        np.array(Image.open(io.BytesIO(vl_convert.svg_to_png(svg_bytes(drawing).decode(), scale=scale))))[..., 3] > 60
    )


def test_a_picture_of_the_svg_measures_true():
    """Two features and the check line within 0.2 mm, at 10 dots a millimetre."""
    square = Drawing("square", (Outline(rectangle(80, 40)),), (Circle(30, 20, 20),))
    seen = picture(square)
    rows, columns = (np.flatnonzero(seen.any(axis=axis)) for axis in (1, 0))
    assert (columns[-1] - columns[0]) / 10 == pytest.approx(100.0, abs=0.2)  # the check line is the widest
    assert (rows[-1] - rows[0]) / 10 == pytest.approx(48.0, abs=0.2)
    edges = np.flatnonzero(seen[(5 + 20) * 10])  # through the middle of the circle
    groups = [run.mean() / 10 - 5 for run in np.split(edges, np.flatnonzero(np.diff(edges) > 3) + 1)]
    assert groups == pytest.approx([0.0, 20.0, 40.0, 80.0], abs=0.2)


def test_words_cannot_break_out_of_a_file():
    words = '<script>"%%u^J&</script>'
    drawing = Drawing("words", (Outline(rectangle(50, 20)),), texts=(Text(25, 10, words, 3.0),))
    texts = [text.text for text in ElementTree.fromstring(svg_bytes(drawing)).iter(f"{SVG}text")]
    assert words in texts
    assert b"<script" not in svg_bytes(drawing)
    document = read_dxf(dxf_bytes(drawing))
    assert not document.audit().errors


def test_degrees_survive_in_a_dxf():
    texts = [text.dxf.text for text in read_dxf(dxf_bytes(PRODUCTS[0])).modelspace().query("TEXT")]
    assert "r 45  18.0°" in texts


@pytest.mark.parametrize("drawing", PRODUCTS, ids=named)
@pytest.mark.parametrize("kerf", [0.15, -0.15])
def test_a_kerf_moves_the_path_by_half_of_itself(drawing, kerf):
    path = with_kerf(drawing, kerf)
    rim = sum(outline.polygon.length for outline in drawing.outlines if outline.layer == CUT)
    rim += sum(math.pi * circle.diameter for circle in drawing.circles if circle.layer == CUT)
    assert path.area - drawing.area == pytest.approx(rim * kerf / 2, rel=0.03)
    assert all(outline.polygon.is_valid for outline in path.outlines)
    assert path.lines == drawing.lines
    assert "kerf of 0.15 mm" in path.notes[-1]


def test_a_kerf_shrinks_holes_and_grows_rims():
    disc = Drawing("disc", circles=(Circle(0, 0, 50, hole=False), Circle(0, 0, 6)))
    assert [circle.diameter for circle in with_kerf(disc, 0.15).circles] == pytest.approx([50.15, 5.85])
    assert [circle.diameter for circle in with_kerf(disc, -0.15).circles] == pytest.approx([49.85, 6.15])
    assert with_kerf(disc, 0.0) is disc


@given(st.floats(0.05, 0.5), st.floats(20, 100), st.floats(20, 100))
def test_what_the_tool_leaves_is_the_part(kerf, width, height):
    part = Polygon([(0, 0), (width, 0), (width, height), (0, height)], [[(5, 5), (5, 12), (12, 12), (12, 5)]])
    path = grown(part, kerf / 2)
    left = path.buffer(-kerf / 2, join_style="mitre")
    assert left.symmetric_difference(part).area < 1e-6


@pytest.mark.parametrize(
    ("drawing", "kerf"),
    [
        (Drawing("rib", (Outline(rectangle(60, 1.0)),)), 1.5),
        (Drawing("rib", (Outline(rectangle(60, 1.0)),)), -1.5),
        (Drawing("ring", circles=(Circle(0, 0, 10, hole=False), Circle(0, 0, 1.0))), 1.2),
        (Drawing("web", (Outline(rectangle(60, 20)),), (Circle(20, 10, 8), Circle(28.5, 10, 8))), 0.8),
    ],
    ids=["thin rib", "thin rib, inside", "small hole", "thin web"],
)
def test_a_kerf_wider_than_a_rib_is_refused(drawing, kerf):
    with pytest.raises(InputError, match=r"a kerf of .* mm, needs a kerf narrower"):
        with_kerf(drawing, kerf)


@pytest.mark.parametrize("kerf", [6.0, math.nan])
def test_no_kerf_is_that_wide(kerf):
    with pytest.raises(OutOfRange, match="kerf"):
        with_kerf(PRODUCTS[0], kerf)


@pytest.mark.parametrize(("write", "ending"), [(write_dxf, ".dxf"), (write_svg, ".svg")])
def test_a_file_is_written_whole_or_not_at_all(tmp_path, write, ending):
    good = write(tmp_path / f"blade{ending}", PRODUCTS[0])
    assert good.read_bytes() == (dxf_bytes if ending == ".dxf" else svg_bytes)(PRODUCTS[0])
    for path, drawing in (
        (tmp_path / f"empty{ending}", Drawing("empty", lines=(Line(((0, 0), (5, 0))),))),
        (tmp_path / "blade.txt", PRODUCTS[0]),
        (tmp_path / "nowhere" / f"blade{ending}", PRODUCTS[0]),
    ):
        with pytest.raises(InputError):
            write(path, drawing)
    assert [path.name for path in tmp_path.iterdir()] == [good.name]


@pytest.mark.parametrize("way", ["printed", "laser", "hand"])
def test_each_way_of_making_states_what_it_adds(way):
    allowed = process(way)
    rib = rib_drawing(Airfoil(name="4418"), 80.0, 4.0, way=way)
    assert rib.circles[0].diameter == pytest.approx(4.0 + allowed.rod_fit)
    assert allowed.note in rib.notes
    assert "common practice" in allowed.note
