"""The build pack as an action: what it holds, what it leaves out, and the products a workshop asks for."""

import csv
import hashlib
import json
import math
import os
import subprocess
import sys

import pypdfium2
import pytest
import trimesh
from turbines import BUILDS, EXAMPLES, example

from whirlbench.actions.check import check
from whirlbench.actions.make_pack import ARISES, MakeOrder, cautions
from whirlbench.actions.make_parts import make_parts
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.make import pieces
from whirlbench.make.lists import bill
from whirlbench.make.steps import build_steps
from whirlbench.parts.belts import BeltStage
from whirlbench.parts.files import read_bin, read_turbine
from whirlbench.parts.gears import GearStage
from whirlbench.predict.blades import blade_mass

BIN = read_bin(EXAMPLES / "parts-bin.toml")


def text_of(name):
    return (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")


def made(turbine, folder, *, again=False, text="", only=(), **more):
    return make_parts(turbine, folder, MakeOrder(text=text, only=tuple(only), **more), again=again)


@pytest.fixture(autouse=True)
def _no_step(request, monkeypatch):
    """STEP files cost seconds and have tests of their own; the slow test writes them."""
    if "step" not in request.fixturenames:
        monkeypatch.setattr("whirlbench.make.pack_files.has_cad", lambda: False)


@pytest.fixture
def step():
    """Asks for STEP files."""


@pytest.mark.parametrize("name", [*BUILDS, "twelve"])
def test_every_example_gives_a_pack_whose_list_is_true(name, tmp_path):
    report = made(example(name), tmp_path / "pack", text=text_of(name), parts_bin=BIN)
    manifest = json.loads((tmp_path / "pack/manifest.json").read_text(encoding="utf-8"))
    assert manifest["format"] == 1
    there = {one.relative_to(tmp_path / "pack").as_posix() for one in (tmp_path / "pack").rglob("*") if one.is_file()}
    assert there == {"manifest.json", *(one["path"] for one in manifest["files"])}
    for one in manifest["files"]:
        content = (tmp_path / "pack" / one["path"]).read_bytes()
        assert (one["sha256"], one["size_bytes"]) == (hashlib.sha256(content).hexdigest(), len(content))
    told = {file for piece in manifest["pieces"] for file in piece["files"]}
    assert told <= there
    assert {path.partition("/")[0] for path in there} >= {"paper", "cut", "print", "lists", "build-pack.pdf"}
    assert not report.unmade
    assert [one.name for one in tmp_path.iterdir()] == ["pack"]  # nothing half made stays beside it


def test_the_same_turbine_gives_the_same_bytes(tmp_path):
    for folder in ("one", "two"):
        made(example("starter"), tmp_path / folder, parts_bin=BIN, team="Team Kittiwake")
    one, two = ((tmp_path / folder / "manifest.json").read_bytes() for folder in ("one", "two"))
    assert one == two


@pytest.mark.slow
def test_another_process_gives_the_same_bytes(tmp_path):
    script = "from whirlbench.cli.main import run; run()"
    words = ["make", str(EXAMPLES / "advanced.toml"), "--only", "coil,gauges,gears", "--out"]
    lists = []
    for seed in ("1", "2"):  # the order of sets hangs on it
        out, environment = tmp_path / seed, os.environ | {"PYTHONHASHSEED": seed, "PYTHONWARNINGS": "error"}
        subprocess.run(
            [sys.executable, "-c", script, *words, str(out)], env=environment, check=True, capture_output=True
        )
        lists.append((out / "manifest.json").read_bytes())
    assert lists[0] == lists[1]


def test_the_team_is_in_the_pack_and_changes_nothing_that_is_cut(tmp_path):
    a = made(example("geared"), tmp_path / "a", only=["gears"])
    b = made(example("geared"), tmp_path / "b", only=["gears"], team="Team Dunlin")
    differ = {x.path for x, y in zip(a.files, b.files, strict=True) if x.sha256 != y.sha256}
    assert differ == {"build-pack.pdf", "paper/labels.pdf"}


def test_the_printed_blade_flows_back(tmp_path):
    turbine = example("advanced")
    report = made(turbine, tmp_path / "pack", text=text_of("advanced"), only=["blades"])
    new = read_turbine(tmp_path / "pack/turbine-as-made.toml")
    assert new.rotor.weighed == pytest.approx([report.blade_mass_kg] * 3, abs=5e-6)  # written to 0.01 g
    assert new.rotor.mass_radius == pytest.approx(report.blade_mass_radius_m, abs=5e-5)  # written to 0.1 mm
    same = {"weighed": turbine.rotor.weighed, "mass_radius": turbine.rotor.mass_radius}
    assert new.changed(rotor=new.rotor.changed(**same)) == turbine
    assert "# An advanced build" in (tmp_path / "pack/turbine-as-made.toml").read_text(encoding="utf-8")
    least = report.blade_mass_kg * report.blade_mass_radius_m**2
    assert least < report.blade_inertia_kg_m2 < report.blade_mass_kg * turbine.rotor.radius**2


def test_what_the_solids_weigh_stands_beside_the_file(tmp_path):
    turbine = example("advanced")
    report = made(turbine, tmp_path / "pack", text=text_of("advanced"), only=["blades", "hub"])
    blade, hub = report.weights
    assert blade.file_kg == pytest.approx(sum(turbine.rotor.weighed) / 3)
    assert blade.agrees, "the example tells the same mass twice"
    assert hub.file_kg == turbine.rotor.hub.mass
    assert read_turbine(tmp_path / "pack/turbine-as-made.toml").rotor.hub.mass == pytest.approx(hub.solid_kg, abs=1e-4)
    hollow = turbine.changed(rotor=turbine.rotor.changed(section=turbine.rotor.section.changed(fill=0.4)))
    told = made(hollow, tmp_path / "hollow", only=["blades"]).weights[0]
    assert not told.agrees
    assert "lighter" in told.sentence
    assert "fill under [rotor.section]" in told.sentence


def test_as_made_predicts_with_the_inertia_of_the_solid(tmp_path):
    report = made(example("advanced"), tmp_path / "pack", text=text_of("advanced"), only=["blades"])
    new = read_turbine(tmp_path / "pack/turbine-as-made.toml")
    assert blade_mass(new.rotor).inertia == pytest.approx(report.blade_inertia_kg_m2, rel=0.03)  # spread by its plan


def test_sheet_blades_flow_back_only_when_they_are_printed(tmp_path):
    assert made(example("starter"), tmp_path / "cut", only=["blades"]).blade_mass_kg is None
    report = made(example("starter"), tmp_path / "printed", text=text_of("starter"), only=["blades"], way="printed")
    assert report.blade_mass_kg > 0
    assert read_turbine(tmp_path / "printed/turbine-as-made.toml").rotor.section.material == "PLA"


def test_a_process_alone_gives_its_own_files(tmp_path):
    for way, folders in (("hand", {"paper"}), ("laser", {"paper", "cut"}), ("printed", {"paper", "print"})):
        made(example("geared"), tmp_path / way, only=["gears"], way=way)
        assert {one.name for one in (tmp_path / way).iterdir() if one.is_dir()} == folders | {"lists"}


def test_the_bin_says_what_must_be_found(tmp_path):
    report = made(example("geared"), tmp_path / "pack", text=text_of("geared"), parts_bin=BIN)
    assert any("rod, 6.00 mm" in one for one in report.to_be_found)  # the shelves hold 1/4 in and 3/8 in
    assert not any("generator" in one or "resistor" in one or "gear" in one for one in report.to_be_found)
    with (tmp_path / "pack/lists/bill-of-materials.csv").open(encoding="utf-8") as file:
        lines = {(row["part"], row["sizes"]): row for row in csv.DictReader(file)}
    assert lines["gear", "64 teeth, module 0.5 mm"]["in the bin"] == "2"
    rod = lines["rod", "6.00 mm thick, 138 mm long"]  # 15 in the hub, 20 bare, half of 205
    mass = float(rod["mass of one [g]"])
    assert mass == pytest.approx(1e3 * 616 * math.pi * 0.003**2 * 0.1375, abs=0.05)  # written to 0.1 g
    assert rod["how many"] == rod["to be found"] == "3"


def test_every_hazard_has_its_step():
    told = {hazard.risk for name in BUILDS for hazard in check(example(name)).hazards}
    assert told <= set(ARISES)
    assert len(told) > 6


def test_a_piece_that_cannot_be_made_is_told_and_the_rest_is_made(tmp_path):
    turbine = example("starter")
    small = turbine.changed(rotor=turbine.rotor.changed(holes=tuple(range(1, 13))))
    report = made(small, tmp_path / "pack")
    assert report.unmade == ("hub",)
    assert {one.piece for one in report.left_out} == {"hub discs", "printed hub"}
    assert all(one.why.count("Try:") == 1 and "\n" not in one.why for one in report.left_out)
    assert (tmp_path / "pack/paper/blades.pdf").exists()


def narrow(turbine):
    shape = turbine.rotor.shape.changed(root_chord=0.001, tip_chord=0.001)
    return turbine.changed(rotor=turbine.rotor.changed(shape=shape))


@pytest.mark.parametrize(
    ("change", "more"),
    [
        (narrow, {"only": ["blades"]}),
        (lambda turbine: turbine.changed(name="../up"), {}),
        (lambda turbine: turbine, {"team": "a/b"}),
        (lambda turbine: turbine, {"team": "two\nlines"}),
        (lambda turbine: turbine, {"only": ["wings"]}),
        (lambda turbine: turbine, {"only": ["gears"]}),  # direct drive has none
        (lambda turbine: turbine, {"paper": "A5"}),
        (lambda turbine: turbine, {"way": "cast"}),
        (lambda turbine: turbine, {"bed": 0.0}),
        (lambda turbine: turbine, {"motor_shaft": math.nan}),
    ],
)
def test_what_cannot_be_used_leaves_no_file(change, more, tmp_path):
    with pytest.raises(WhirlbenchError):
        made(change(example("starter")), tmp_path / "pack", **more)
    assert not list(tmp_path.iterdir())


def test_a_folder_with_something_in_it_is_left_alone(tmp_path):
    out = tmp_path / "pack"
    out.mkdir()
    (out / "diary.txt").write_text("ours")
    for again in (False, True):
        with pytest.raises(InputError, match="out: got"):
            made(example("starter"), out, only=["gauges"], again=again)
    assert [one.name for one in out.iterdir()] == ["diary.txt"]


def test_again_replaces_a_pack_whole(tmp_path):
    out = tmp_path / "pack"
    made(example("starter"), out, only=["blades"])
    with pytest.raises(InputError, match="--again"):
        made(example("starter"), out, only=["gauges"])
    made(example("starter"), out, only=["gauges"], again=True)
    assert {one.name for one in (out / "paper").iterdir()} == {"gauges.pdf"}


def test_a_failure_on_the_way_leaves_no_file(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("whirlbench.make.pack_files.svg_bytes", full)
    for folder in (tmp_path, tmp_path / "a/new/place"):
        with pytest.raises(InputError, match="no space left"):
            made(example("starter"), folder, only=["blades"])
        assert not list(tmp_path.iterdir())


def test_an_empty_folder_that_one_stands_in_is_filled(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for again in (False, True):
        made(example("starter"), ".", only=["gauges"], again=again)
        there = {one.name for one in tmp_path.iterdir()}
        assert there == {"build-pack.pdf", "manifest.json", "paper", "cut", "print", "lists"}


def words(path):
    document = pypdfium2.PdfDocument(path)
    try:
        return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)
    finally:
        document.close()


@pytest.fixture(scope="module")
def document(tmp_path_factory):
    """Words of one whole document, and its pack."""
    folder = tmp_path_factory.mktemp("whole") / "pack"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("whirlbench.make.pack_files.has_cad", lambda: False)
        report = made(example("advanced"), folder, text=text_of("advanced"), team="<b>R&D Δ 風")
    return words(folder / "build-pack.pdf"), folder, report


def test_a_caution_stands_where_its_risk_arises(document):
    said, _, _ = document
    marks = [
        *("1. Check the size", "Mind: cuts from knives", "2. Print", "Mind: hot parts", "3. Blades and hub"),
        *("Mind: burns from hot glue", "4. Drivetrain", "Mind: gears or belts", "5. Wind the coils"),
        *("Mind: strong magnets", "6. Wires and load", "Mind: a charged capacitor", "7. Tower and base"),
        *("Mind: fumes and fire", "8. First run", "Mind: a blade flies off"),
    ]
    places = [said.index(mark) for mark in marks]
    assert places == sorted(places)


@pytest.mark.parametrize("name", BUILDS)
@pytest.mark.parametrize(
    "folders", [set(), {"cut"}, {"print"}, {"cut", "print"}], ids=lambda one: " and ".join(sorted(one)) or "none"
)
def test_a_machine_that_is_used_brings_its_caution(name, folders):
    for given in ({}, cautions(example(name))):
        steps = {step.where: step for step in build_steps(example(name), {"paper", *folders}, given)}
        assert any("laser" in risk for risk, _, _ in steps["cut"].cautions) is ("cut" in folders)
        assert ("print" in steps) is ("print" in folders)
        assert "print" not in steps or steps["print"].cautions
        told = [caution for step in steps.values() for caution in step.cautions]
        assert all(one in told for several in given.values() for one in several)  # none is lost with its step


def test_the_document_names_every_piece_and_what_is_left_out(document):
    said, folder, report = document
    pieces_told = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))["pieces"]
    assert len(pieces_told) == report.pieces
    packed = said.replace(" ", "")  # a long name may be broken over two lines
    assert all(one["name"].replace(" ", "") in packed for one in pieces_told)
    assert all(one.why[:60] in said for one in report.left_out)
    for column in ("made how", "tool", "by whom", "when", "to be found"):
        assert column in said


def test_words_of_a_team_stay_words(document):
    assert "Team: <b>R&D delta ?" in document[0]


def test_the_bill_weighs_a_sheet_build(tmp_path):
    report = made(example("starter"), tmp_path / "pack", only=["blades"], way="hand")
    assert not report.step_files
    with (tmp_path / "pack/lists/bill-of-materials.csv").open(encoding="utf-8") as file:
        masses = {row["part"]: row["mass of one [g]"] for row in csv.DictReader(file)}
    hub, base = example("starter").rotor.hub.mass, example("starter").base.mass
    assert (masses["hub"], masses["base"]) == (f"{1e3 * hub:.1f}", f"{1e3 * base:.1f}")


def test_shafts_too_close_for_their_pulleys_do_not_stop_the_rest(tmp_path):
    close = BeltStage(rotor_diameter=0.1, generator_diameter=0.02, thickness=0.003, centre_distance=0.03)
    items = bill(example("starter").changed(drivetrain=(close,)), (), 0, parts_bin=BIN)
    assert [item.detail for item in items if item.part == "belt"] == [
        "round, the shafts are closer than its pulleys allow"
    ]


def test_timing_pulleys_are_bought_and_the_pack_says_which(tmp_path):
    report = made(example("advanced"), tmp_path / "pack", only=["pulleys", "gauges"])
    (told,) = [one for one in report.left_out if "timing" in one.piece]
    assert "40 and 20 teeth for a 2 mm pitch" in told.why
    assert "bores 3 and 2 mm" in told.why
    assert not report.unmade
    with pytest.raises(InputError, match="buy 40 and 20 teeth"):
        made(example("advanced"), tmp_path / "none", only=["pulleys"])
    odd = example("advanced").drivetrain[1].changed(rotor_diameter=0.025)
    assert "no usual belt pitch" in pieces.timing_purchase(odd, (3.0, 2.0))
    assert "40 teeth at 2 mm" in (tmp_path / "pack/lists/bill-of-materials.csv").read_text(encoding="utf-8")


def test_vee_pulleys_are_made(tmp_path):
    belt = BeltStage(belt="vee", rotor_diameter=0.1, generator_diameter=0.03, thickness=0.006, width=0.01)
    report = made(example("starter").changed(drivetrain=(belt,)), tmp_path / "pack", only=["pulleys"])
    assert (report.unmade, report.left_out) == ((), ())
    paths = {one.path for one in report.files}
    assert {"paper/pulleys.pdf", "print/pulley-rotor.stl", "print/pulley-generator.stl"} <= paths
    assert not any(path.startswith("cut/") for path in paths)


# --- products by name -------------------------------------------------------------------------------------------------


def twelve_blades():
    return example("twelve"), ["blades", "hub"]


def five_blades():
    turbine = example("starter")
    return turbine.changed(rotor=turbine.rotor.changed(holes=(1, 3, 6, 8, 11))), ["blades", "hub"]


def long_blade():
    turbine = example("advanced")
    stations = turbine.rotor.shape.stations
    longer = (*stations[:-1], stations[-1].changed(radius=stations[0].radius + 0.3))
    rotor = turbine.rotor.changed(shape=turbine.rotor.shape.changed(stations=longer))
    return turbine.changed(rotor=rotor, wind=turbine.wind.changed(map_radius=0.36)), ["blades"]


def stage(rotor_teeth, generator_teeth, **more):
    return GearStage(rotor_teeth=rotor_teeth, generator_teeth=generator_teeth, module=0.001, **more)


def one_pair():
    return example("geared").changed(drivetrain=(stage(64, 10, rotor_shift=-0.3, generator_shift=0.3),)), ["gears"]


def compound_train():
    return example("twelve"), ["gears"]


def former():
    return example("advanced"), ["coil"]


WANTED = {
    twelve_blades: {"hub": 1},
    five_blades: {"hub": 1},
    long_blade: {"blade-1-of-2": 3, "blade-2-of-2": 3},
    one_pair: {"gear-rotor-64": 1, "gear-generator-10": 1},
    compound_train: {
        "gear-1-rotor-64": 1,
        "gear-1-generator-16": 1,
        "gear-2-rotor-64": 1,
        "gear-2-generator-8": 1,
    },
    former: {"coil-former-core": 1, "coil-former-cheek": 1},
}


@pytest.mark.slow
@pytest.mark.parametrize("product", WANTED, ids=lambda one: one.__name__)
def test_a_product_by_name_is_made_whole(product, tmp_path, step):
    turbine, kinds = product()
    report = made(turbine, tmp_path / "pack", text=text_of("advanced"), only=kinds)
    assert not report.unmade
    counts = {}
    for line in json.loads((tmp_path / "pack/manifest.json").read_text(encoding="utf-8"))["pieces"]:
        counts[line["name"]] = line["count"]
    for name, count in WANTED[product].items():
        assert counts[f"printed {name}"] == count
        assert (tmp_path / f"pack/print/{name}.step").exists()
        body = trimesh.load_mesh(tmp_path / f"pack/print/{name}.stl")
        assert body.is_watertight
        assert max(body.extents) <= 180.001
    if "blades" in kinds and turbine.rotor.section.kind == "sheet":
        assert counts["blade"] == turbine.rotor.blade_count


def test_the_train_steps_up_by_32():
    turbine, _ = compound_train()
    assert math.prod(one.step_up for one in turbine.drivetrain) == 32
    assert pieces.shafts(turbine, pieces.Choice()) == ((6.0, 4.0), (4.0, 2.0))
