"""The commands of the store: exit statuses, keys, and a whole afternoon of one team."""

import json
import re

import pytest
from turbines import EXAMPLES

FOUR_PIECES = re.compile(r".+: got .+, needs .+\. Try: .+\.")
STARTER, READINGS = EXAMPLES / "starter.toml", EXAMPLES / "starter-readings.csv"
NAME = "Team Kittiwake, starter build"
TEAM = ("--team", "Kittiwake")


def test_an_afternoon(ask, tmp_path):
    ask("team", "add", "Kittiwake")
    first = ask("keep", STARTER, *TEAM, "--by", "Ana")
    assert (first["turbine"], first["new"], first["version"]["number"]) == (NAME, True, 1)
    changed = tmp_path / "changed.toml"
    changed.write_text(STARTER.read_text(encoding="utf-8").replace('"35 deg"', '"30 deg"'), encoding="utf-8")
    second = ask("keep", changed, *TEAM)
    assert second["version"]["differences"] == [
        {
            "field": "rotor > pitch",
            "before": "35 deg",
            "after": "30 deg",
            "sentence": "rotor > pitch: 35 deg becomes 30 deg",
        }
    ]
    assert ask("keep", changed, *TEAM)["new"] is False
    logged = ask("log", READINGS, *TEAM, "--turbine", NAME.lower())
    assert (logged["new"], logged["there_already"], logged["turbine_version"]) == (4, 0, 2)
    assert ask("log", READINGS, *TEAM)["there_already"] == 4
    assert ask("log", READINGS, *TEAM, "--again")["new"] == 4
    done = ask("history", *TEAM)["changes"]
    assert [(one["verb"], one["count"]) for one in done] == [("log", 4), ("log", 4), *[("keep turbine", 1)] * 2]
    assert done[-1]["author"] == "Ana"
    assert ask("undo", *TEAM)["undone"]["change"] == done[0]["change"]
    versions = ask("history", *TEAM, "--turbine", NAME)["versions"]
    assert [one["number"] for one in versions] == [1, 2]
    ask("bundle", "out", tmp_path / "b.zip", *TEAM)
    assert ask("bundle", "in", tmp_path / "b.zip", "--as", "Tern")["readings"] == 4
    assert ask("export", "--team", "Tern", "--out", tmp_path / "a.csv")["rows"] == 4
    assert ask("export", "--team", "Tern", "--out", tmp_path / "a.csv", "--versions")["rows"] == 12
    ask("team", "remove", "Kittiwake", "--yes")
    assert [(one["team"], one["readings"]) for one in ask("team", "list")["teams"]] == [("Tern", 4)]


def test_the_same_in_words(call, tmp_path):
    said = [
        call(*words)
        for words in [
            ["team", "list"],
            ["team", "add", "Kittiwake"],
            ["history", *TEAM],
            ["keep", STARTER, *TEAM],
            ["keep", STARTER, *TEAM],
            ["log", READINGS, *TEAM, "--turbine", NAME],
            ["log", READINGS, *TEAM],
            ["undo", *TEAM],
            ["history", *TEAM],
            ["history", *TEAM, "--turbine", NAME],
            ["team", "list"],
            ["bundle", "out", tmp_path / "b.zip", *TEAM],
            ["export", *TEAM, "--out", tmp_path / "a.xlsx"],
        ]
    ]
    assert {(status, err) for status, _, err in said} == {(0, "")}
    text = " ".join(" ".join(out for _, out, _ in said).split())
    for words in (
        "No team yet.",
        "Kittiwake is in.",
        "Kittiwake has saved nothing yet.",
        f"{NAME}: kept as version 1.",
        f"{NAME}: nothing new, version 1 says the same.",
        f"Kittiwake: 4 readings logged with {NAME}, version 1.",
        "say it again with --again",
        "Taken back: Kittiwake logged 4 readings from starter-readings.csv (change 2).",
        "taken back by 3",
        "took change 2 back",
        f"{NAME}, version 1, 20",
        "Kittiwake is in b.zip: turbines: 1, readings: 0.",
        "0 readings of Kittiwake in a.xlsx.",
    ):
        assert words in text, words


def test_a_log_that_was_undone_can_be_logged_again(ask):
    ask("team", "add", "Kittiwake")
    ask("log", READINGS, *TEAM)
    ask("undo", *TEAM)
    assert ask("log", READINGS, *TEAM)["new"] == 4
    assert ask("team", "list")["teams"][0]["readings"] == 4


def test_a_file_that_grew_adds_its_new_rows_and_honest_repeats_count(ask, tmp_path):
    ask("team", "add", "Kittiwake")
    file = tmp_path / "mine.csv"
    head, row = "wind_speed [m/s],voltage [V]\n", "4,0.25\n"
    file.write_text(head + row + row, encoding="utf-8")
    assert ask("log", file, *TEAM)["new"] == 2
    file.write_text(head + "5,0.4\n" + row + row + row, encoding="utf-8")
    report = ask("log", file, *TEAM)
    assert (report["new"], report["there_already"]) == (2, 2)


def test_what_cannot_be_is_asked_about_and_logged_all_the_same(ask, call, tmp_path):
    ask("team", "add", "Kittiwake")
    file = tmp_path / "mine.csv"
    head = "wind_speed [m/s],load_resistance [ohm],voltage [V],current [A]\n"
    file.write_text(head + "4,10,0.5,0.05\n4,10,0.5,50\n", encoding="utf-8")
    status, out, _ = call("log", file, *TEAM)
    said = " ".join(out.split())
    assert status == 0 and "2 readings logged" in said
    assert "Please check line 3: 50 A was read, but volts over ohms give 0.05 A; check for mA written as A" in said
    again = ask("log", file, *TEAM)
    assert (again["new"], [one["line"] for one in again["questions"]]) == (0, [3])


SLIPS = [
    ("team", "add", ""),
    ("team", "add", "kittiwake"),
    ("team", "remove", "Kittiwake"),
    ("team", "remove", "Tern", "--yes"),
    ("keep", STARTER, "--team", "Tern"),
    ("keep", READINGS, *TEAM),
    ("log", STARTER, *TEAM),
    ("log", READINGS, *TEAM, "--turbine", "none"),
    ("history", "--team", "Tern"),
    ("history", *TEAM, "--turbine", "none"),
    ("undo", *TEAM),
    ("undo", *TEAM, "--change", "77"),
    ("bundle", "out", "missing/b.zip", *TEAM),
    ("bundle", "out", READINGS, *TEAM),
    ("bundle", "in", READINGS),
    ("bundle", "in", "missing.zip"),
    ("export", *TEAM, "--out", "a.doc"),
    ("export", *TEAM, "--out", "missing/a.csv"),
    ("team", "list", "--store", READINGS),
    ("team", "list", "--store", "mysql://there/x"),
]


@pytest.mark.parametrize("words", SLIPS, ids=lambda words: " ".join(map(str, words))[-40:])
def test_a_slip_ends_with_2_in_four_pieces(words, call):
    call("team", "add", "Kittiwake")
    status, out, err = call(*words)
    assert (status, out) == (2, "")
    assert all(FOUR_PIECES.fullmatch(line) for line in err.strip().splitlines()), err
    assert json.loads(call("team", "list", "--json")[1])["teams"][0]["team"] == "Kittiwake", "nothing was lost"
