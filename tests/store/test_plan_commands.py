"""Plans kept for a team: from a plan through half a day of runs to a verdict, each run once."""

import csv

import numpy as np
import pytest
from store.test_faces import FOUR_PIECES, TEAM

PLANNED = ("--factor", "pitch=8 deg,12 deg", "--replicates", 5, "--blocks", "day=2", "--reference-every", 4)
NAMED = (*TEAM, "--name", "pitch first")


@pytest.fixture
def team(ask):
    ask("team", "add", "Kittiwake")


def fill_in(path, runs=None):
    """Volts over 10 ohm of a build that gains 30 % at 12 deg, in a fan that loses 1 % a run."""
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    scatter = np.random.default_rng(3)
    for row in rows[:runs]:
        power = 0.1 * (1.3 if "12 deg" in row["build"] else 1) * (1 - 0.01 * int(row["run"]))
        volts = (10 * power * (1 + 0.01 * scatter.standard_normal())) ** 0.5
        row |= {"wind_speed [m/s]": "4.5", "load_resistance [ohm]": "10", "voltage [V]": f"{volts:.5f}"}
        row |= {"build": "", "block": ""}  # the plan knows
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)


def test_a_plan_that_takes_two_days(ask, call, team, tmp_path):
    first = ask("plan", *PLANNED, *NAMED, "--by", "Ana", "--csv", tmp_path / "one.csv")
    count = len(first["plan"]["runs"])
    assert (first["new"], first["version"], first["done"]) == (True, 1, [])
    fill_in(tmp_path / "one.csv", runs=6)
    words = ("--plan", "Pitch First", *TEAM)
    assert ask("log", tmp_path / "one.csv", *words)["new"] == 6
    assert ask("log", tmp_path / "one.csv", *words)["there_already"] == 6
    again = ask("plan", *NAMED, "--csv", tmp_path / "two.csv", "--sheet", tmp_path / "sheet.pdf")
    assert (again["done"], again["plan"]) == ([1, 2, 3, 4, 5, 6], first["plan"])
    assert (tmp_path / "sheet.pdf").exists()
    assert len((tmp_path / "two.csv").read_text().splitlines()) == 1 + count - 6
    fill_in(tmp_path / "two.csv")
    assert ask("log", tmp_path / "two.csv", *words)["new"] == count - 6
    (line,) = ask("plan", *TEAM)["plans"]
    assert (line["name"], line["author"], line["runs"], line["done"]) == ("pitch first", "Ana", count, count)
    verdict = ask("compare", *words)
    (gain,) = verdict["gains"]
    assert verdict["better"] is True
    assert verdict["design"] == "blocked", "the plan's blocks were taken over"
    assert gain["low"] < 0.03 * 0.9 < gain["high"] < 0.05
    assert any("was taken out" in caution for caution in verdict["cautions"]), "the drift of the fan"


def test_the_same_in_words(call, team, tmp_path):
    said = [
        call(*words)
        for words in [
            ["plan", *TEAM],
            ["plan", *PLANNED, *TEAM],
            ["plan", *PLANNED, *TEAM],
            ["plan", *TEAM, "--name", "pitch", "--csv", tmp_path / "one.csv"],
            ["plan", *TEAM],
            ["history", *TEAM],
        ]
    ]
    fill_in(tmp_path / "one.csv", runs=3)
    said += [call("log", tmp_path / "one.csv", *TEAM, "--plan", "pitch"), call("plan", *TEAM, "--name", "pitch")]
    assert {(status, err) for status, _, err in said} == {(0, "")}
    text = " ".join(" ".join(out for _, out, _ in said).split())
    for words in (
        "Kittiwake has kept no plan yet.",
        "Plan 'pitch' of Kittiwake, kept, version 1.",
        "Plan 'pitch' of Kittiwake, as it was kept, version 1.",
        "kept the plan pitch",
        "3 of 17 runs are done.",
        "reference done",
    ):
        assert words in text, words


def test_undo_takes_the_runs_back(ask, team, tmp_path):
    ask("plan", *PLANNED, *NAMED, "--csv", tmp_path / "one.csv")
    fill_in(tmp_path / "one.csv", runs=2)
    ask("log", tmp_path / "one.csv", "--plan", "pitch first", *TEAM)
    ask("undo", *TEAM)
    assert ask("plan", *NAMED)["done"] == []


SLIPS = [
    ("plan",),
    ("plan", *TEAM, "--name", "pitc first"),
    ("plan", "--team", "Tern"),
    ("plan", *TEAM, "--csv", "new.csv"),
    ("plan", "--factor", "pitch=8 deg,14 deg", *NAMED),  # another one, and this has readings
    ("log", "DONE", *TEAM, "--plan", "none"),
    ("log", "STRANGER", *TEAM, "--plan", "pitch first"),
    ("log", "EMPTY", *TEAM, "--plan", "pitch first"),
    ("compare",),
    ("compare", *TEAM),
    ("compare", "DONE", *TEAM, "--plan", "pitch first"),
    ("compare", *TEAM, "--plan", "none"),
    ("compare", *TEAM, "--plan", "later"),
]


@pytest.mark.parametrize("words", SLIPS, ids=lambda words: " ".join(map(str, words))[-40:])
def test_a_slip_changes_nothing(words, ask, call, team, tmp_path):
    files = {name: tmp_path / f"{name.lower()}.csv" for name in ("DONE", "STRANGER", "EMPTY")}
    ask("plan", *PLANNED, *NAMED, "--csv", files["DONE"])
    ask("plan", "--factor", "load=10 ohm,22 ohm", *TEAM, "--name", "later", "--csv", files["EMPTY"])
    fill_in(files["DONE"], runs=2)
    files["STRANGER"].write_text("run,wind_speed [m/s],voltage [V]\n99,4,1\n,4,1\n", encoding="utf-8")
    ask("log", files["DONE"], *TEAM, "--plan", "pitch first")
    before = ask("history", *TEAM)
    status, out, err = call(*(files.get(word, word) for word in words))
    assert (status, out) == (2, "")
    assert all(FOUR_PIECES.fullmatch(line) for line in err.strip().splitlines()), err
    assert ask("history", *TEAM) == before
