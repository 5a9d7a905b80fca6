"""The command fit: what was learned, tied and asked, residuals in doubts, bands that narrow, and pictures of them."""

import json
import re
import sys

import numpy as np
import pytest
from turbines import EXAMPLES, example

from whirlbench.actions.fit import fit
from whirlbench.charts import fit as charts
from whirlbench.cli.main import run
from whirlbench.errors import InputError
from whirlbench.measure.readings import Reading, read_readings
from whirlbench.predict import turbine as whole
from whirlbench.predict.world import FACTORS, Worlds
from whirlbench.store.store import VARIABLE

NAMES = ("voltage", "rotor_speed")
STARTER, READINGS = EXAMPLES / "starter.toml", EXAMPLES / "starter-readings.csv"


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


@pytest.fixture(scope="module")
def answer():
    return fit(example("starter"), read_readings(READINGS))


def made(truth, cases, *, rpm=True):
    """Readings that a geared build with these true factors would give."""
    from whirlbench.parts.load import Resistor

    worlds = Worlds(np.array([[np.log(truth.get(name, 1.0)) if name != "angle" else 0.0 for name in FACTORS]]))
    for row, (speed, ohms) in enumerate(cases, start=2):
        built = example("geared").changed(load=Resistor(resistance=ohms))
        state = whole.predict(whole.assemble(built, worlds), speed).pushed
        speeds = {"rotor_speed": float(state.rotor_speed[0])} if rpm else {}
        yield Reading(row, speed, ohms, float(state.voltage[0]), pushed=True, **speeds)


def test_every_factor_is_told_once(answer):
    assert sorted(one.factor for one in answer.learned) == sorted(
        name for name in FACTORS if whole.priors(example("starter")).sigma(name) > 0
    )
    for one in answer.learned:
        assert one.narrowed == (one.sd_after < 0.8 * one.sd_before)
        assert one.unit == ("rad" if one.factor == "angle" else "")
        assert one.factor_before == (0.0 if one.factor == "angle" else 1.0)


def test_very_many_readings_teach_as_few_conditions_do():
    """A logger beside an anemometer reads every wind once; brought together they say what is hidden in them."""
    truth = {"emf": 1.12, "resistance": 0.9}
    grid = np.linspace(3.5, 6, 6)
    spread, draw = np.random.default_rng(2).uniform(3.5, 6, (2, 400)), np.random.default_rng(3)
    rows = []
    for ohms, speeds in zip((10.0, 47.0), spread, strict=True):
        shown = list(made(truth, [(speed, ohms) for speed in grid]))
        for speed in speeds:
            numbers = {name: np.interp(speed, grid, [getattr(one, name) for one in shown]) for name in NAMES}
            noisy = {name: float(number * np.exp(0.02 * draw.standard_normal())) for name, number in numbers.items()}
            rows.append(Reading(len(rows) + 2, float(speed), ohms, pushed=True, **noisy))
    report = fit(example("geared"), rows)
    assert len(report.readings) <= 2 * 40
    assert sum(one.readings for one in report.seen) == 800 and len(report.seen) <= 40
    assert report.questions == ()
    assert report.misfit < 1
    learned = {one.factor: one for one in report.learned}
    for name, true in truth.items():
        assert abs(np.log(learned[name].factor_after / true)) < 2 * learned[name].sd_after


def test_readings_of_the_store_are_those_of_this_build(call, tmp_path, monkeypatch):
    monkeypatch.setenv(VARIABLE, str(tmp_path / "room.db"))
    other = tmp_path / "other.toml"
    other.write_text(STARTER.read_text(encoding="utf-8").replace('"35 deg"', '"30 deg"'), encoding="utf-8")
    team = ("--team", "Kittiwake")
    call("team", "add", "Kittiwake")
    assert "needs a turbine that was kept" in call("fit", STARTER, *team)[2]
    call("keep", STARTER, *team)
    assert "needs one or more, logged with this version" in call("fit", STARTER, *team)[2]
    call("log", READINGS, *team, "--turbine", example("starter").name)
    assert "as it never was kept" in call("fit", other, *team)[2]
    call("keep", other, *team)
    assert "needs one or more, logged with this version" in call("fit", other, *team)[2]
    status, out, _ = call("fit", STARTER, *team, "--json")
    assert status == 0
    from_file = json.loads(call("fit", STARTER, READINGS, "--json")[1])
    assert [one["read"] for one in json.loads(out)["readings"]] == [one["read"] for one in from_file["readings"]]
    for command in ("doubt", "curve"):
        from_store, from_file = (call(command, *words, "--turbine", STARTER) for words in (team, (READINGS,)))
        assert from_store[0] == from_file[0] == 0
        assert len(from_store[1].splitlines()) == len(from_file[1].splitlines())
    for words in (("fit", STARTER), ("fit", STARTER, READINGS, *team)):
        assert call(*words)[0] == 2


def test_residuals_are_told_in_doubts(answer):
    rows = [one for one in answer.readings if one.gap_after is not None]
    assert len(rows) == 8
    for one in rows:
        assert one.gap_after == pytest.approx(np.log(one.after / one.read) / one.relative_sd)
        assert one.gap_before == pytest.approx(np.log(one.before / one.read) / one.relative_sd)
        assert 0.03 < one.relative_sd < 0.06  # meter and 3 % for the steady model
    after = np.sqrt(np.mean([one.gap_after**2 for one in rows]))
    assert answer.misfit == pytest.approx(after)
    assert after < 0.5 * np.sqrt(np.mean([one.gap_before**2 for one in rows]))


def test_bands_narrow_and_lie_around_their_middle(answer):
    for points in (answer.over_wind, answer.over_load):
        assert len(points) == 9
        for one in points:
            assert one.before_low_W < one.before_high_W
            assert one.after_high_W - one.after_low_W < 0.6 * (one.before_high_W - one.before_low_W)
    loads = [one.load_resistance_ohm for one in answer.over_load]
    assert loads == sorted(loads)
    assert loads[0] <= 22 / 2 + 1
    assert loads[-1] >= 100 * 2 - 1


def test_a_known_truth_is_told():
    cases = [(3.5, 10.0), (3.5, 47.0), (4.5, 10.0), (4.5, 22.0), (4.5, 100.0)]
    report = fit(example("geared"), list(made({"wind": 0.93, "emf": 1.1}, cases)))
    assert report.pushed
    told = {one.factor: one for one in report.learned}
    for name, truth in (("wind", 0.93), ("emf", 1.1)):
        assert told[name].sd_after < told[name].sd_before
        assert abs(np.log(told[name].factor_after / truth)) < 2 * told[name].sd_after
    assert "higher than believed" in told["emf"].sentence
    assert report.misfit < 0.5
    assert not report.questions
    assert not any("scatter" in note or "repeat" in note for note in report.notes)


def test_what_would_teach_more_is_told():
    report = fit(example("geared"), list(made({"emf": 1.05}, [(4.5, 22.0), (4.5, 22.0)], rpm=False)))
    said = " ".join(report.notes)
    assert "Read rpm as well" in said
    assert "second resistor" in said
    assert "second fan speed" in said


def test_readings_that_disagree_are_not_trusted():
    good = list(made({}, [(4.5, 10.0), (4.5, 22.0), (4.5, 47.0), (3.5, 22.0)]))
    odd = Reading(9, 4.5, 33.0, good[1].voltage * 1.1, rotor_speed=good[1].rotor_speed * 0.7, pushed=True)
    said = " ".join(fit(example("geared"), [*good, odd]).notes)
    assert "Line 9" in said


def test_a_slip_is_asked_and_not_learned_from(answer, tmp_path):
    text = READINGS.read_text(encoding="utf-8") + "4.46,47,342000,262,no,slip\n"
    (tmp_path / "slip.csv").write_text(text, encoding="utf-8")
    report = fit(example("starter"), read_readings(tmp_path / "slip.csv"))
    assert [one.line for one in report.questions] == [7]
    assert report.learned == answer.learned
    only = [one for one in read_readings(tmp_path / "slip.csv") if one.row == 7]
    with pytest.raises(InputError, match="line 7"):
        fit(example("starter"), only)


def test_a_pull_on_the_tower_alone():
    report = fit(example("geared"), [Reading(2, tip_force=2.0, tip_deflection=0.006)])
    assert [one.factor for one in report.learned if one.narrowed] == ["joint"]
    assert report.readings[0].quantity == "tip_deflection"
    assert report.over_load == ()


# --- command and pictures ---------------------------------------------------------------------------------------------


def test_words_and_numbers_agree(call, answer):
    status, out, err = call("fit", STARTER, READINGS)
    assert (status, err) == (0, "")
    said = " ".join(out.split())
    for one in answer.learned:
        assert (f"{one.sentence[1:]}; before:" if one.narrowed else one.meaning) in said
    report = json.loads(call("fit", STARTER, READINGS, "--json")[1])
    assert report == json.loads(answer.model_dump_json())
    for key in ("over_wind", "over_load", "readings", "learned", "cannot_tell_apart", "questions", "beliefs"):
        assert key in report


@pytest.mark.parametrize("ending", ["svg", "png", "pdf"])
def test_pictures_are_drawn(call, tmp_path, ending):
    path = tmp_path / f"fit.{ending}"
    assert call("fit", STARTER, READINGS, "--plot", path)[0] == 0
    assert path.stat().st_size > 5000
    if ending == "svg":
        text = re.sub(r"<[^>]*>", " ", path.read_text(encoding="utf-8"))
        for words in (
            "Readings against the model",
            "Power over wind",
            "Power over load",
            "line 3, volts",
            "band after",
        ):
            assert words in text


def test_a_picture_shows_every_residual(answer):
    chart = charts.residuals([one.model_dump() for one in answer.readings])
    dots = chart["layer"][-1]["data"]["values"]
    assert len(dots) == 16
    reach = chart["layer"][-1]["encoding"]["x"]["scale"]["domain"][1]
    assert all(abs(dot["gap"]) < reach for dot in dots)


def test_what_cannot_be_drawn_is_told(answer):
    with pytest.raises(InputError, match="no residuals"):
        charts.residuals([])
    with pytest.raises(InputError, match="no points"):
        charts.band([])
    with pytest.raises(InputError, match="over wind or load"):
        charts.band([one.model_dump() for one in answer.over_wind], over="time")


def test_a_slip_of_the_user_ends_with_two(call, tmp_path):
    (tmp_path / "empty.csv").write_text("wind_speed [m/s]\n", encoding="utf-8")
    for words in (
        (STARTER, tmp_path / "empty.csv"),
        (STARTER, tmp_path / "missing.csv"),
        (tmp_path / "x.toml", READINGS),
    ):
        status, out, err = call("fit", *words)
        assert (status, out) == (2, "")
        assert "Try:" in err


def test_improve_says_the_same_of_the_same_readings(call, answer):
    words = ("improve", STARTER, "--bin", EXAMPLES / "parts-bin.toml", "--readings", READINGS)
    report = json.loads(call(*words, "--json")[1])
    told = json.loads(answer.model_dump_json())
    for key in ("learned", "questions", "cannot_tell_apart", "beliefs"):
        assert report[key] == told[key]
    said = " ".join(call(*words)[1].split())
    for one in answer.learned:
        assert (one.sentence if one.narrowed else one.meaning) in said
