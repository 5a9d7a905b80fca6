"""The commands plan and compare: from a plan through a filled-in file to a verdict, with exit statuses and refusals."""

import csv
import json
import re
import sys

import numpy as np
import pypdfium2
import pytest

from whirlbench.cli.main import run
from whirlbench.measure.plan import Plan

FOUR_PIECES = re.compile(r".+: got .+, needs .+\. Try: .+\.")
FACTORS = ("--factor", "pitch=8 deg,12 deg", "--factor", "load=10 ohm,22 ohm")
ASKED = ("--gain", "8 %", "--scatter", "4 %")


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


def filled(path, gain, *, scatter=0.03, drift=0.0, seed=2):
    """Fill in a readings file as a team would: volts over the planned resistor."""
    generator = np.random.default_rng(seed)
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    for number, row in enumerate(rows):
        power = 0.08 * (1 + gain * ("pitch=12" in row["build"])) * (1 - drift * number)
        power *= 1 + scatter * generator.normal()
        ohms = 22 if "22 ohm" in row["build"] else 10
        volts = f"{(power * ohms) ** 0.5:.5f}"
        row.update({"wind_speed [m/s]": "4.5", "load_resistance [ohm]": ohms, "voltage [V]": volts})
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)


def file_of(path, volts, wind="4.5"):
    lines = ["wind_speed [m/s],load_resistance [ohm],voltage [V]", *(f"{wind},22,{each}" for each in volts)]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


@pytest.fixture
def ab(tmp_path):
    return [
        file_of(tmp_path / "A.csv", (1.30, 1.31, 1.29, 1.32)),
        file_of(tmp_path / "B.csv", (1.40, 1.42, 1.41, 1.39)),
    ]


def test_a_plan_in_words_and_as_json(call):
    status, out, err = call("plan", *FACTORS, *ASKED)
    assert (status, err) == (0, "")
    assert out.startswith("20 runs, 4 of them to watch the fan, about 60 minutes; sees a gain of 8 % or more")
    assert "common practice" not in out
    assert "common practice" in call("plan", *FACTORS)[1]
    status, out, _ = call("plan", *FACTORS, *ASKED, "--json")
    plan = Plan.model_validate(json.loads(out))
    assert status == 0
    assert len(plan.test_runs) == 16


def test_from_plan_to_verdict(call, tmp_path):
    sheet, readings, picture = (tmp_path / name for name in ("sheet.pdf", "readings.csv", "effects.svg"))
    plan = ("plan", *FACTORS, *ASKED, "--blocks", "day=2", "--sheet", sheet, "--paper", "letter", "--csv", readings)
    assert call(*plan)[0] == 0
    document = pypdfium2.PdfDocument(sheet)
    assert len(document) == 2
    document.close()
    filled(readings, 0.1)
    status, out, err = call("compare", readings, "--plot", picture)
    assert (status, err) == (0, "")
    assert out.startswith("pitch 12 deg is better than pitch 8 deg: +")
    assert "as the runs were taken in 2 blocks" in out
    assert picture.read_text(encoding="utf-8").startswith("<svg")
    answer = json.loads(call("compare", readings, "--json")[1])
    assert answer["better"] is True
    assert answer["factors"] == ["pitch", "load"]
    assert [line["source"] for line in answer["anova"]] == ["blocks", "pitch", "load", "pitch x load", "scatter"]
    status, _, err = call(*plan)
    assert status == 2
    assert "already there" in err


def test_a_fan_that_fades_is_taken_out(call, tmp_path):
    readings = tmp_path / "readings.csv"
    call("plan", *FACTORS, *ASKED, "--csv", readings)
    filled(readings, 0.1, scatter=0.01, drift=0.01)
    answer = json.loads(call("compare", readings, "--json")[1])
    assert any("real and was taken out" in caution for caution in answer["cautions"])
    assert answer["gains"][0]["share"] == pytest.approx(0.1, abs=0.02)
    assert len(answer["runs"]) == 16, "reference runs are not compared"


def test_two_files_are_two_builds(call, ab):
    status, out, err = call("compare", *ab)
    assert (status, err) == (0, "")
    assert out.startswith("B is better than A: +")
    assert "Welch's t test, as the runs carry neither pairs nor blocks" in out
    status, out, _ = call("compare", *reversed(ab))
    assert status == 1
    assert out.startswith("A is worse than B: -")
    assert call("compare", *reversed(ab), "--start", "A")[0] == 0


def test_a_difference_that_is_none_ends_with_status_one(call, ab, tmp_path):
    same = file_of(tmp_path / "C.csv", (1.31, 1.30, 1.33, 1.28))
    status, out, _ = call("compare", ab[0], same, "--gain", "20 %")
    assert status == 1
    assert out.startswith("No difference seen between A and C; a gain below")
    status, out, _ = call("compare", ab[0], same, "--gain", "0.5 %")
    assert status == 1
    assert out.startswith("Not enough runs to compare C with A")


def test_more_wind_is_minded(call, ab, tmp_path):
    windy = file_of(tmp_path / "D.csv", (1.40, 1.42, 1.41), wind="4.6")
    out = " ".join(call("compare", ab[0], windy)[1].split())
    assert "D had 2.2 % more wind than A, worth 7 % of power by itself." in out


def test_blocks_by_any_column_and_other_quantities(call, tmp_path):
    path = tmp_path / "readings.csv"
    rows = [
        f"4.5,{ohms},{volts},{build},{300 + 40 * (build == 'new') + number}"
        for number, (ohms, volts, build) in enumerate(
            (ohms, volts + 0.02 * (build == "new"), build)
            for ohms, volts in ((10, 0.9), (22, 1.3), (47, 1.9), (100, 2.5))
            for build in ("old", "new")
        )
    ]
    header = "wind_speed [m/s],load_resistance [ohm],voltage [V],build,rotor_speed [rpm]"
    path.write_text("\n".join([header, *rows]), encoding="utf-8")
    answer = json.loads(call("compare", path, "--block", "load_resistance", "--start", "old", "--json")[1])
    assert answer["design"] == "paired"
    answer = json.loads(call("compare", path, "--of", "rotor_speed", "--start", "old", "--json")[1])
    assert (answer["unit"], answer["quantity"], answer["better"]) == ("rad/s", "rotor speed", True)
    out = call("compare", path, "--of", "rotor_speed", "--start", "old")[1]
    assert "+41 rpm" in out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("plan", "--factor", "pitch"), "pitch=8 deg,12 deg"),
        (("plan", "--factor", "pitch=8 deg"), "two different levels"),
        (("plan", *FACTORS, "--gain", "8 %", "--scatter", "3 mW"), "both in %"),
        (("plan", *FACTORS, "--gain", "5 mW"), "both in %"),
        (("plan", *FACTORS, "--gain", "-8 %", "--scatter", "4 %"), "more than 0"),
        (("plan", *FACTORS, "--gain", "1 %", "--scatter", "9 %"), "240 runs can see"),
        (("plan", *FACTORS, "--blocks", "two"), "day=3"),
        (("plan", *FACTORS, "--fraction", "1/3"), "one of 1/2"),
        (("plan", *FACTORS, "--fraction", "1/2"), "3 to 7 factors"),
        (("plan", *FACTORS, "--paired"), "one factor of two levels"),
    ],
)
def test_a_plan_that_does_not_fit_is_refused(call, words, told):
    status, out, err = call(*words)
    assert (status, out) == (2, "")
    assert told in err
    assert FOUR_PIECES.fullmatch(err.strip())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--by", "bild"), "write 'build'"),
        (("--of", "powr"), "write 'power'"),
        (("--block", "blok"), "write 'block'"),
        (("--design", "wlech"), "write 'welch'"),
        (("--start", "C"), "setting of these runs"),
        (("--of", "rotor_speed"), "needs a number"),
    ],
)
def test_a_comparison_that_does_not_fit_is_refused(call, ab, words, told):
    status, out, err = call("compare", *ab, *words)
    if words[0] == "--by":  # two files are two builds, whatever the columns
        assert status == 0
        status, out, err = call("compare", ab[0], *words)
    assert (status, out) == (2, "")
    assert told in err
    assert all(FOUR_PIECES.fullmatch(line) for line in err.strip().splitlines())


def test_one_file_without_builds_is_refused(call, ab):
    status, _, err = call("compare", ab[0])
    assert status == 2
    assert "needs a setting" in err
