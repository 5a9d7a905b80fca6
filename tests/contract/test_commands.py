"""The commands predict and rotor: keys, exit statuses, forms of options, and errors without a traceback."""

import json
import os
import re
import subprocess
import sys

import pytest
from turbines import BUILDS, EXAMPLES

from whirlbench import __version__
from whirlbench.cli.main import run

# DESIGN §5: others read these keys
PREDICT_KEYS = """wind_speed_m_s state rotor_speed_rad_s generator_speed_rad_s tip_speed_ratio power_coefficient
thrust_coefficient thrust_N rotor_torque_N_m emf_V voltage_V current_A electrical_power_W electrical_power_sd_W starts
standstill_torque_N_m breakaway_torque_N_m energy_path"""
ROTOR_KEYS = "tip_speed_ratio power_coefficient thrust_coefficient torque_coefficient"
FOUR_PIECES = re.compile(r".+: got .+, needs .+\. Try: .+\.")


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


def path(name):
    return EXAMPLES / f"{name}.toml"


@pytest.fixture
def changed(tmp_path):
    """An example with one piece of its text exchanged."""

    def written(name, old, new):
        text = path(name).read_text(encoding="utf-8")
        assert text.count(old) >= 1
        (tmp_path / "turbine.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
        return tmp_path / "turbine.toml"

    return written


# --- real processes ---------------------------------------------------------------------------------------------------


def process(*words):
    command = [sys.executable, "-c", "from whirlbench.cli.main import run; run()", *map(str, words)]
    environment = os.environ | {"PYTHONIOENCODING": "utf-8", "PYTHONWARNINGS": "error"}
    return subprocess.run(command, capture_output=True, text=True, encoding="utf-8", env=environment, check=False)


def test_predict_as_a_process():
    done = process("predict", path("geared"), "--wind", "4 m/s, 5 m/s", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    assert [point["wind_speed_m_s"] for point in json.loads(done.stdout)["points"]] == [4, 5]


def test_rotor_as_a_process():
    done = process("rotor", path("geared"), "--tsr", "2:4:1", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    assert [point["tip_speed_ratio"] for point in json.loads(done.stdout)["points"]] == [2, 3, 4]


def test_a_slip_as_a_process():
    done = process("predict", path("geared"), "--wind", "4")
    assert (done.returncode, done.stdout) == (2, "")
    assert FOUR_PIECES.fullmatch(done.stderr.strip())


# --- answers ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BUILDS)
def test_predict_answers_with_the_keys_that_others_read(name, call):
    status, out, err = call("predict", path(name), "--wind", "5 m/s", "--json")
    assert (status, err) == (0, "")
    answer = json.loads(out)
    assert {"turbine", "points"} <= answer.keys()
    (point,) = answer["points"]
    assert set(PREDICT_KEYS.split()) <= point.keys()
    assert all(step.keys() >= {"part", "power_W"} for step in point["energy_path"])
    assert sum(step["power_W"] for step in point["energy_path"]) == pytest.approx(point["wind_power_W"], rel=1e-9)
    assert point["energy_path"][-1] == {"part": "load", "power_W": point["electrical_power_W"]}
    assert point["electrical_power_low_W"] <= point["electrical_power_high_W"]
    assert isinstance(point["starts"], bool)
    assert 0 <= point["start_chance"] <= 1


@pytest.mark.parametrize("name", BUILDS)
def test_rotor_answers_with_the_keys_that_others_read(name, call):
    status, out, err = call("rotor", path(name), "--json")
    assert (status, err) == (0, "")
    points = json.loads(out)["points"]
    assert all(set(ROTOR_KEYS.split()) <= point.keys() for point in points)
    assert [point["tip_speed_ratio"] for point in points] == pytest.approx([0.25 * i for i in range(41)])
    for point in points:
        product = point["torque_coefficient"] * point["tip_speed_ratio"]
        assert point["power_coefficient"] == pytest.approx(product)


@pytest.mark.parametrize("command", ["predict", "rotor"])
def test_keys_carry_si_units(command, call):
    def keys(value):
        if isinstance(value, dict):
            yield from value
        for inner in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
            yield from keys(inner)

    _, out, _ = call(command, path("geared"), "--json")
    ends = {key.rsplit("_", 1)[-1] for key in keys(json.loads(out)) if key.rsplit("_", 1)[-1] in UNITS}
    assert not ends & {"mm", "rpm", "deg", "mW", "mA", "mV", "kmh"}
    assert ends or command == "rotor"


UNITS = {"s", "W", "V", "A", "N", "m", "rad", "ohm", "J", "mm", "rpm", "deg", "mW", "mA", "mV", "kmh"}


@pytest.mark.parametrize("command", ["predict", "rotor"])
@pytest.mark.parametrize("name", BUILDS)
def test_the_sentence_comes_first(command, name, call):
    _, out, _ = call(command, path(name), "--wind", "5 m/s")
    first = out.split("\n\n")[0].strip().replace("\n", " ")
    assert re.match(r"Team \w+, \w+ build, wind 5 m/s: [A-Zt].+\.", first)


def test_a_turbine_that_does_not_start_ends_with_one(call):
    status, out, err = call("predict", path("starter"), "--wind", "0.5 m/s", "--json")
    assert (status, err) == (1, "")
    assert json.loads(out)["points"][0]["starts"] is False
    assert call("predict", path("starter"), "--wind", "0.5 m/s")[0] == 1
    assert call("predict", path("starter"), "--wind", "0.5 m/s", "--pushed")[0] == 0
    assert call("predict", path("starter"), "--wind", "0.5, 5 m/s")[0] == 0  # the last wind is the question


def test_without_a_wind_the_turbine_keeps_its_own(call):
    point = json.loads(call("predict", path("geared"), "--json")[1])["points"][0]
    assert point["wind_speed_m_s"] == pytest.approx(4.47, abs=0.01)
    assert json.loads(call("rotor", path("geared"), "--json")[1])["wind_speed_m_s"] == point["wind_speed_m_s"]


@pytest.mark.parametrize(
    ("text", "winds"),
    [
        ("4 m/s", [4]),
        ("4m/s", [4]),
        ("18 km/h", [5]),
        ("10 mph", [4.4704]),
        ("3, 4, 5 m/s", [3, 4, 5]),
        ("3 m/s, 18 km/h", [3, 5]),
        ("3:5:1 m/s", [3, 4, 5]),
        ("3:4:0.5 m/s", [3, 3.5, 4]),
    ],
)
def test_forms_of_a_wind(text, winds, call):
    status, out, _ = call("predict", path("geared"), "--wind", text, "--json")
    assert status == 0
    assert [point["wind_speed_m_s"] for point in json.loads(out)["points"]] == pytest.approx(winds)


@pytest.mark.parametrize(("text", "ratios"), [("4", [4]), ("0, 2.5, 9", [0, 2.5, 9]), ("0:8:4", [0, 4, 8])])
def test_forms_of_tip_speed_ratios(text, ratios, call):
    status, out, _ = call("rotor", path("geared"), "--wind", "4 m/s", "--tsr", text, "--json")
    assert status == 0
    assert [point["tip_speed_ratio"] for point in json.loads(out)["points"]] == ratios


def test_ratios_asked_for_are_shown_even_where_the_rotor_is_a_propeller(call):
    assert "15.00" in call("rotor", path("geared"), "--tsr", "15")[1]


def test_help_and_version(call):
    assert call("--version")[:2] == (0, f"{__version__}\n")
    for words in (["--help"], ["predict", "--help"], ["rotor", "--help"]):
        status, out, _ = call(*words)
        assert status == 0
        assert re.match(r"\s*Usage: .*whirlbench", out)


# --- slips ------------------------------------------------------------------------------------------------------------

SLIPS = [
    ("predict", "--wind", ""),
    ("predict", "--wind", "4"),
    ("predict", "--wind", "fast"),
    ("predict", "--wind", "4 kg"),
    ("predict", "--wind", "-4 m/s"),
    ("predict", "--wind", "0 m/s"),
    ("predict", "--wind", "61 m/s"),
    ("predict", "--wind", "1e999 m/s"),
    ("predict", "--wind", "2:8 m/s"),
    ("predict", "--wind", "2:8:0 m/s"),
    ("predict", "--wind", "8:2:1 m/s"),
    ("rotor", "--wind", "0 m/s"),
    ("rotor", "--wind", "3, 4 m/s"),
    ("rotor", "--tsr", ""),
    ("rotor", "--tsr", "-1"),
    ("rotor", "--tsr", "41"),
    ("rotor", "--tsr", "0:8"),
    ("rotor", "--tsr", "4 m/s"),
    ("rotor", "--tsr", "many"),
    ("predict", "--plot", "chart.doc"),
    ("rotor", "--plot", "chart.doc"),
]


@pytest.mark.parametrize("words", SLIPS, ids=" ".join)
def test_a_slip_in_an_option_is_told_in_four_pieces(words, call):
    command, *rest = words
    status, out, err = call(command, path("geared"), *rest)
    assert (status, out) == (2, "")
    assert FOUR_PIECES.fullmatch(err.strip())


def test_a_wind_out_of_range_is_told_as_it_was_asked(call):
    assert "got 61 m/s" in call("predict", path("geared"), "--wind", "61 m/s")[2]
    assert call("predict", path("geared"), "--wind", "60 m/s")[0] == 1  # computed; the stand slides away
    assert call("predict", path("geared"), "--wind", "0.1 m/s")[0] == 1


@pytest.mark.parametrize("command", ["predict", "rotor"])
def test_files_that_are_no_turbine(command, call, tmp_path):
    (tmp_path / "empty.toml").write_text("")
    (tmp_path / "binary.toml").write_bytes(bytes(range(256)))
    (tmp_path / "broken.toml").write_text("format = \n")
    files = [tmp_path / name for name in ("missing.toml", "empty.toml", "binary.toml", "broken.toml")]
    for file in [*files, tmp_path, path("event"), path("parts-bin"), EXAMPLES / "starter-readings.csv"]:
        status, out, err = call(command, file)
        assert (status, out) == (2, "")
        assert all(FOUR_PIECES.fullmatch(line) for line in err.strip().splitlines())


NAMES = [
    ("starter", 'nominal = "1/2 in"', 'nominal = "1/2 inch"', "tower > tube > nominal", "1/2 in"),
    ("starter", "plywood on laminate table", "plywood on laminated table", "surface", "plywood on laminate table"),
    ("starter", '"grey board"', '"gray board"', "rotor > section > material", "grey board"),
    ("starter", '"birch"', '"birsh"', "rotor > rod > material", "birch"),
    ("starter", "5 V (type 14415)", "5 V", "generator > type", "iron core 500 can, 5 V (type 14415)"),
    ("geared", '"pom_pom"', '"pom_pon"', "teeth", "pom_pom"),
    ("geared", 'kind = "resistor"\nresistance = "22 ohm"', 'kind = "leds"\ncolour = "reds"', "load > colour", "red"),
    ("advanced", '"sg6043"', '"sg6043x"', "airfoil", "sg6043"),
    ("advanced", '"N42"', '"N42X"', "magnet grade", "N42"),
    ("advanced", '"PLA"', '"PLAA"', "rotor > section > material", "PLA"),
]


@pytest.mark.parametrize("case", NAMES, ids=str)
def test_a_name_that_no_table_knows_is_answered_with_the_nearest(case, call, changed):
    name, old, new, field, nearest = case
    status, out, err = call("predict", changed(name, old, new))
    assert (status, out) == (2, "")
    assert FOUR_PIECES.fullmatch(err.strip())
    assert err.startswith(f"{field}: got ")
    assert f"write '{nearest}'" in err


def test_a_four_digit_section_needs_no_table(call, changed):
    assert call("predict", changed("advanced", '"sg6043"', '"4412"'), "--wind", "5 m/s")[0] in (0, 1)


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("geared", 'map_radius = "305 mm"\n', ""),
        ("geared", 'map_radius = "305 mm"', 'map_radius = "100 mm"'),
        ("geared", 'rings = ["4.6 m/s", "4.5 m/s", "4.2 m/s", "3.6 m/s"]', ""),
        ("geared", 'rings = ["4.6 m/s", "4.5 m/s", "4.2 m/s", "3.6 m/s"]', "rings = []"),
        ("geared", '"2 mm"\ncamber', '"20 mm"\ncamber'),
        ("geared", 'tip_chord = "40 mm"', 'tip_chord = "900 mm"'),
        ("geared", "rotor_teeth = 64", "rotor_teeth = 64\ncentre_distance = '5 mm'"),
        ("geared", "rotor_teeth = 64", "rotor_teeth = 64\ncentre_distance = '50 mm'"),
        ("geared", 'type = "iron', 'type = "xyzzy iron'),
        ("advanced", 'distance_near = "12.5 mm"', 'distance_near = "1 mm"'),
        ("advanced", 'coil_outer_radius = "13 mm"', 'coil_outer_radius = "2 m"'),
        ("advanced", 'slip = "0 %"', 'slip = "60 %"'),
        ("advanced", 'rotor_diameter = "25.46 mm"', 'rotor_diameter = "1 mm"'),
        ("advanced", 'kind = "airfoil"\nname = "sg6043"', 'kind = "own polar"\nfile = "none.csv"'),
        ("advanced", "rectifier = { diodes", '#\nname2 = "x" #'),
    ],
    ids=str,
)
def test_parts_that_do_not_fit_together_are_told_in_four_pieces(name, old, new, call, changed):
    status, out, err = call("predict", changed(name, old, new))
    assert (status, out) == (2, "")
    assert all(FOUR_PIECES.fullmatch(line) for line in err.strip().splitlines())


def test_alternating_current_lights_no_leds_without_diodes(call, changed, tmp_path):
    text = path("advanced").read_text(encoding="utf-8")
    text = re.sub(r"\nrectifier = .*", "", text)
    text = re.sub(r'kind = "resistor"\nresistance = .*', 'kind = "leds"', text)
    (tmp_path / "leds.toml").write_text(text, encoding="utf-8")
    status, _, err = call("predict", tmp_path / "leds.toml")
    assert status == 2
    assert "got LEDs on alternating current, needs a rectifier" in err


def test_words_the_command_line_does_not_know(call):
    for words in (["predict"], ["predict", path("geared"), "--jsn"], ["predikt"], ["rotor", path("geared"), "x"]):
        status, _, err = call(*words)
        assert status == 2
        assert re.search(r"Usage: .*whirlbench[\s\S]+Error: ", err)
