"""The commands doubt and curve: numbers that agree with the readings, keys in SI, words that say what to blame."""

import json
import math
import re
import sys

import pytest
from turbines import EXAMPLES

from whirlbench.charts import files
from whirlbench.charts.power_curve import power_curve
from whirlbench.cli.main import run
from whirlbench.errors import InputError

FOUR_PIECES = re.compile(r".+: got .+, needs .+\. Try: .+\.")
STARTER = EXAMPLES / "starter.toml"
READINGS = """wind_speed [m/s],load_resistance [ohm],voltage [mV],rotor_speed [rpm]
3.5,47,265,200
3.5,47,258,200
4.5,47,342,262
4.5,47,350,266
4.5,47,338,260
4.5,22,270,254
4.5,open,522,390
"""


@pytest.fixture
def call(monkeypatch, capsys):
    """Run the command line in this process; answers with status, output and errors."""

    def called(*words):
        monkeypatch.setattr(sys, "argv", ["whirlbench", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            run()
        out, err = capsys.readouterr()
        return end.value.code or 0, out, err

    return called


@pytest.fixture
def readings(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text(READINGS, encoding="utf-8")
    return path


@pytest.fixture
def answered(call, readings):
    """Answer of a command on the readings, as the object of its JSON."""

    def asked(command, *words):
        status, out, err = call(command, readings, "--turbine", STARTER, *words, "--json")
        assert (status, err) == (0, "")
        return json.loads(out)

    return asked


def test_each_reading_is_answered(answered):
    points = answered("doubt")["points"]
    assert [point["line"] for point in points] == [2, 3, 4, 5, 6, 7, 8]
    third = points[2]
    assert third["electrical_power_W"] == pytest.approx(0.342**2 / 47)
    radius = 10 * 0.0254
    wind_power = 0.5 * third["air_density_kg_m3"] * math.pi * radius**2 * 4.5**3
    assert third["power_coefficient"] == pytest.approx(third["electrical_power_W"] / wind_power)
    assert third["tip_speed_ratio"] == pytest.approx(262 * math.pi / 30 * radius / 4.5)
    for key in ("electrical_power{}_W", "power_coefficient{}", "tip_speed_ratio{}", "generator_speed{}_rad_s"):
        number, low, high, sd = (third[key.format(part)] for part in ("", "_low", "_high", "_sd"))
        assert low < number < high
        assert sd > 0


def test_an_open_circuit_has_a_speed_but_no_power(answered):
    last = answered("doubt")["points"][-1]
    assert last["electrical_power_W"] is last["power_coefficient"] is None
    assert last["tip_speed_ratio"] > 0


def test_shares_add_up_and_blame_the_wind(answered):
    answer = answered("doubt", "--meter", "0.5 % + 2 digits", "--meter", "ohms: 0.5 %")
    for point in answer["points"]:
        for budget in point["budgets"]:
            assert sum(each["share"] for each in budget["shares"]) == pytest.approx(1)
    blamed = next(budget for budget in answer["budgets"] if budget["quantity"] == "power_coefficient")
    assert re.search(r"the wind speed is \d\d % of the doubt", blamed["sentence"])
    assert "One digit of the volts is taken as 0.001 V, the last digit written." in answer["notes"]


def test_a_better_meter_narrows_the_power_and_a_poorer_wind_makes_it_lopsided(answered):
    usual, better = answered("doubt"), answered("doubt", "--meter", "0.2 % + 1 digit")
    assert better["points"][2]["electrical_power_sd_W"] < usual["points"][2]["electrical_power_sd_W"]
    poor = answered("doubt", "--meter", "wind: 20 %")
    assert poor["wind_doubt"] == pytest.approx(0.2 / math.sqrt(3))
    assert [usual["points"][2]["lopsided"], poor["points"][2]["lopsided"]] == [False, True]


def test_repeats_say_how_much_readings_scatter(answered):
    answer = answered("doubt")
    assert answer["repeats"] == 3, "one from the pair, two from the three"
    assert 0.01 < answer["power_scatter"] < 0.06
    assert not [note for note in answer["notes"] if "repeated" in note]


def test_doubt_in_words(call, readings):
    status, out, err = call("doubt", readings, "--turbine", STARTER, "--meter", "0.5 % + 2 digits; resolution 1 mV")
    assert (status, err) == (0, "")
    assert "Team Kittiwake, starter build: 7 readings" in out
    assert re.search(r"2\.5 \(2\.\d to 2\.\d\) mW", out)
    assert "open" in out
    assert "of the doubt." in out


def test_a_range_that_is_too_high_is_told(call, readings):
    words = ("--meter", "0.5 % + 2 digits; resolution 10 mV; range 20 V")
    out = " ".join(call("doubt", readings, "--turbine", STARTER, *words)[1].split())
    assert "Line 2: On the next lower range the doubt of 0.265 V would fall from" in out


def test_curve_by_bins(answered):
    answer = answered("curve")
    first, second = answer["curves"]
    assert (first["load_resistance_ohm"], second["load_resistance_ohm"]) == (47, 22)
    assert [(each["centre_m_s"], each["count"]) for each in first["bins"]] == [(3.5, 2), (4.5, 3)]
    run = first["runs"][0]
    assert run["normal_power_W"] == pytest.approx(0.265**2 / 47 * 1.225 / run["air_density_kg_m3"])
    assert run["normal_wind_speed_m_s"] == 3.5
    assert second["bins"][0]["electrical_power_sd_W"] is None
    assert "Readings without a load are left out, since they give no power: 1." in answer["notes"]


def test_curve_with_other_bins_and_rules(answered):
    wide = answered("curve", "--bin-width", "2 m/s", "--density-rule", "none")
    assert [each["count"] for each in wide["curves"][0]["bins"]] == [5]
    assert wide["curves"][0]["runs"][0]["normal_power_W"] == pytest.approx(0.265**2 / 47)
    by_wind = answered("curve", "--density-rule", "wind")["curves"][0]["runs"][0]
    assert by_wind["normal_wind_speed_m_s"] == pytest.approx(3.5 * (by_wind["air_density_kg_m3"] / 1.225) ** (1 / 3))


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_curve_in_words_and_drawn(call, readings, tmp_path, ending):
    picture = tmp_path / f"curve.{ending}"
    status, out, err = call("curve", readings, "--turbine", STARTER, "--plot", picture)
    assert (status, err) == (0, "")
    assert "6 runs in bins of 0.5 m/s" in out
    assert "47 ohm" in out
    if ending == "svg":
        drawn = picture.read_text(encoding="utf-8")
        assert all(words in drawn for words in ("Power curve as measured", "22 ohm", "electrical power [mW]"))
        assert not re.search(r"NaN|undefined|Infinity", drawn)
    else:
        assert picture.read_bytes().startswith(b"\x89PNG")


def test_a_chart_of_one_run_or_of_none(answered, tmp_path, readings):
    readings.write_text("wind_speed [m/s],voltage [V],current [mA]\n4,0,0\n", encoding="utf-8")
    alone = answered("curve")
    svg = files.save(power_curve(alone), tmp_path / "one.svg").read_text(encoding="utf-8")
    assert "load not written down" in svg
    with pytest.raises(InputError):
        power_curve({"curves": []})


@pytest.mark.parametrize(
    "words",
    [
        ("doubt", "--meter", "very good"),
        ("doubt", "--meter", "volt: 0.5 %"),
        ("doubt", "--meter", "1 % of range"),
        ("doubt", "--meter", "wind: 49 %"),
        ("curve", "--bin-width", "0.5"),
        ("curve", "--bin-width", "50 m/s"),
        ("curve", "--density-rule", "powr"),
        ("curve", "--plot", "chart.doc"),
    ],
    ids=" ".join,
)
def test_slips_are_told_in_four_pieces(words, call, readings):
    command, *rest = words
    status, out, err = call(command, readings, "--turbine", STARTER, *rest)
    assert (status, out) == (2, "")
    assert FOUR_PIECES.fullmatch(err.strip())


@pytest.mark.parametrize("command", ["doubt", "curve"])
def test_readings_without_power_or_speed(command, call, readings):
    readings.write_text("wind_speed [m/s],voltage [V]\n4,1\n", encoding="utf-8")
    status, out, err = call(command, readings, "--turbine", STARTER)
    assert (status, out) == (2, "")
    assert FOUR_PIECES.fullmatch(err.strip())
