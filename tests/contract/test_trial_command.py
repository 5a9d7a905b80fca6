"""The command trial: sheets on paper and screen, readings into a new turbine file, refusals without a traceback."""

import csv
import json
import re
import sys

import pypdfium2
import pytest
from turbines import BUILDS, EXAMPLES

from whirlbench.cli.main import run
from whirlbench.measure.trials import TRIALS
from whirlbench.parts.files import read_turbine
from whirlbench.predict import turbine as whole
from whirlbench.predict.wind import disc_speed

FOUR_PIECES = re.compile(r".+: got .+, needs .+\. Try: .+\.", re.DOTALL)
STARTER = EXAMPLES / "starter.toml"
SIZES = {"A4": (595.3, 841.9), "letter": (612, 792)}
OPEN_VOLTS = "speed [rpm],voltage [V],current\n500,0.77,dc\n1000,1.53\n1500,2.31\n2000,3.07\n2500,3.84\n3000,4.60\n"
READ = {
    "open-volts": OPEN_VOLTS,
    "loaded-volts": "open voltage [V];loaded voltage [V];load [ohm]\n3,07;1,55;10\n3,08;2,12;22\n3,07;2,52;47\n",
    "no-load-current": "voltage [V],current [mA]\n1,25\n2,26\n3,26.5\n4,27\n5,27.5\n6,28.5\n",
    "breakaway": "mass [g],pulley radius [mm]\n9,5\n11,\n8,\n12,\n10,\n",
    "spin-down": "time [s],speed [rpm],bar mass [g],bar length [mm]\n0,600,100,300\n10,500\n20,405\n30,300\n40,195\n",
    "balance": "blade,mass [g],balance radius [mm]\n1,31.2,118\n2,30.1,117\n3,32.5,119\n",
    "wind-map": "radius [mm],top [m/s],right [m/s],bottom [m/s],left [m/s]\n92,4.6,4.7,4.5,4.6\n159,4.4,4.5,4.3,4.4\n"
    "206,4.0,4.1,3.9,4.0\n243,3.4,3.6,3.3,3.5\n",
    "tower-pull": "mass [g],deflection [mm]\n50,11\n100,15\n150,20\n200,24\n250,29\n",
    "base-tilt": "angle [deg]\n16\n18\n17\n17.5\n16.5\n",
}


@pytest.fixture
def call(monkeypatch, capsys):
    """Run the command line in this process; answers with status, output and errors."""

    def called(*words):
        monkeypatch.setattr(sys, "argv", ["whirlbench", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            run()
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return end.value.code or 0, out, err

    return called


def test_the_list_names_every_test(call):
    status, out, _ = call("trial", "list")
    assert status == 0
    assert all(name in out for name in TRIALS)
    listed = json.loads(call("trial", "list", "--json")[1])
    assert [one["name"] for one in listed["trials"]] == list(TRIALS)


@pytest.mark.parametrize("name", TRIALS)
def test_a_sheet_says_all(call, name):
    status, out, _ = call("trial", "sheet", name, "--turbine", STARTER)
    assert status == 0
    said = " ".join(out.split())
    one = TRIALS[name]
    for words in (*one.cautions, *one.needs, *one.steps, one.formula):
        assert words in said
    assert json.loads(call("trial", "sheet", name, "--json")[1])["columns"]


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("name", TRIALS)
def test_a_sheet_is_printed_within_the_paper(call, tmp_path, name, paper):
    out = tmp_path / "sheet.pdf"
    assert call("trial", "sheet", name, "--turbine", STARTER, "--out", out, "--paper", paper)[0] == 0
    document = pypdfium2.PdfDocument(out)
    try:
        said = " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())
        for number, page in enumerate(document, start=1):
            assert page.get_size() == pytest.approx(SIZES[paper], abs=0.5)
            assert f"page {number} of {len(document)}" in said
            for mark in page.get_objects():
                left, bottom, right, top = mark.get_bounds()
                assert left >= 20
                assert bottom >= 20
                assert right <= SIZES[paper][0] - 20
                assert top <= SIZES[paper][1] - 20
        assert len(document) <= (2 if name == "tunnel-map" else 1)
    finally:
        document.close()
    one = TRIALS[name]
    assert all(words[:40] in said for words in (*one.cautions, *one.needs))
    assert all(column.name in said for column in one.columns)
    assert f"trial read {name}" in said


@pytest.mark.parametrize("name", READ)
def test_readings_become_the_turbine(call, tmp_path, name):
    readings, new = tmp_path / "readings.csv", tmp_path / "new.toml"
    readings.write_text(READ[name], encoding="utf-8")
    before = STARTER.read_bytes()
    status, out, err = call("trial", "read", name, readings, "--turbine", STARTER, "--out", new, "--json")
    assert (status, err) == (0, "")
    assert STARTER.read_bytes() == before
    report = json.loads(out)
    assert report["written_to"] == str(new)
    part = read_turbine(new)
    assert part != read_turbine(STARTER)
    assert part.tower.tube == read_turbine(STARTER).tower.tube
    for line in STARTER.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            assert line in new.read_text(encoding="utf-8")
    said = call("trial", "read", name, readings, "--turbine", STARTER)[1]
    assert all(one["what"] in " ".join(said.split()) for one in report["found"])


def test_one_test_after_the_other_makes_a_measured_generator(call, tmp_path):
    turbine = STARTER
    for name in ("open-volts", "loaded-volts", "no-load-current", "breakaway"):
        readings, new = tmp_path / f"{name}.csv", tmp_path / f"{name}.toml"
        readings.write_text(READ[name], encoding="utf-8")
        assert call("trial", "read", name, readings, "--turbine", turbine, "--out", new)[0] == 0
        turbine = new
    generator = read_turbine(turbine).generator
    assert generator.kind == "measured"
    assert generator.emf_constant.number == pytest.approx(0.01466, rel=0.005)
    assert 0.005 < generator.emf_constant.relative < 0.02
    assert generator.resistance.number == pytest.approx(9.5, abs=0.5)
    assert generator.friction.number == pytest.approx(0.362e-3, rel=0.02)
    assert generator.breakaway.number == pytest.approx(0.01 * 9.80665 * 0.005, rel=1e-3)


def test_the_doubt_of_a_wind_map_is_that_of_every_prediction(call, tmp_path):
    """A careful map narrows the wind that a prediction believes in, from the 5 % of one that nobody measured."""
    readings, new = tmp_path / "map.csv", tmp_path / "new.toml"
    readings.write_text(READ["wind-map"], encoding="utf-8")
    report = json.loads(call("trial", "read", "wind-map", readings, "--turbine", STARTER, "--out", new, "--json")[1])
    (found,) = report["found"]
    part = read_turbine(new)
    speed = disc_speed(part.wind, part.rotor.radius)
    assert (speed.number, speed.sigma) == pytest.approx((found["number"], found["sd"]), rel=0.02), "to its two digits"
    assert speed.relative == part.wind.map_doubt
    assert whole.priors(part).sigma("wind") == pytest.approx(part.wind.map_doubt, rel=1e-3)
    unsaid = part.changed(wind=part.wind.changed(map_doubt=None))
    assert whole.priors(unsaid).sigma("wind") == pytest.approx(0.05, rel=1e-3)


@pytest.mark.parametrize("build", BUILDS)
def test_a_generator_keeps_what_was_not_measured(call, tmp_path, build):
    readings, new = tmp_path / "readings.csv", tmp_path / "new.toml"
    readings.write_text(OPEN_VOLTS, encoding="utf-8")
    old = read_turbine(EXAMPLES / f"{build}.toml")
    assert call("trial", "read", "open-volts", readings, "--turbine", EXAMPLES / f"{build}.toml", "--out", new)[0] == 0
    part = read_turbine(new)
    assert part.generator.kind == "measured"
    assert part.generator.rectifier == old.generator.rectifier
    assert part.changed(generator=old.generator) == old


def test_a_sheet_to_fill_in_holds_what_is_known(call, tmp_path):
    out = tmp_path / "map.csv"
    told = ("--set", "map radius=300 mm")
    assert call("trial", "sheet", "wind-map", "--turbine", STARTER, "--out", out, *told)[0] == 0
    rows = list(csv.reader(out.read_text(encoding="utf-8").splitlines()[1:]))
    assert [row[1] for row in rows[1:]] == ["106", "184", "237", "281"]
    assert "300 mm" in rows[1]
    status, _, err = call("trial", "sheet", "wind-map", "--out", out)
    assert status == 2
    assert "nothing is ever overwritten" in err


@pytest.mark.parametrize(
    "words",
    [
        ("sheet", "wind-mop"),
        ("sheet", "wind-map", "--out", "map.doc"),
        ("sheet", "wind-map", "--out", "nowhere/at/all.pdf"),
        ("sheet", "wind-map", "--paper", "A5", "--out", "map.pdf"),
        ("sheet", "breakaway", "--set", "pulley=5 mm"),
        ("sheet", "balance", "--set", "what"),
        ("read", "balance", "missing.csv", "--turbine", STARTER),
        ("read", "tunnel-map", "readings.csv", "--turbine", STARTER),
        ("read", "open-volts", "readings.csv", "--turbine", STARTER),
    ],
    ids=lambda words: " ".join(map(str, words[:3])),
)
def test_a_slip_is_told_in_four_pieces(call, tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "readings.csv").write_text("place,across [mm],up [mm],wind [m/s]\n1,0,0,4\n", encoding="utf-8")
    status, out, err = call("trial", *words)
    assert status == 2
    assert not out
    assert FOUR_PIECES.match(err)
    assert not list(tmp_path.glob("*.pdf"))


def test_a_file_that_is_there_is_never_overwritten(call, tmp_path):
    readings, new = tmp_path / "readings.csv", tmp_path / "new.toml"
    readings.write_text(OPEN_VOLTS, encoding="utf-8")
    new.write_text("precious", encoding="utf-8")
    assert call("trial", "read", "open-volts", readings, "--turbine", STARTER, "--out", new)[0] == 2
    assert new.read_text(encoding="utf-8") == "precious"
