"""Charts say what they should, in colours that mean one thing everywhere, and become files without a browser."""

import copy
import html
import itertools
import json
import re
import struct

import pytest

from whirlbench.charts import energy, files, look, page, performance
from whirlbench.charts.scale import percent, watt_unit, watts
from whirlbench.errors import InputError, UnknownKey

PATH = {
    "tower": 0.12,
    "wake": 9.2,
    "blades": 0.21,
    "rods": 0.05,
    "bearings": 0.02,
    "stage 1: gears 64:8": 0.06,
    "stage 2: round belt 100:20 mm": 0.09,
    "generator friction": 0.08,
    "generator winding": 0.11,
    "rectifier": 0.03,
    "load": 0.1,
}
CAUGHT = 0.75  # by hand: what PATH holds between wake and load, the load with it


def parts(scale=1.0, **changed):
    return [{"part": part, "power_W": scale * power} for part, power in (PATH | changed).items()]


def points(scale=1.0, stuck_below=3.5, winds=(2, 3, 4, 5, 6)):
    return [
        {
            "wind_speed_m_s": wind,
            "electrical_power_W": scale * wind**3 / 1000,
            "electrical_power_low_W": scale * 0.7 * wind**3 / 1000,
            "electrical_power_high_W": scale * 1.4 * wind**3 / 1000,
            "starts": wind >= stuck_below,
            "state": "running",
        }
        for wind in winds
    ]


def bare(rows):
    """Points without a band, as a quick prediction gives them."""
    return [{key: value for key, value in row.items() if "low" not in key and "high" not in key} for row in rows]


def curve(scale=1.0, count=33, thrust=True):
    ratios = [0.25 * number for number in range(count)]
    rows = [{"tip_speed_ratio": each, "power_coefficient": scale * each * (5 - each)} for each in ratios]
    return [{**row, "thrust_coefficient": 0.1 + 0.1 * row["tip_speed_ratio"]} if thrust else row for row in rows]


READINGS = [
    {"wind_speed_m_s": 4, "electrical_power_W": 0.06, "electrical_power_sd_W": 0.01},
    {"wind_speed_m_s": 5, "electrical_power_W": 0.1},
]
REST = dict.fromkeys(PATH, 0.0) | {"wake": 3.0}
CHARTS = {
    "performance": performance.performance(points(), READINGS),
    "performance, no readings": performance.performance(points()),
    "performance, no band": performance.performance(bare(points()), READINGS),
    "performance, readings only": performance.performance([], READINGS),
    "performance, tiny": performance.performance(points(1e-6 / 0.216)),
    "performance, zero": performance.performance(points(0.0, stuck_below=99)),
    "performance, one point": performance.performance(points(winds=[4.5])),
    "performance, one stuck point": performance.performance(bare(points(winds=[2])), READINGS[:1]),
    "rotor": performance.rotor(curve(0.03)),
    "rotor, no thrust": performance.rotor(curve(0.03, thrust=False)),
    "rotor, tiny": performance.rotor(curve(1e-6)),
    "rotor, zero": performance.rotor(curve(0.0)),
    "rotor, never turns": performance.rotor([{**row, "power_coefficient": -0.02} for row in curve()]),
    "rotor, one point": performance.rotor(curve(0.03, count=1)),
    "energy": energy.energy_path(parts()),
    "energy, phone": energy.energy_path(parts(), width=190, narrow=True),
    "energy, tiny": energy.energy_path(parts(1e-6 / 0.1)),
    "energy, no wind": energy.energy_path(parts(0.0)),
    "energy, at rest": energy.energy_path(parts(**REST)),
    "energy, one part": energy.energy_path([{"part": "load", "power_W": 1.0}]),
    "beside": page.beside(performance.performance(points()), energy.energy_path(parts())),
    "above": page.above(energy.energy_path(parts()), performance.rotor(curve(0.03))),
}
WORDS = {
    "performance": ["Power into your load", "electrical power [mW]", "will not start by itself", "your readings"],
    "performance, no readings": ["prediction", "It begins to start by itself between 3 and 4 m/s."],
    "performance, readings only": ["your readings", "Readings only."],
    "performance, tiny": ["electrical power [µW]"],
    "performance, zero": ["It starts by itself at none of these wind speeds."],
    "performance, one point": ["It starts by itself.", "prediction"],
    "performance, one stuck point": ["will not start by itself"],
    "rotor": ["power coefficient Cp", "thrust coefficient Ct", "best: 0.19 at 2.5", "tip-speed ratio"],
    "rotor, never turns": ["It takes no power from the wind at any of these speeds."],
    "energy": [
        *("10 W", "left in the wind", "leaning tower", "750 mW", "What the blades took, 13 times larger", "28 %"),
        *("drag of the blades", "drag of bare rods", "bearings", "gears 64:8", "round belt 100:20 mm"),
        *("generator friction", "heat in the generator's wire", "diodes", "to your load"),
        "Your load gets 1.0 % of the wind's power.",
    ],
    "energy, phone": ["to your load", "100 mW", "13 %"],
    "energy, tiny": ["1.0 µW", "to your load", "13 %"],
    "energy, no wind": ["There is no wind.", "0 mW"],
    "energy, at rest": ["The rotor stands still, so all of it blows past.", "3.0 W", "0 W"],
    "beside": ["Power into your load", "Where the wind's energy goes", "will not start by itself", "drivetrain"],
    "above": ["Where the wind's energy goes", "Your rotor alone", "generator"],
}


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """SVG of every chart."""
    folder = tmp_path_factory.mktemp("charts")
    return {
        name: files.save(chart, folder / f"{number}.svg").read_text(encoding="utf-8")
        for number, (name, chart) in enumerate(CHARTS.items())
    }


def texts(svg):
    return [html.unescape(text) for text in re.findall(r"<text[^>]*>([^<]*)</text>", svg)]


def bars(svg):
    """Bars of an energy path in order: what they say, left end and width [px], colour."""
    found = re.findall(
        r'<path aria-label="([^"]*)"[^>]*"rect mark" d="M([-\d.e]+),[-\d.e]+h([-\d.e]+)[^>]*?fill="(#\w+)"', svg
    )
    return [(html.unescape(said), float(left), float(width), colour) for said, left, width, colour in found]


@pytest.mark.parametrize("name", CHARTS)
def test_svg_is_whole(drawn, name):
    svg = drawn[name]
    assert look.PAPER in svg
    missing = [words for words in WORDS.get(name, []) if words not in texts(svg)]
    assert not missing, f"{missing} not in {texts(svg)}"
    assert not re.search(r"NaN|undefined|Infinity|\dE?e\+\d", svg), "a number went wrong"


@pytest.mark.parametrize("name", CHARTS)
def test_png_and_pdf_are_drawn(tmp_path, drawn, name):
    png = files.save(CHARTS[name], tmp_path / "chart.PNG").read_bytes()
    width, height = struct.unpack(">II", png[16:24])
    svg = re.search(r'width="([\d.]+)" height="([\d.]+)"', drawn[name])
    assert png.startswith(b"\x89PNG")
    assert (width, height) == pytest.approx([2 * float(each) for each in svg.groups()], abs=2)
    assert files.save(CHARTS[name], tmp_path / "chart.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("name", CHARTS)
def test_a_chart_is_plain_json_and_fetches_nothing(name):
    text = json.dumps(CHARTS[name], allow_nan=False)
    assert '"url"' not in text
    assert re.findall(r"https?://[^\"]*", text) == [look.SCHEMA]


def test_drawing_changes_no_description(tmp_path):
    chart = copy.deepcopy(CHARTS["energy"])
    page.beside(chart, chart)
    files.save(chart, tmp_path / "chart.svg")
    assert chart == CHARTS["energy"]


def test_the_staircase_adds_up(drawn):
    steps = bars(drawn["energy"])
    top, below = steps[:4], steps[4:]
    full = top[0][2]
    assert below[0][0] == "taken by the blades: 750 mW, 100 %"
    assert top[3][2] == pytest.approx(full * CAUGHT / sum(PATH.values()))
    assert sum(width for _, _, width, _ in below[1:]) == pytest.approx(full), "the parts are the whole catch"
    ends = [left for _, left, *_ in below[1:]]
    assert ends == sorted(ends, reverse=True), "each step goes on where the one above stopped"
    for step, following in itertools.pairwise(below[1:]):
        assert following[1] + following[2] == pytest.approx(step[1], abs=1e-6)
    assert ends[-1] == pytest.approx(0, abs=1e-6), "the load stands on the floor"


def test_equal_stages_are_told_apart(tmp_path):
    path = [("wake", 9.0), ("stage 1: gears 60:10", 0.1), ("stage 2: gears 60:10", 0.2), ("load", 0.5)]
    chart = energy.energy_path([{"part": part, "power_W": power} for part, power in path])
    words = texts(files.save(chart, tmp_path / "chart.svg").read_text(encoding="utf-8"))
    assert {"gears 60:10 (stage 1)", "gears 60:10 (stage 2)"} <= set(words)


def test_parts_without_power_are_left_out_but_never_the_load(drawn):
    path = [{"part": "wake", "power_W": 1.0}, {"part": "rods", "power_W": 0.0}, {"part": "blades", "power_W": 0.1}]
    rows = energy.energy_path([*path, {"part": "load", "power_W": 0.0}])["description"]
    assert "rods" not in rows
    assert "to your load: 0 mW" in rows


@pytest.mark.parametrize("starts", [True, False])
def test_what_does_not_start_is_hollow(tmp_path, starts):
    chart = performance.performance(points(stuck_below=0 if starts else 99))
    svg = files.save(chart, tmp_path / "chart.svg").read_text(encoding="utf-8")
    marks = re.findall(r'aria-roledescription="point"[^>]*fill="(#\w+)" stroke="(#\w+)"', svg)
    green = look.colour("load")
    assert marks == [(green if starts else look.PAPER, green)] * 5


def test_error_bars_stand_where_the_readings_have_doubt(drawn):
    assert len(re.findall(r'aria-roledescription="tick"', drawn["performance"])) == 2
    assert 'aria-roledescription="tick"' not in drawn["performance, no readings"]


def test_points_may_come_in_any_order():
    assert performance.performance(points()) == performance.performance(points()[::-1])
    assert performance.rotor(curve(0.03)) == performance.rotor(curve(0.03)[::-1])


@pytest.mark.parametrize(
    ("stuck", "sentence"),
    [
        ([], "It starts by itself."),
        ([2, 3], "It begins to start by itself between 3 and 4 m/s."),
        ([4], "It starts by itself at some of these wind speeds only."),
        ([2, 3, 4, 5, 6], "It starts by itself at none of these wind speeds."),
    ],
)
def test_the_start_in_one_sentence(stuck, sentence):
    rows = [{**row, "starts": row["wind_speed_m_s"] not in stuck} for row in points()]
    assert performance.performance(rows)["title"]["subtitle"] == sentence


# colours


def test_each_group_has_its_own_colour_of_the_okabe_ito_set():
    okabe_ito = {"#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7"}
    colours = [look.colour(group) for group in look.GROUPS]
    assert look.GROUPS == ("wind", "rotor", "drivetrain", "generator", "load", "tower")
    assert len(set(colours)) == 6
    assert set(colours) <= okabe_ito


@pytest.mark.parametrize(
    ("part", "group"),
    [
        *[("tower", "tower"), ("wake", "wind"), ("blades", "rotor"), ("rods", "rotor"), ("bearings", "drivetrain")],
        *[("stage 1: gears 64:8", "drivetrain"), ("stage 2: round belt 100:20 mm", "drivetrain"), ("load", "load")],
        *[("generator friction", "generator"), ("generator winding", "generator"), ("rectifier", "generator")],
    ],
)
def test_parts_belong_to_groups(part, group):
    assert look.group_of(part) == group


def test_bars_wear_the_colour_of_their_group(drawn):
    of = {energy.part_words(part): look.colour(look.group_of(part)) for part in PATH}
    of |= {"the wind": look.colour("wind"), "taken by the blades": look.colour("rotor")}
    for name in ("energy", "energy, phone", "energy, tiny", "beside", "above"):
        shown = bars(drawn[name])
        assert len(shown) == len(PATH) + 3
        assert [(said, colour) for said, _, _, colour in shown] == [
            (said, of[said.rpartition(": ")[0]]) for said, *_ in shown
        ]


def test_curves_wear_the_colour_of_their_group(drawn):
    line = r'"line mark"[^>]*stroke="(#\w+)"'
    assert set(re.findall(line, drawn["performance"])) == {look.colour("load")}
    assert set(re.findall(line, drawn["rotor"])) == {look.colour("rotor"), look.colour("tower")}


# Ratios that every contrast checker gives for these greys on white: from memory
@pytest.mark.parametrize(("grey", "ratio"), [("#000000", 21.0), ("#767676", 4.54), ("#777777", 4.48), ("#FFFFFF", 1.0)])
def test_contrast_is_the_one_of_the_guidelines(grey, ratio):
    assert look.contrast(grey, "#FFFFFF") == pytest.approx(ratio, abs=0.005)
    assert look.contrast("#FFFFFF", grey) == look.contrast(grey, "#FFFFFF")


@pytest.mark.parametrize("background", [look.PAPER, look.REST, look.pale("rotor", 0.16), look.pale("load")])
def test_text_reads_well_on_every_ground(background):
    assert look.contrast(look.INK, background) >= 4.5
    assert look.contrast(look.SOFT_INK, background) >= 4.5


@pytest.mark.parametrize("group", look.GROUPS)
def test_text_reads_well_on_every_group(group):
    assert look.contrast(look.text_on(look.colour(group)), look.colour(group)) >= 4.5


@pytest.mark.parametrize("name", CHARTS)
def test_text_that_is_really_drawn_reads_well(drawn, name):
    inks = set(re.findall(r'<text[^>]*fill="(#\w+)"', drawn[name]))
    fonts = set(re.findall(r'font-family="([^"]*)"', drawn[name]))
    assert inks
    assert inks <= {look.INK, look.SOFT_INK}
    assert fonts == {look.FONT}


# refusals


@pytest.mark.parametrize("name", ["chart", "chart.jpg", "chart.svg.zip", ".png"])
def test_another_ending_is_refused(tmp_path, name):
    with pytest.raises(InputError, match=r"plot file: got .*needs an ending \.svg, \.png, \.pdf\. Try: ."):
        files.save(CHARTS["energy"], tmp_path / name)
    assert not list(tmp_path.iterdir())


def test_a_place_that_cannot_be_written_is_refused(tmp_path):
    (tmp_path / "file").write_text("a file is no folder", encoding="utf-8")
    (tmp_path / "folder.png").mkdir()
    for place in (tmp_path / "missing" / "chart.png", tmp_path / "file" / "chart.svg", tmp_path / "folder.png"):
        with pytest.raises(InputError, match="a place that can be written"):
            files.save(CHARTS["performance"], place)


@pytest.mark.parametrize("draw", [performance.performance, performance.rotor, energy.energy_path])
def test_nothing_to_draw_is_refused(draw):
    with pytest.raises(InputError, match="needs"):
        draw([])


def test_unknown_names_are_refused():
    with pytest.raises(UnknownKey, match="rotor"):
        look.colour("roter")
    with pytest.raises(UnknownKey, match="blades"):
        look.group_of("blade")


# numbers as words


@pytest.mark.parametrize(("power", "unit"), [(12, "W"), (1, "W"), (0.99, "mW"), (2e-4, "µW"), (1e-9, "µW"), (0, "mW")])
def test_the_unit_fits(power, unit):
    assert watt_unit(power)[0] == unit


@pytest.mark.parametrize(
    ("power", "unit", "text"),
    [(9.2, "W", "9.2 W"), (0.12, "W", "0.12 W"), (0.004, "W", "4.0 mW"), (0.71, "mW", "710 mW"), (0, "mW", "0 mW")],
)
def test_watts_are_short(power, unit, text):
    assert watts(power, unit) == text


@pytest.mark.parametrize(
    ("share", "text"),
    [(1, "100 %"), (0.283, "28 %"), (0.0742, "7.4 %"), (0.0004, "under 0.1 %"), (0, "0 %"), (-0.05, "-5.0 %")],
)
def test_shares_are_short(share, text):
    assert percent(share) == text
