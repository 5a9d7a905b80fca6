"""The main job as others call it: keys, exit codes, order, and a tool that says when it cannot tell."""

import functools
import json
import re
from importlib import resources

import pytest
from typer.testing import CliRunner

from whirlbench.cli.main import app
from whirlbench.errors import InputError, InputErrors, UnknownKey

EXAMPLES = resources.files("whirlbench") / "examples"
MOVE_KEYS = {"change", "part", "from", "to", "gain_W", "gain_sd_W", "chance_of_gain", "starts", "allowed", "effort_min"}
GROUPS = {"rotor", "drivetrain", "generator", "load", "tower"}


def run(*arguments):
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


@functools.cache
def improved(*extra):
    """JSON of the main job on the starter build."""
    bin_file = EXAMPLES / "parts-bin.toml"
    done = run("improve", EXAMPLES / "starter.toml", "--bin", bin_file, "--json", *extra)
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def with_all():
    return improved("--readings", EXAMPLES / "starter-readings.csv", "--event", EXAMPLES / "event.toml")


def test_keys_that_others_use():
    answer = with_all()
    assert {"holding_back", "now", "moves", "best_build", "next_test"} <= set(answer)
    assert {"part", "why"} <= set(answer["holding_back"])
    assert answer["now"]["wind_speed_m_s"] > 0
    for move in answer["moves"]:
        assert set(move) >= MOVE_KEYS
        assert move["part"] in GROUPS
        assert 0 <= move["chance_of_gain"] <= 1
        assert move["gain_sd_W"] >= 0
        assert move["effort_min"] > 0


def test_every_part_group_is_looked_at():
    assert {move["part"] for move in with_all()["moves"]} == GROUPS


def test_what_may_be_done_comes_first_and_by_gain():
    moves = with_all()["moves"]
    free = [move["allowed"] and move["safe"] and move["starts"] for move in moves]
    assert free == sorted(free, reverse=True)
    gains = [move["gain_W"] for move, may in zip(moves, free, strict=True) if may]
    assert gains == sorted(gains, reverse=True)


def test_the_same_question_gets_the_same_answer():
    first = with_all()
    improved.cache_clear()
    assert with_all() == first


def test_readings_narrow_the_band():
    before, after = improved("--event", EXAMPLES / "event.toml"), with_all()
    assert after["now"]["electrical_power_sd_W"] < 0.6 * before["now"]["electrical_power_sd_W"]
    assert {one["factor"] for one in after["learned"]} >= {"wind", "emf"}
    assert not before["learned"]
    for row in after["readings"]:
        assert abs(row["after"] / row["read"] - 1) < 0.06


def test_the_path_ends_at_its_own_power_and_keeps_the_rules():
    best = with_all()["best_build"]
    assert best["steps"]
    assert all(step["allowed"] and step["safe"] and step["starts"] for step in best["steps"])
    assert best["gain_W"] == pytest.approx(sum(step["gain_W"] for step in best["steps"]), rel=0.15)


@pytest.mark.slow
def test_every_step_of_the_path_starts_as_surely_as_asked_for_and_more_may_be_gained_than_by_one_step():
    best = with_all()["best_build"]
    assert best["start_chance"] >= 0.9
    assert len(best["steps"]) > 1
    assert best["power_W"] > 2 * (with_all()["scored_power_W"] + best["steps"][0]["gain_W"])


def test_builds_read_before_have_taught():
    starter = ("improve", EXAMPLES / "starter.toml", "--bin", EXAMPLES / "parts-bin.toml", "--json")
    earlier = f"{EXAMPLES / 'starter.toml'}={EXAMPLES / 'starter-readings.csv'}"
    alone, taught = (json.loads(run(*starter, *more).stdout) for more in ((), ("--earlier", earlier)))
    one, two = (answer["beliefs"]["log_covariance"] for answer in (alone, taught))
    wind, emf = (alone["beliefs"]["factors"].index(name) for name in ("wind", "emf"))
    assert two[wind][wind] < 0.8 * one[wind][wind]
    assert two[emf][emf] < 0.8 * one[emf][emf]


def test_a_try_needs_a_search_and_an_earlier_build_its_readings():
    geared = (EXAMPLES / "geared.toml", "--bin", EXAMPLES / "parts-bin.toml")
    for more in (("--trying",), ("--earlier", "old.toml")):
        with pytest.raises(InputError):
            CliRunner().invoke(app, ["improve", *map(str, geared), *more], catch_exceptions=False)


def test_a_search_over_whole_builds_beats_the_greedy_path():
    event = ("--event", EXAMPLES / "event.toml")
    greedy, searched = improved(*event)["best_build"], improved(*event, "--search", "quick")["best_build"]
    assert searched["power_W"] > greedy["power_W"]
    assert searched["starts"]
    assert all(step["allowed"] and step["safe"] for step in searched["steps"])


def test_a_rule_broken_is_said(tmp_path):
    rules = tmp_path / "small.toml"
    rules.write_text('format = 1\nname = "small event"\nmax_rotor_diameter = "20 in"\nmax_blades = 4\n')
    answer = improved("--event", rules)
    for move in answer["moves"]:
        if "use 6 blades" in move["change"] or "use 12 blades" in move["change"]:
            assert not move["allowed"]
            assert move["broken_rules"]


def test_words_open_with_the_verdict_and_cautions_come_before_the_ranking():
    done = run("improve", EXAMPLES / "starter.toml", "--bin", EXAMPLES / "parts-bin.toml")
    assert done.exit_code == 0
    assert done.stdout.startswith("Team Kittiwake, starter build: Your generator turns too slowly")
    assert 0 < done.stdout.index("Mind, before") < re.search(r"The best \d+ of", done.stdout).start()
    assert "Next test (" in done.stdout
    assert "No readings yet" in done.stdout


def test_winds_can_be_named():
    slow, fast = improved("--wind", "3 m/s"), improved("--wind", "5 m/s")
    assert slow["now"]["wind_speed_m_s"] == 3
    assert fast["scored_power_W"] > slow["scored_power_W"]


def test_a_slip_in_any_file_is_refused():
    with pytest.raises(InputErrors):
        app(
            ["improve", str(EXAMPLES / "starter.toml"), "--bin", str(EXAMPLES / "starter.toml")],
            standalone_mode=False,
        )
    with pytest.raises((InputErrors, UnknownKey)):
        app(
            [
                *("improve", str(EXAMPLES / "starter.toml"), "--bin", str(EXAMPLES / "parts-bin.toml")),
                *("--readings", str(EXAMPLES / "event.toml")),
            ],
            standalone_mode=False,
        )
