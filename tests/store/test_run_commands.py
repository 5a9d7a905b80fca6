"""Runs, readings by ear and eye on the command line: kept for a team, shown, averaged."""

import csv

import pytest
from store.test_faces import FOUR_PIECES, NAME, STARTER, TEAM

from whirlbench.measure.protocol import Sample
from whirlbench.measure.sample_file import SampleFile

LOAD, WIND = ("--fill", "load_resistance=20 ohm"), ("--fill", "wind_speed=4.5 m/s")


@pytest.fixture
def captured(tmp_path):
    """A file as capture writes it: the rotor runs up for ten seconds, then gives 2 V for a minute."""
    file = SampleFile(tmp_path / "morning.csv")
    volts = [200 * second for second in range(10)] + [2000] * 61
    header = ("voltage [mV]", "rotor_speed [rpm]")
    samples = [Sample(n, 1000 * n, 0, header, (str(mv), str(mv / 5))) for n, mv in enumerate(volts)]
    file.append("2031-03-01T09:30:00.250+00:00", samples)
    file.close()
    return tmp_path / "morning.csv"


@pytest.fixture
def team(ask):
    ask("team", "add", "Kittiwake")
    ask("keep", STARTER, *TEAM)


def test_a_run_from_file_to_reading(ask, team, captured, tmp_path):
    added = ask("run", "add", captured, *TEAM, "--turbine", NAME, *LOAD)
    line = added["line"]
    assert (line["name"], line["begun_at"], line["turbine"]) == ("morning", "2031-03-01T09:30:00.250Z", NAME)
    assert (line["turbine_version"], added["samples"], added["duration_s"]) == (1, 71, 70)
    squares = sum((0.2 * second) ** 2 for second in range(1, 10)) + 61 * 4 - 2
    assert added["energy_J"] == pytest.approx(squares / 20)
    assert ask("run", "list", *TEAM)["runs"] == [line]
    out = tmp_path / "samples.csv"
    assert ask("run", "show", line["run"], *TEAM, "--out", out) == {**added, "written": str(out)}
    assert out.read_text().splitlines()[:2] == [
        "time [s],load_resistance [ohm],voltage [V],rotor_speed [rad/s]",
        "0.0,20.0,0.0,0.0",
    ]
    logged = ask("run", "average", line["run"], *TEAM, "--from", "10 s", *WIND)
    assert (logged["new"], logged["turbine"]) == (1, NAME)
    ask("export", *TEAM, "--out", tmp_path / "readings.csv")
    (told,) = csv.DictReader((tmp_path / "readings.csv").read_text("utf-8-sig").splitlines())
    assert float(told["voltage [V]"]) == pytest.approx(2)
    assert float(told["load_resistance [ohm]"]) == pytest.approx(20)
    assert float(told["wind_speed [m/s]"]) == 4.5
    assert told["note"] == "mean of 61 samples of run 1, morning"


def test_runs_travel_in_the_bundle(ask, team, captured, tmp_path):
    one = ask("run", "add", captured, *TEAM, *LOAD)
    ask("bundle", "out", tmp_path / "b.zip", *TEAM)
    ask("bundle", "in", tmp_path / "b.zip", "--as", "Tern")
    (line,) = ask("run", "list", "--team", "Tern")["runs"]
    other = ask("run", "show", line["run"], "--team", "Tern")
    assert [other[key] for key in ("quantities", "energy_J")] == [one[key] for key in ("quantities", "energy_J")]


def test_runs_in_words(call, team, captured):
    said = [
        call(*words)
        for words in [
            ["run", "list", *TEAM],
            ["run", "add", captured, *TEAM, *LOAD, "--turbine", NAME, "--name", "first try"],
            ["run", "list", *TEAM],
            ["run", "average", 1, *TEAM, *WIND],
        ]
    ]
    assert {(status, err) for status, _, err in said} == {(0, "")}
    text = " ".join(" ".join(out for _, out, _ in said).split())
    for words in (
        "Kittiwake has no run yet.",
        f"Run 1 of Kittiwake, first try: 71 samples in 70 s with {NAME}, version 1.",
        "Energy into the load over the run: 12.",
        "electrical power",
        f"Kittiwake: 1 reading logged with {NAME}, version 1.",
    ):
        assert words in text, words


def test_a_count_becomes_a_reading(ask, call, team):
    words = ("count", "--turns", 20, "--in", "10 s", *TEAM, *WIND, "--turbine", NAME, "--by", "Ana")
    assert ask(*words)["logged"] is True
    assert "Logged as a reading" in call(*words)[1]
    assert ask("count", "--turns", 20, "--in", "10 s")["logged"] is False
    done = ask("history", *TEAM)["changes"][0]
    assert (done["verb"], done["author"], done["count"]) == ("log", "Ana", 1)
    assert ask("team", "list")["teams"][0]["readings"] == 2


SLIPS = [
    ("run", "add", "CAPTURED", *TEAM),  # again
    ("run", "add", STARTER, *TEAM),
    ("run", "add", "CAPTURED", "--team", "Tern"),
    ("run", "add", "CAPTURED", *TEAM, "--name", "b", "--turbine", "none"),
    ("run", "add", "CAPTURED", *TEAM, "--name", "b", "--fill", "load_resistance=20"),
    ("run", "list", "--team", "Tern"),
    ("run", "show", 7, *TEAM),
    ("run", "show", 1, *TEAM, "--out", "CAPTURED"),
    ("run", "average", 1, *TEAM),
    ("run", "average", 1, *TEAM, *WIND, "--from", "90 s"),
    ("run", "average", 1, *TEAM, *WIND, "--from", "20"),
    ("count", "--turns", 20, "--in", "10 s", *TEAM),
    ("count", "--turns", 20, "--in", "10 s", "--team", "Tern", *WIND),
    ("capture", "none", "--out", "CAPTURED", "--team", "Tern"),
]


@pytest.mark.parametrize("words", SLIPS, ids=lambda words: " ".join(map(str, words))[-40:])
def test_a_slip_keeps_nothing(words, ask, call, team, captured):
    ask("run", "add", captured, *TEAM)
    status, out, err = call(*(captured if word == "CAPTURED" else word for word in words))
    assert (status, out) == (2, "")
    assert all(FOUR_PIECES.fullmatch(line) for line in err.strip().splitlines()), err
    assert len(ask("run", "list", *TEAM)["runs"]) == 1
    assert ask("team", "list")["teams"][0]["readings"] == 0
