"""Cards for the bench: what they say is what the parts say, pictures are true to size, hostile words make no file."""

import math

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from turbines import example

from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.make.cards import (
    METER,
    SPEEDS,
    PartLabel,
    coil_rows,
    coil_sheet,
    label_sheet,
    running_turns,
    tower_sheet,
    volt_rows,
)
from whirlbench.make.coil_plan import coil_plan_drawing
from whirlbench.make.drawing import CUT
from whirlbench.make.page import PAPERS
from whirlbench.make.paper import paper_sheets
from whirlbench.make.sheet_frame import MEASURE
from whirlbench.make.tower_outline import tower_cuts, tower_wrap_drawing
from whirlbench.physics import magnet

DUNLIN = example("advanced")
CAUTION = "Strong magnets snap together and pinch."
DOT = 25.4 / 300  # [mm]


def words(path):
    document = pypdfium2.PdfDocument(path)
    try:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    finally:
        document.close()


def bodies(path):
    """Darkness of each page, lowest row first."""
    document = pypdfium2.PdfDocument(path)
    try:
        return [255 - page.render(scale=300 / 72, grayscale=True).to_numpy().squeeze()[::-1] for page in document]
    finally:
        document.close()


def coil_card(tmp_path, generator=DUNLIN.generator, **more):
    told = {"emf_constant": 0.04, "title": "Team Dunlin: winding card", "cautions": [CAUTION], **more}
    return coil_sheet(tmp_path / "coil.pdf", generator, **told)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_winding_card_says_what_to_wind(tmp_path, paper):
    said = " ".join(words(coil_card(tmp_path, paper=paper)))
    for name, told in coil_rows(DUNLIN.generator):
        assert name in said
        assert told in said
    assert METER in said
    assert MEASURE in said
    assert said.count(CAUTION) >= 2
    assert f"{0.04 * 2000 * math.pi / 30:.2f} V peak at 33.3 Hz" in said
    assert len(volt_rows(0.04)) == len(SPEEDS)


def test_wire_length_mass_and_resistance_by_hand():
    """300 turns of 9 mm mean radius in AWG 28: 16.96 m, 0.0810 mm^2 of copper, 12.2 g, 3.61 ohm."""
    told = dict(coil_rows(DUNLIN.generator))
    length = 300 * 2 * math.pi * 0.009
    area = math.pi / 4 * 0.3211e-3**2
    assert f"{length:.1f} m, {length * area * 8890 * 1000:.0f} g" in told["wire for each"]
    assert f"{1.7241e-8 * length / area:.2f} ohm" in told["resistance of each"]
    assert "18 turns in a layer, 17 layers" in told["layers"]
    assert "it fits" in told["window"]
    crowded = DUNLIN.generator.model_copy(update={"turns": 600})
    assert "TOO SMALL" in dict(coil_rows(crowded))["window"]


def test_ticks_run_up_to_the_last_turn(tmp_path):
    counts = running_turns(DUNLIN.generator)
    assert counts[-1] == 300
    assert set(np.diff(counts)[:-1]) == {18}
    said = " ".join(words(coil_card(tmp_path)))
    assert said.count("tick each layer") == 2, "two coils"
    assert " ".join(map(str, counts)) in said


def test_the_plan_stands_where_the_prediction_thinks():
    plan = coil_plan_drawing(DUNLIN.generator)
    body, *coils = (each.polygon for each in plan.outlines if each.layer == CUT)
    assert body.area == pytest.approx(math.pi * 10.0**2, rel=1e-3)
    windows = [
        (-19.0, -13.0, -12.5, -5.0),
        (-19.0, 5.0, -12.5, 13.0),
        (12.5, -13.0, 19.0, -5.0),
        (12.5, 5.0, 19.0, 13.0),
    ]
    assert np.array(sorted(np.round(coil.bounds, 6).tolist() for coil in coils)) == pytest.approx(np.array(windows))
    assert {each.words for each in plan.texts} >= {"N", "S", "coil 1", "coil 2", "start", "end"}
    assert "2.5 mm" in plan.notes[0]
    assert sum("end of coil 1 to the end of coil 2" in note for note in plan.notes) == 1


def test_the_volts_of_coils_joined_end_to_end_add_up():
    """The field of the magnet passes both coils the same way, so coils wound alike as seen from it work against each
    other start to end: joined end to end they add."""
    middle = np.array([[0.01575, 0.0, 0.0], [-0.01575, 0.0, 0.0]])
    field = magnet.diametric_cylinder_field(middle, remanence=1.3, diameter=0.02, length=0.02)[:, 0]
    towards_magnet = np.array([-1.0, 1.0])
    first, second = field * towards_magnet  # linked by turns against the clock as seen from the magnet
    assert abs(first - second) == pytest.approx(2.0 * abs(first)), "end to end"
    assert first + second == pytest.approx(0.0), "start to end"
    assert abs(first) > 0.05


def test_a_block_sweeps_its_diagonal():
    block = DUNLIN.generator.model_copy(update={"magnet": "block", "size": (0.016, 0.012, 0.02)})
    plan = coil_plan_drawing(block)
    assert max(circle.diameter for circle in plan.circles if circle.layer != CUT) == pytest.approx(20.0)
    assert plan.outlines[0].polygon.bounds == (-8.0, -6.0, 8.0, 6.0)
    long = DUNLIN.generator.model_copy(update={"magnet": "block", "size": (0.02, 0.02, 0.02)})
    with pytest.raises(InputError, match="between magnet and coil"):
        coil_plan_drawing(long)


def test_the_strip_closes_around_the_tube(tmp_path):
    strip = tower_wrap_drawing(DUNLIN.tower)
    outside = 1.900 * 25.4  # [mm] of the pipe's nominal 1-1/2 in
    assert max(x for line in strip.lines for x, _ in line.points) == pytest.approx(math.pi * outside, abs=0.4)
    path = tower_sheet(tmp_path / "tower.pdf", DUNLIN, title="tower")
    dark = bodies(path)[0]
    rows = (dark > 60).sum(axis=1) * DOT
    assert rows.max() == pytest.approx(strip.size[0], abs=0.8), "its long edges, with their pen"
    edges = np.flatnonzero(rows > 0.98 * strip.size[0])
    assert (edges[-1] - edges[0]) * DOT == pytest.approx(strip.size[1], abs=0.5)


def test_the_cut_list_adds_up(tmp_path):
    told = dict(tower_cuts(DUNLIN, nacelle_height=0.03))
    assert "570 mm" in told["saw"]
    assert told["rotor axis"].startswith("625 mm")
    assert told["blade tips"].startswith("375 mm")
    said = words(tower_sheet(tmp_path / "tower.pdf", DUNLIN, title="tower", nacelle_height=0.03))[0]
    assert all(each in said for each in told.values())
    with pytest.raises(OutOfRange, match="nacelle height"):
        tower_cuts(DUNLIN, nacelle_height=0.6)


@pytest.mark.parametrize("paper", PAPERS)
def test_every_label_stands_once(tmp_path, paper):
    labels = [PartLabel(f"part {i}!", f"hole {i}" if i % 2 else "") for i in range(31)]
    said = words(label_sheet(tmp_path / "labels.pdf", labels, title="Équipe Ω", paper=paper))
    assert len(said) == 2
    everything = " ".join(said)
    assert all(everything.count(f"{each.name}") == 1 for each in labels)
    assert everything.count("Équipe Ω") >= 31
    assert everything.count("made by") == 31
    assert all(MEASURE in each for each in said)


def test_same_words_same_file(tmp_path):
    files = [coil_card(tmp_path).read_bytes() for _ in range(2)]
    assert files[0] == files[1]


def test_plans_and_strips_can_be_printed_in_pieces(tmp_path):
    thick = DUNLIN.tower.model_copy(
        update={"tube": example("starter").tower.tube.model_copy(update={"nominal": "1-1/2 in"})}
    )
    assert paper_sheets(tmp_path / "plan.pdf", [coil_plan_drawing(DUNLIN.generator)], title="plan").exists()
    assert paper_sheets(tmp_path / "strip.pdf", [tower_wrap_drawing(thick)], title="strip").exists()


def test_a_plan_larger_than_the_sheet_is_left_to_the_paper_sheets(tmp_path):
    large = DUNLIN.generator.model_copy(update={"coil_outer_radius": 0.12})
    said = " ".join(words(coil_card(tmp_path, large)))
    assert "coil-plan is larger than this sheet" in said


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=90), st.text(max_size=90))
def test_any_words_are_printed_or_refused(tmp_path_factory, name, title):
    path = tmp_path_factory.mktemp("labels") / "labels.pdf"
    try:
        label_sheet(path, [PartLabel(name)], title=title)
    except InputError:
        assert not path.exists()
    else:
        assert len(words(path)) == 1


@pytest.mark.parametrize(
    "hostile",
    [
        lambda path: label_sheet(path, [], title="x"),
        lambda path: label_sheet(path, [PartLabel("part")] * 501, title="x"),
        lambda path: label_sheet(path, [PartLabel("two\nlines")], title="x"),
        lambda path: label_sheet(path, [PartLabel("part", "bell\x07")], title="x"),
        lambda path: label_sheet(path, [PartLabel("x" * 81)], title="x"),
        lambda path: label_sheet(path, [PartLabel("part")], title=""),
        lambda path: label_sheet(path, [PartLabel("part")], title="x", paper="A5"),
        lambda path: label_sheet(path.with_suffix(".doc"), [PartLabel("part")], title="x"),
        lambda path: tower_sheet(path.parent / "missing" / "tower.pdf", DUNLIN, title="x"),
        lambda path: coil_sheet(path, example("geared").generator, emf_constant=0.04, title="x"),
    ],
)
def test_hostile_words_make_no_file(tmp_path, hostile):
    with pytest.raises((InputError, UnknownKey)):
        hostile(tmp_path / "card.pdf")
    assert not list(tmp_path.iterdir())
