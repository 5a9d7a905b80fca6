"""STEP files give back the volume that went in, byte by byte the same each time."""

import sys

import pytest
from shapely import box
from turbines import example

from whirlbench.errors import InputError, MissingExtra
from whirlbench.make import step_file
from whirlbench.make.features import Prism, Rod, Turned, add, cut
from whirlbench.make.printed_blade import printed_blade
from whirlbench.make.printed_hub import printed_hub
from whirlbench.make.printed_wheels import printed_gears
from whirlbench.make.solid import solid
from whirlbench.make.split_blade import split_blade

ADVANCED = example("advanced")
SIMPLE = [
    add(Prism(box(-20, -20, 20, 20), 0, 6)),
    add(Turned([[0, 5], [10, 5], [10, 15], [0, 15]])),
    add(Rod((0, 0, 14), (0, 0, 24), 12, 6)),
    cut(Rod((0, 0, -1), (0, 0, 30), 4)),
]


def written_and_read(path, part):
    step_file.write_step(path, part)
    return step_file.read_step(path)


def test_simple_bodies_are_exact(tmp_path):
    pytest.importorskip("OCP")
    part = solid("simple", SIMPLE)
    found = written_and_read(tmp_path / "simple.step", part)
    assert found == pytest.approx(part.volume, rel=1e-5)


def test_the_file_is_the_same_each_time_and_quiet(capfd):
    pytest.importorskip("OCP")
    part = solid("simple", SIMPLE)
    one = step_file.step_bytes(part)
    assert one == step_file.step_bytes(part)
    assert b"1980-01-01T00:00:00" in one
    assert b"SI_UNIT(.MILLI.,.METRE.)" in one
    assert capfd.readouterr().out == ""


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["blade", "piece", "hub", "gear"])
def test_parts_come_back_with_their_volume(tmp_path, kind):
    pytest.importorskip("OCP")
    parts = {
        "blade": lambda: printed_blade(example("geared").rotor),
        "piece": lambda: split_blade(printed_blade(ADVANCED.rotor), longest=110)[1],
        "hub": lambda: printed_hub(ADVANCED),
        "gear": lambda: printed_gears(ADVANCED.drivetrain[0], (8.0, 6.0))[1],
    }
    part = parts[kind]()
    found = written_and_read(tmp_path / "part.step", part)
    assert found == pytest.approx(part.volume, rel=0.001)  # true circles and splines for fine polygons


def test_a_cad_body_of_another_volume_is_no_file(monkeypatch):
    pytest.importorskip("OCP")
    part = solid("simple", SIMPLE)
    monkeypatch.setattr(step_file, "_MATCH", 1e-12)
    with pytest.raises(InputError, match="the same volume"):
        step_file.step_bytes(part)


def test_without_the_extra_one_line_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "OCP", None)
    with pytest.raises(MissingExtra, match=r"whirlbench\[cad\]"):
        step_file.step_bytes(solid("simple", SIMPLE))


def test_no_step_file_is_told(tmp_path):
    pytest.importorskip("OCP")
    path = tmp_path / "part.step"
    path.write_text("nothing")
    with pytest.raises(InputError, match="a STEP file"):
        step_file.read_step(path)
    with pytest.raises(InputError, match=r"an ending \.step"):
        step_file.write_step(tmp_path / "part.stl", solid("simple", SIMPLE))
