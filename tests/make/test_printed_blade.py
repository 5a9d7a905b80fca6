"""The printed blade is the blade that was predicted: its sections, its volume, its weight; split, it still adds up."""

import math

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity, box
from turbines import degrees, example, numbers, rotors

from whirlbench.errors import InputError, InputErrors, OutOfRange, UnknownKey
from whirlbench.make import mesh_files
from whirlbench.make.blade_outline import station_at
from whirlbench.make.features import Prism, add, prismatoid
from whirlbench.make.mesh import bulk, is_closed, level
from whirlbench.make.printed_blade import blade_rings, printed_blade, printed_weight
from whirlbench.make.section_outline import section_polygon
from whirlbench.make.solid import solid, wall_share
from whirlbench.make.split_blade import split_blade
from whirlbench.parts.part import build
from whirlbench.parts.rotor import Rotor

ADVANCED = example("advanced").rotor


def long_rotor(**fields):
    """A 300 mm blade with a 4-digit section."""
    shape = {"kind": "straight", "inner_radius": 0.045, "tip_radius": 0.345, "root_chord": 0.06, "tip_chord": 0.03}
    section = {"kind": "airfoil", "name": "4412", "material": "PLA", "fill": 0.4}
    parts = {"hub": {"radius": 0.03}, "holes": (1, 5, 9), "pitch": 0.1, "section": section, "rod": {"diameter": 0.008}}
    return build(Rotor, {**parts, "shape": shape | {"twist": 0.4}, **fields})


def placed(section, station, turning):
    """Section as the blade should have it, up to a shift: nose ahead and into the wind."""
    ahead = affinity.scale(section, xfact=-1, origin=(0, 0))
    turned = affinity.rotate(ahead, -station.angle, (0, 0), use_radians=True)
    return turned if turning == "right" else affinity.scale(turned, xfact=-1, origin=(0, 0))


def centred(polygon):
    return affinity.translate(polygon, -polygon.centroid.x, -polygon.centroid.y)


@pytest.mark.parametrize("turning", ["right", "left"])
@pytest.mark.parametrize("rotor", [ADVANCED, example("geared").rotor, long_rotor()], ids=["stations", "sheet", "long"])
def test_every_section_is_the_aerodynamic_one(rotor, turning):
    blade = printed_blade(rotor, turning=turning, root="plain")
    inner, tip = rotor.shape.inner_radius, rotor.shape.tip_radius
    places = np.linspace(inner + 1e-5, tip - 1e-5, 14)
    for place in places:
        station = station_at(rotor, place)
        tail = 0.8 if rotor.section.kind == "airfoil" else 0.0
        wanted = centred(placed(section_polygon(rotor.section, station.chord, tail=tail), station, turning))
        cut = centred(level(blade.mesh, 1000 * place))
        assert cut.hausdorff_distance(wanted) < 0.1
        assert cut.area == pytest.approx(wanted.area, rel=0.005)


def test_only_the_tail_is_thicker_than_the_airfoil():
    rotor = long_rotor()
    ring = blade_rings(rotor, radii=[0.2])[0][:, :2]
    station = station_at(rotor, 0.2)
    true = centred(section_polygon(rotor.section, station.chord))
    c, s = math.cos(station.angle), math.sin(station.angle)
    own = np.column_stack([-ring[:, 0] * c + ring[:, 1] * s, ring[:, 0] * s + ring[:, 1] * c])
    front = shapely.box(-1e3, -1e3, 0.69 * station.chord, 1e3)
    made = Polygon(own)
    made = affinity.translate(made, -made.bounds[0] + true.bounds[0], 0)
    made, true = (affinity.translate(one, -one.bounds[0], 0).intersection(front) for one in (made, true))
    assert centred(made).hausdorff_distance(centred(true)) < 0.02


def test_the_nose_leads_and_looks_into_the_wind():
    rotor = long_rotor()
    ring = blade_rings(rotor, radii=[0.045])[0]
    nose = ring[ring[:, 0].argmax()]
    assert nose[0] > 0
    assert nose[1] < 0, "y points downwind, so the nose stands into the wind"
    tail = ring[ring[:, 0].argmin()]
    angle = math.atan2(tail[1] - nose[1], nose[0] - tail[0])
    assert angle == pytest.approx(0.5, abs=0.03)  # pitch and twist at the root, by the far ends of the outline
    x, y = Polygon(ring[:, :2]).centroid.coords[0]
    chord_side = (nose[0] - tail[0]) * (y - tail[1]) - (nose[1] - tail[1]) * (x - tail[0])
    assert chord_side > 0, "the suction side looks downwind"


def test_volume_is_the_ruled_one():
    blade = printed_blade(ADVANCED, root="plain")
    assert blade.volume == pytest.approx(prismatoid(blade.steps[0].feature.rings), rel=0.001)
    radii = np.linspace(ADVANCED.shape.inner_radius, ADVANCED.shape.tip_radius, 2001)
    areas = [section_polygon(ADVANCED.section, station_at(ADVANCED, r).chord, tail=0.8).area for r in radii[::20]]
    assert blade.volume == pytest.approx(np.trapezoid(areas, 1000 * radii[::20]), rel=0.005)


def test_left_and_right_are_mirror_images():
    right, left = (printed_blade(ADVANCED, turning=turning) for turning in ("right", "left"))
    assert right.volume == pytest.approx(left.volume, rel=1e-5)
    assert np.array(right.centre) * (-1, 1, 1) == pytest.approx(left.centre, abs=1e-7)
    for z in (60, 130, 240):
        mirrored = affinity.scale(level(right.mesh, z), xfact=-1, origin=(0, 0))
        assert mirrored.symmetric_difference(level(left.mesh, z)).area < 0.02
        assert level(right.mesh, z).symmetric_difference(level(left.mesh, z)).area > 5, "the check can fail"


def test_the_rod_fits_the_socket():
    blade = printed_blade(ADVANCED)
    start = 1000 * ADVANCED.shape.inner_radius
    hole = level(blade.mesh, start + 10).interiors[0]
    assert Polygon(hole).area == pytest.approx(math.pi * 8.2**2 / 4, rel=1e-3)
    assert Polygon(hole).centroid.coords[0] == pytest.approx((0, 0), abs=1e-3)
    assert level(blade.mesh, start + 33).interiors[:] == []
    assert "8.20 mm" in " ".join(blade.notes)


def test_a_peg_fits_the_hub():
    blade = printed_blade(ADVANCED, root="peg")
    inner = 1000 * (ADVANCED.hub.radius - ADVANCED.rod.socket_depth)
    assert blade.mesh.vertices[:, 2].min() == pytest.approx(inner)
    assert level(blade.mesh, inner + 2).area == pytest.approx(math.pi * 7.8**2 / 4, rel=1e-3)


def test_the_weight_flows_back():
    blade = printed_blade(ADVANCED)
    found = printed_weight(ADVANCED, blade)
    changed = ADVANCED.changed(weighed=found.weighed, mass_radius=found.mass_radius)
    assert changed.weighed == found.weighed
    rod = 616 * math.pi * 0.004**2 * (0.072 - 0.007)
    assert found.weighed[0] == pytest.approx(blade.mass + rod, rel=1e-6)
    assert found.mass_radius == pytest.approx(
        (blade.mass * blade.centre[2] + rod * 0.0395) / (blade.mass + rod), rel=1e-6
    )
    assert found.inertia > found.weighed[0] * found.mass_radius**2


def test_inertia_of_a_blade_is_that_of_its_slices():
    rotor = long_rotor(rod=None)
    blade = printed_blade(rotor)
    z = np.linspace(45, 345, 61)
    sections = [level(blade.mesh, min(max(h, 45.001), 344.999)).area for h in z]
    wanted = np.trapezoid(sections * z**2, z) * 1e-15 * 1240 * 0.4
    assert printed_weight(rotor, blade).inertia == pytest.approx(wanted, rel=0.01)  # sideways extent adds a little


def test_split_for_a_small_printer():
    rotor = long_rotor()
    blade = printed_blade(rotor)
    *pieces, pin = split_blade(blade, longest=180)
    assert [piece.name for piece in pieces] == ["blade-1-of-2", "blade-2-of-2"]
    assert all(piece.mesh.size[2] <= 180 for piece in pieces)
    assert all(is_closed(piece.mesh) for piece in pieces)
    diameter, depth = (float(word) for word in (pin.notes[0].split(" mm")[0], pin.notes[0].split("for holes ")[1][:2]))
    holes = 2 * math.pi * (diameter + 0.25) ** 2 / 4 * depth
    assert sum(piece.volume for piece in pieces) == pytest.approx(blade.volume - holes, rel=1e-4)
    assert pin.volume == pytest.approx(math.pi * diameter**2 / 4 * (depth - 0.5), rel=1e-4)
    assert pin.count == 2 * blade.count
    faces = [level(pieces[0].mesh, 194.9), level(pieces[1].mesh, 195.1)]
    assert [len(face.interiors) for face in faces] == [2, 2]
    assert faces[0].hausdorff_distance(faces[1]) < 0.1


def test_walls_around_the_pins_hold():
    blade = printed_blade(long_rotor())
    for piece in split_blade(blade, longest=90)[:4]:
        ends = piece.mesh.vertices[:, 2].min() + 0.01, piece.mesh.vertices[:, 2].max() - 0.01
        for z in ends:
            section = level(piece.mesh, z)
            assert all(hole.distance(section.exterior) > 0.79 for hole in section.interiors)


def test_a_blade_that_fits_is_left_whole():
    blade = printed_blade(ADVANCED)
    assert split_blade(blade, longest=300) == (blade,)


def test_a_thin_blade_says_that_it_has_no_pins():
    blade = printed_blade(example("starter").rotor)
    pieces = split_blade(blade, longest=120)
    assert len(pieces) == 2
    assert "too thin for pins" in " ".join(pieces[1].notes)


def test_same_input_same_bytes():
    one, other = (split_blade(printed_blade(long_rotor()), longest=180) for _ in range(2))
    assert mesh_files.three_mf_bytes(one) == mesh_files.three_mf_bytes(other)
    assert [mesh_files.stl_bytes(each.mesh) for each in one] == [mesh_files.stl_bytes(each.mesh) for each in other]


def test_hostile_input():
    with pytest.raises(InputErrors, match="chord"):
        long_rotor(
            shape={"kind": "straight", "inner_radius": 0.05, "tip_radius": 0.3, "root_chord": 0, "tip_chord": 0.1}
        )
    thin = {"kind": "straight", "inner_radius": 0.05, "tip_radius": 0.3, "root_chord": 0.05, "tip_chord": 0.005}
    with pytest.raises(OutOfRange, match="chord of a printed blade"):
        printed_blade(long_rotor(shape=thin))
    with pytest.raises(InputError, match="without a rod"):
        printed_blade(long_rotor(rod=None), root="peg")
    with pytest.raises(UnknownKey, match="turning"):
        printed_blade(ADVANCED, turning="up")
    with pytest.raises(UnknownKey, match="root"):
        printed_blade(ADVANCED, root="sokcet")
    with pytest.raises(OutOfRange, match="longest piece"):
        split_blade(printed_blade(ADVANCED), longest=5)
    with pytest.raises(InputError, match="name of the part"):
        printed_blade(ADVANCED, name="../blade")


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(rotors(), st.sampled_from(["right", "left"]), st.sampled_from([None, "peg", "plain"]))
def test_any_legal_blade_closes_or_is_refused(data, turning, root):
    try:
        blade = printed_blade(build(Rotor, data), turning=turning, root=root)
    except InputError:
        assume(False)
    assert is_closed(blade.mesh)
    assert blade.volume > 0
    assert blade.mass > 0
    assert trimesh.Trimesh(blade.mesh.vertices, blade.mesh.triangles, process=False).is_volume
    assert bulk(blade.on_bed).volume == pytest.approx(blade.volume)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(numbers(0.02, 0.12), numbers(0.01, 0.06), degrees(-30, 90), st.sampled_from(["0006", "4412", "6418", "s1223"]))
def test_airfoil_blades_always_close(root_chord, tip_chord, twist, name):
    shape = {"kind": "straight", "inner_radius": 0.05, "tip_radius": 0.3, "twist": twist}
    rotor = long_rotor(
        shape=shape | {"root_chord": root_chord, "tip_chord": tip_chord}, section={"kind": "airfoil", "name": name}
    )
    blade = printed_blade(rotor, root="plain")
    assert is_closed(blade.mesh)
    assert blade.volume == pytest.approx(prismatoid(blade.steps[0].feature.rings), rel=0.005)


def test_walls_of_a_thin_blade_are_most_of_it():
    blade = printed_blade(ADVANCED, fill=0.4)
    share = wall_share(blade.mesh)
    assert 0.4 < share < 0.7
    assert any("two walls alone fill about" in note for note in blade.notes)
    assert not any("two walls" in note for note in printed_blade(ADVANCED, fill=0.75).notes)


def test_walls_of_a_block_are_its_skin():
    block = solid("block", [add(Prism(box(0, 0, 40, 40), 0, 40))])
    assert wall_share(block.mesh) == pytest.approx(6 * 40**2 * 0.8 / 40**3)
    thin = solid("sheet", [add(Prism(box(0, 0, 40, 40), 0, 0.8))])
    assert wall_share(thin.mesh) == 1
