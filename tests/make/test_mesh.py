"""Volume, balance point and inertia of simple bodies against geometry, and files against strict readers."""

import io
import math
import zipfile

import numpy as np
import pytest
import trimesh
from shapely import box

from whirlbench.errors import InputError, OutOfRange
from whirlbench.make import mesh_files
from whirlbench.make.features import Loft, Prism, Rod, Turned, add, built, cut, lofted, prismatoid
from whirlbench.make.mesh import Mesh, bulk, is_closed, level, turned
from whirlbench.make.picture import picture_png, shaded
from whirlbench.make.solid import solid

BRICK = [add(Prism(box(1, 2, 4, 6), 5, 10))]


def test_a_brick():
    found = bulk(built(BRICK, "brick"))
    assert found.volume == pytest.approx(60)
    assert found.centre == pytest.approx((2.5, 4, 7.5))
    sides = np.array([3.0, 4.0, 5.0]) ** 2
    assert np.array(found.inertia) == pytest.approx(60 / 12 * np.diag(sides.sum() - sides), abs=1e-6)


def test_a_tube_and_its_inertia():
    tube = built([add(Rod((0, 0, 0), (0, 0, 5), 20)), cut(Rod((0, 0, -1), (0, 0, 6), 6))], "tube")
    found = bulk(tube)
    assert found.volume == pytest.approx(math.pi * 5 * (100 - 9), rel=1e-6)
    assert found.inertia[2][2] == pytest.approx(found.volume * (100 + 9) / 2, rel=1e-3)
    assert found.volume == pytest.approx(bulk(built([add(Turned([[3, 0], [10, 0], [10, 5], [3, 5]]))], "t")).volume)


def test_a_rod_lies_where_it_is_told():
    found = bulk(built([add(Rod((1, 0, 0), (4, 4, 12), 10))], "rod"))
    assert found.volume == pytest.approx(math.pi * 25 * 13, rel=1e-6)
    assert found.centre == pytest.approx((2.5, 2, 6), abs=1e-5)


def test_a_cone():
    found = bulk(built([add(Rod((0, 0, 0), (0, 0, 10), 10, 4))], "cone"))
    assert found.volume == pytest.approx(math.pi * 10 / 3 * (25 + 4 + 10), rel=1e-6)


def test_inertia_agrees_with_another_library():
    steps = [*BRICK, add(Rod((0, 0, 0), (5, 4, 9), 2)), cut(Rod((2, 3, 0), (2, 3, 20), 1))]
    mesh = built(steps, "odd")
    other = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    found = bulk(mesh)
    assert other.is_watertight
    assert found.volume == pytest.approx(other.volume, rel=1e-9)
    assert found.centre == pytest.approx(other.center_mass, rel=1e-9)
    assert np.array(found.inertia) == pytest.approx(other.moment_inertia, rel=1e-7, abs=1e-7)


def test_a_mirrored_body_is_still_inside_out_nowhere():
    mesh = built([*BRICK, cut(Rod((2, 3, 0), (2, 3, 20), 1))], "brick")
    other = turned(mesh, np.diag([-1.0, 1.0, 1.0]))
    assert is_closed(other)
    assert bulk(other).volume == pytest.approx(bulk(mesh).volume, rel=1e-12)
    assert bulk(other).centre[0] == pytest.approx(-bulk(mesh).centre[0])


def test_the_closed_check_can_fail():
    mesh = built(BRICK, "brick")
    assert is_closed(mesh)
    assert not is_closed(Mesh(mesh.vertices, mesh.triangles[1:]))
    flipped = mesh.triangles.copy()
    flipped[0] = flipped[0][::-1]
    assert not is_closed(Mesh(mesh.vertices, flipped))


def test_a_twisted_loft_nears_the_ruled_volume_as_it_gets_finer():
    def rings(count):
        turn = np.linspace(0, 1, count)
        corners = np.array([[-4, -1], [4, -1], [4, 1], [-4, 1]])
        c, s = np.cos(turn), np.sin(turn)
        flat = np.einsum("mij,nj->mni", np.stack([np.stack([c, -s], 1), np.stack([s, c], 1)], 1), corners)
        return np.dstack([flat, np.broadcast_to(20 * turn[:, None], flat.shape[:2])])

    errors = [abs(bulk(lofted(Loft(rings(n)))).volume / prismatoid(rings(n)) - 1) for n in (5, 50)]
    assert errors[1] < errors[0] / 5
    assert prismatoid(rings(400)) == pytest.approx(8 * 2 * 20, rel=1e-4)


def test_a_section_has_the_holes():
    mesh = built([add(Rod((0, 0, 0), (0, 0, 5), 20)), cut(Rod((3, 0, -1), (3, 0, 6), 6))], "disc")
    assert level(mesh, 2.5).area == pytest.approx(math.pi * (100 - 9), rel=1e-5)
    assert level(mesh, 9.0).is_empty


def test_nothing_left_is_refused():
    with pytest.raises(InputError, match="nothing left"):
        built([*BRICK, cut(Prism(box(0, 0, 9, 9), 0, 20))], "brick")


@pytest.mark.parametrize("name", ["a/b", "..", "", "x" * 80, "a b"])
def test_a_name_that_is_no_file_stem_is_refused(name):
    with pytest.raises(InputError, match="name of the part"):
        solid(name, BRICK)


def test_material_and_fill_are_checked():
    assert solid("brick", BRICK, fill=0.5).mass == pytest.approx(60e-9 * 1240 * 0.5)
    with pytest.raises(InputError, match="plastic to print"):
        solid("brick", BRICK, material="balsa")
    with pytest.raises(OutOfRange, match="fill"):
        solid("brick", BRICK, fill=0.0)


def test_stl_reads_back():
    part = solid("brick", BRICK)
    content = mesh_files.stl_bytes(part.on_bed)
    back = trimesh.load(io.BytesIO(content), file_type="stl")
    assert back.is_watertight
    assert back.volume == pytest.approx(60, rel=1e-6)
    assert back.bounds[0] == pytest.approx((0, 0, 0))
    assert content == mesh_files.stl_bytes(solid("brick", BRICK).on_bed)


def test_3mf_passes_the_strict_reader(tmp_path):
    lib3mf = pytest.importorskip("lib3mf")
    parts = [solid("brick", BRICK, count=3), solid("tube", [add(Rod((0, 0, 0), (0, 0, 5), 20))])]
    path = mesh_files.write_3mf(tmp_path / "parts.3mf", parts)
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    assert model.GetBuildItems().Count() == 4
    meshes = model.GetMeshObjects()
    assert meshes.Count() == 2
    while meshes.MoveNext():
        assert meshes.GetCurrentMeshObject().IsManifoldAndOriented()
    assert path.read_bytes() == mesh_files.three_mf_bytes(parts)
    assert zipfile.ZipFile(path).testzip() is None


def test_files_say_what_they_need(tmp_path):
    part = solid("brick", BRICK)
    with pytest.raises(InputError, match=r"an ending \.stl"):
        mesh_files.write_stl(tmp_path / "brick.txt", part)
    with pytest.raises(InputError, match="can be written"):
        mesh_files.write_stl(tmp_path / "no" / "brick.stl", part)
    with pytest.raises(InputError, match="no parts"):
        mesh_files.three_mf_bytes([])


def test_a_picture_shows_the_part_on_paper():
    mesh = built([add(Rod((0, 0, 0), (0, 0, 5), 20)), cut(Rod((0, 0, -1), (0, 0, 6), 10))], "ring")
    pixels = shaded(mesh, width=120, height=80)
    paper = (pixels == (251, 247, 238)).all(axis=-1)
    assert paper[:4].all()
    assert paper[:, :4].all()
    assert 0.3 < 1 - paper.mean() < 0.8
    assert paper[36:44, 56:64].any(), "the bore goes through"
    assert picture_png(mesh) == picture_png(mesh)
    with pytest.raises(OutOfRange, match="pixels"):
        shaded(mesh, width=5)
