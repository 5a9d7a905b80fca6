"""Files and pictures of single pieces, as a page asks for them."""

import xml.etree.ElementTree as ET

import pytest
from turbines import BUILDS, EXAMPLES, example

from whirlbench.actions.make_pack import MakeOrder
from whirlbench.actions.make_parts import make_parts
from whirlbench.actions.part_files import makeables, media_type, part_file, part_picture
from whirlbench.errors import InputError, UnknownKey


@pytest.fixture(autouse=True)
def _no_step(monkeypatch):
    monkeypatch.setattr("whirlbench.make.pack_files.has_cad", lambda: False)


def order(name):
    return MakeOrder(text=(EXAMPLES / f"{name}.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", BUILDS)
def test_a_file_is_the_one_of_the_folder(name, tmp_path):
    make_parts(example(name), tmp_path / "pack", order(name))
    there = {one.relative_to(tmp_path / "pack").as_posix() for one in (tmp_path / "pack").rglob("*") if one.is_file()}
    told = makeables(example(name), order(name))
    assert {one.path for one in told.files} == there - {"manifest.json"}
    assert {path for piece in told.pieces for path in piece.files} <= there
    for one in told.files:
        assert part_file(example(name), one.path, order(name)) == (tmp_path / "pack" / one.path).read_bytes()


@pytest.mark.parametrize("name", BUILDS)
def test_every_piece_has_its_picture(name):
    for piece in makeables(example(name)).pieces:
        picture = ET.fromstring(part_picture(example(name), piece.name))
        assert picture.tag.endswith("svg")
        assert "width" not in picture.attrib  # it takes the room of the page
        _, _, wide, tall = map(float, picture.attrib["viewBox"].split())
        if piece.way == "flat":
            assert wide > 1e3 * piece.width_m
            assert tall > 1e3 * piece.depth_m


def test_a_hole_is_seen_through_the_filled_disc():
    picture = part_picture(example("starter"), "hub-face")
    filled = picture[picture.index("evenodd") :].split("</g>")[0]
    assert filled.count("<path") == 1
    assert filled.count("M") == 1 + 1 + 12  # rim, bore, a pin hole for each of twelve rods


def test_words_of_a_name_cannot_become_marks():
    turbine = example("starter").changed(name="a <b> & c")
    assert b"<b>" not in part_file(turbine, "cut/blade.svg")
    assert makeables(turbine).turbine == "a <b> & c"


@pytest.mark.parametrize("path", ["../turbine.toml", "/etc/passwd", "cut/blad.svg", "", "manifest.json"])
def test_another_file_is_never_read(path):
    with pytest.raises(UnknownKey, match="file: got"):
        part_file(example("starter"), path)


def test_a_slip_is_told():
    with pytest.raises(UnknownKey, match=r"piece: got 'hub-fac'.*hub-face"):
        part_picture(example("starter"), "hub-fac")
    with pytest.raises(InputError, match="name of the turbine"):
        makeables(example("starter").changed(name="../up"))


def test_a_browser_is_told_what_comes():
    kinds = {one.path.rpartition(".")[2]: one.media_type for one in makeables(example("starter")).files}
    assert (kinds["pdf"], kinds["svg"], kinds["csv"]) == ("application/pdf", "image/svg+xml", "text/csv")
    assert media_type("x.unheard") == "application/octet-stream"
