"""One move: only the pieces that differ from an earlier turbine are made."""

import csv

import pytest
from turbines import EXAMPLES, example

from whirlbench.actions.make_pack import MakeOrder, ordered_pack
from whirlbench.actions.make_parts import make_parts
from whirlbench.errors import InputError
from whirlbench.make.pack_files import pack_files, pack_pieces
from whirlbench.parts.belts import BeltStage


@pytest.fixture(autouse=True)
def _no_step(monkeypatch):
    monkeypatch.setattr("whirlbench.make.pack_files.has_cad", lambda: False)


def rotor(turbine, **fields):
    return turbine.changed(rotor=turbine.rotor.changed(**fields))


def made(turbine, before, **more):
    pack, _ = ordered_pack(turbine, MakeOrder(since=before, **more))
    return {one.name: one.count for one in pack_pieces(pack)}, pack


@pytest.mark.parametrize("name", ["starter", "advanced"])
def test_another_pitch_wants_only_a_gauge(name):
    before = example(name)
    found, pack = made(rotor(before, pitch=before.rotor.pitch + 0.05), before)
    assert found == {"pitch-gauge": 1, "printed pitch-gauge": 1}
    assert "blade" in pack.stays
    assert not pack.coil
    assert not pack.refusals, "what could not be made before is no news"
    assert not any("labels" in path for path in pack_files(pack))


def test_blades_that_were_weighed_are_the_same_blades():
    before = example("starter")
    after = rotor(before, weighed=(0.02, 0.021, 0.02), mass_radius=0.15)
    with pytest.raises(InputError, match="since: got the same pieces"):
        made(after, before)


def test_two_more_blades_are_two_more():
    before = rotor(example("twelve"), holes=(1, 4, 7, 10))
    found, pack = made(rotor(before, holes=(1, 3, 5, 7, 9, 11)), before)
    assert found["blade"] == 2
    assert "printed hub" in pack.stays, "it has all twelve holes"
    assert [one.count for one in pack.items if one.part == "rod"] == [2]


def test_thicker_card_is_another_blade_of_the_same_outline():
    before = example("starter")
    after = rotor(before, section=before.rotor.section.changed(thickness=0.002))
    assert set(made(after, before)[0]) == {"blade"}


def test_a_shorter_tower_is_sawn_anew_and_keeps_its_adapter():
    before = example("starter")
    found, pack = made(before.changed(tower=before.tower.changed(height=0.5)), before)
    assert set(found) == {"tower-wrap"}
    assert "printed tower-adapter" in pack.stays
    assert "paper/tower.pdf" in pack_files(pack)
    assert any(one.part == "tower" for one in pack.items)


def test_a_belt_in_place_of_gears():
    before = example("geared")
    belt = BeltStage(rotor_diameter=0.1, generator_diameter=0.02, thickness=0.003)
    found, pack = made(before.changed(drivetrain=(belt,)), before)
    assert all("pulley" in name for name in found)
    steps = {one.title: one.does for one in pack.steps}
    assert any("pulleys in one plane" in words for words in steps["Drivetrain"])
    assert "Tower and base" not in steps


def test_a_second_stage_keeps_the_wheels_of_the_first():
    twelve = example("twelve")
    before = twelve.changed(drivetrain=twelve.drivetrain[:1])
    found, pack = made(twelve, before, only=("gears",))
    assert "gear-1-rotor-64" in pack.stays
    assert {"gear-2-rotor-64", "gear-2-generator-8"} <= set(found)


def test_the_report_names_what_stays(tmp_path):
    before = example("starter")
    text = (EXAMPLES / "starter.toml").read_text(encoding="utf-8")
    order = MakeOrder(text=text, since=before)
    report = make_parts(rotor(before, pitch=0.5), tmp_path / "pack", order)
    assert "hub-face" in report.stays
    assert not report.unmade
    with (tmp_path / "pack/lists/bill-of-materials.csv").open(encoding="utf-8") as file:
        assert [row["part"] for row in csv.DictReader(file)] == ["printed pitch-gauge", "filament"]


def test_left_turning_blades_mirror_right_turning_ones():
    right, left = (
        ordered_pack(example("advanced"), MakeOrder(only=("blades",), turning=way))[0] for way in ("right", "left")
    )
    for one, other in zip(right.solids["blades"], left.solids["blades"], strict=True):
        assert one.volume == pytest.approx(other.volume, rel=1e-6)
        assert one.centre[0] == pytest.approx(-other.centre[0], abs=1e-6) or "pin" in one.name
    assert any("anticlockwise" in note for note in left.solids["blades"][0].notes)
