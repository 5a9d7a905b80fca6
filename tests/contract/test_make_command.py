"""The command make: exit statuses, keys, and no file after a slip."""

import json
import re
import sys

import pytest
from turbines import EXAMPLES

from whirlbench.cli.main import run

FOUR_PIECES = re.compile(r"(.+: got .+, needs .+\. Try: .+\.\n?)+")
STARTER, ADVANCED = EXAMPLES / "starter.toml", EXAMPLES / "advanced.toml"


@pytest.fixture
def call(monkeypatch, capsys):
    """Run the command line in this process; answers with status, output and errors."""

    def called(*words):
        monkeypatch.setattr(sys, "argv", ["whirlbench", "make", *map(str, words)])
        monkeypatch.setattr("whirlbench.make.pack_files.has_cad", lambda: False)
        with pytest.raises(SystemExit) as end:
            run()
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return end.value.code or 0, out, err

    return called


def test_a_pack_is_made_and_told(call, tmp_path):
    status, out, err = call(STARTER, "--out", tmp_path / "pack", "--only", "blades, gauges", "--paper", "letter")
    assert (status, err) == (0, "")
    assert "build-pack.pdf" in out
    assert {"build-pack.pdf", "manifest.json", "paper", "cut", "lists", "print"} == {
        one.name for one in (tmp_path / "pack").iterdir()
    }


def test_json_is_one_object_with_si_keys(call, tmp_path):
    words = ("--bin", EXAMPLES / "parts-bin.toml", "--only", "blades", "--bed", "15 cm", "--json")
    status, out, err = call(ADVANCED, "--out", tmp_path / "pack", *words)
    assert (status, err) == (0, "")
    answer = json.loads(out)
    assert answer["blade_mass_kg"] < 0.1
    assert {"path", "sha256", "size_bytes"} == answer["files"][0].keys()
    assert [one["piece"] for one in answer["left_out"]] == ["ribs"]
    assert answer["unmade"] == []


def changed(tmp_path, old, new, name="starter"):
    text = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "turbine.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def test_a_kerf_wider_than_a_web_is_told_and_its_piece_is_not_cut(call, tmp_path):
    status, out, err = call(EXAMPLES / "geared.toml", "--out", tmp_path / "pack", "--only", "gears", "--kerf", "2 mm")
    assert (status, out) == (2, "")
    assert "a kerf narrower than every web and hole of the part" in " ".join(err.split())
    assert not list(tmp_path.iterdir())
    status, out, _ = call(EXAMPLES / "geared.toml", "--out", tmp_path / "pack", "--kerf", "1 mm")
    assert status == 0
    assert "Not made: gear-rotor-64, cut: gear-rotor-64: got a kerf of 1 mm" in " ".join(out.split())
    assert not list((tmp_path / "pack/cut").glob("gear-*"))


def cut_length(path):
    corners = re.search(r'id="CUT".*?d="M([^Z]+)Z', path.read_text(), re.DOTALL)[1].split()
    along = [float(corner.split(",")[0]) for corner in corners]
    return max(along) - min(along)


@pytest.mark.parametrize("kerf", [0.4, -0.4])
def test_the_kerf_of_a_team_moves_the_path_either_way(kerf, call, tmp_path):
    assert call(STARTER, "--out", tmp_path, "--only", "blades", "--kerf", f"{kerf} mm")[0] == 0
    assert cut_length(tmp_path / "cut/blade.svg") == pytest.approx(254 - 70 + kerf, abs=1e-3)


def test_one_move_gives_only_what_differs(call, tmp_path):
    steeper = changed(tmp_path, 'pitch = "35 deg"', 'pitch = "30 deg"')
    status, out, err = call(steeper, "--out", tmp_path / "pack", "--since", STARTER)
    assert (status, err) == (0, "")
    assert "2 pieces" in out
    assert "Stays as it was: blade, hub-face" in out


def test_a_piece_that_cannot_be_made_ends_with_1(call, tmp_path):
    crowded = changed(tmp_path, "holes = [1, 5, 9] ", "holes = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12] ")
    status, out, err = call(crowded, "--out", tmp_path / "pack", "--only", "hub,gauges")
    assert (status, err) == (1, "")
    assert out.count("Not made:") == 2
    assert (tmp_path / "pack/paper/gauges.pdf").exists()


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("starter", 'root_chord = "50 mm"', 'root_chord = "0 mm"'),
        ("geared", "generator_teeth = 16", "generator_teeth = 3"),
        ("geared", "rotor_teeth = 64", "rotor_teeth = 500"),
        ("starter", "Team Kittiwake, starter build", "../../etc/team"),
    ],
)
def test_a_hostile_turbine_gives_an_error_and_no_file(name, old, new, call, tmp_path):
    status, out, err = call(changed(tmp_path, old, new, name), "--out", tmp_path / "pack")
    assert (status, out) == (2, "")
    assert FOUR_PIECES.fullmatch(err)
    assert [one.name for one in tmp_path.iterdir()] == ["turbine.toml"]


@pytest.mark.parametrize(
    "words",
    [
        ("--team", "up/../down"),
        ("--team", "back\\slash"),
        ("--only", "wings"),
        ("--bed", "180"),
        ("--bed", "1 mm"),
        ("--process", "cast"),
        ("--paper", "A3"),
        ("--motor-shaft", "2 kg"),
        ("--turning", "up"),
        ("--kerf", "wide"),
        ("--kerf", "9 mm"),
        ("--since", STARTER),
    ],
)
def test_a_slip_gives_an_error_and_no_file(words, call, tmp_path):
    status, out, err = call(STARTER, "--out", tmp_path / "pack", *words)
    assert (status, out) == (2, "")
    assert FOUR_PIECES.fullmatch(err)
    assert not list(tmp_path.iterdir())


def test_a_full_folder_is_never_overwritten(call, tmp_path):
    (tmp_path / "thesis.txt").write_text("ours")
    for words in ((), ("--again",)):
        status, _, err = call(STARTER, "--out", tmp_path, "--only", "gauges", *words)
        assert status == 2
        assert FOUR_PIECES.fullmatch(err)
    assert [one.name for one in tmp_path.iterdir()] == ["thesis.txt"]
