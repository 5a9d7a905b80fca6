"""The doors for programs: what they answer, what they refuse and how, and the page that tells of them."""

import json
import re

import pytest
from turbines import EXAMPLES, example
from web_room import TEAMS

from whirlbench.actions.predict import predict
from whirlbench.parts.plain import text_of

STARTER = (EXAMPLES / "starter.toml").read_text(encoding="utf-8")
OWN = re.sub(r'kind = "sheet"[^\[]*', 'kind = "own polar"\nfile = "/etc/passwd"\n', STARTER)
ODD = re.sub(r'"sigma":[^,}]+', '"sigma":"x"', text_of(example("advanced")))


def test_the_room_is_told_to_whoever_is_signed_in(team, nobody):
    answer = team.get("/api/v1/room").json()
    assert [one["team"] for one in answer["teams"]] == list(TEAMS)
    refused = nobody.get("/api/v1/room")
    assert refused.status_code == 401
    assert refused.json()["error"]["what"] == "sign in"


def test_a_team_and_its_turbine_are_told_to_the_team_and_the_coach(team, coach, other):
    found = team.get("/api/v1/teams/1").json()
    assert (found["team"], found["readings"]) == (TEAMS[0], 0)
    (line,) = found["turbines"]
    turbine = coach.get(f"/api/v1/teams/1/turbines/{line['turbine']}").json()
    assert turbine["version"] == turbine["versions"] == 1
    assert turbine["parts"] == json.loads(text_of(example("starter")))
    assert 'kind = "sheet"' in turbine["toml"]
    for place in ("/api/v1/teams/1", f"/api/v1/teams/1/turbines/{line['turbine']}"):
        assert other.get(place).status_code == 404
        assert "error" in other.get(place).json()


def test_what_is_not_there_is_told_in_four_pieces(team):
    answer = team.get("/api/v1/teams/1/turbines/starter")
    assert answer.status_code == 404
    assert set(answer.json()["error"]) == {"what", "got", "needs", "try", "says"}
    name = team.get("/api/v1/teams/1").json()["turbines"][0]["turbine"]
    assert team.get(f"/api/v1/teams/1/turbines/{name}?version=7").status_code == 422
    assert team.get("/api/v1/teams/0").status_code == 422


def test_the_overview_is_for_the_coach(team, coach):
    assert team.get("/api/v1/room/teams").status_code == 404
    assert [one["team"] for one in coach.get("/api/v1/room/teams").json()["teams"]] == list(TEAMS)


def sent(browser, content, kind="application/toml", query="", **headers):
    headers = {"content-type": kind, "x-mark": browser.mark("/api"), **headers}
    return browser.post(f"/api/v1/predict{query}", content=content, headers=headers)


def test_a_turbine_that_is_sent_is_predicted_as_the_command_line_does(team):
    answer = sent(team, STARTER, query="?wind_speed_m_s=4&wind_speed_m_s=5")
    assert answer.status_code == 200
    assert answer.json() == json.loads(predict(example("starter"), [4.0, 5.0]).model_dump_json(by_alias=True))
    again = sent(team, text_of(example("starter")), "application/json", "?wind_speed_m_s=4&wind_speed_m_s=5")
    assert again.json() == answer.json()


WRONG = {
    "no toml": ("x = ", "application/toml"),
    "nothing": ("", "application/toml"),
    "no text": (b"\xff\xfe", "application/toml"),
    "another thing": ("format = 1\nname = 'x'\nmax_blades = 3", "application/toml"),
    "a file of the server": (OWN, "application/toml"),
    "a key of none": (STARTER.replace("edge =", "egde ="), "application/toml"),
    "no json": ("{", "application/json"),
    "a list": ("[1, 2]", "application/json"),
    "not a number": ('{"name": NaN}', "application/json"),
    "without end": ("[" * 100_000, "application/json"),
    "an odd doubt": (ODD, "application/json"),
    "half a character": (text_of(example("starter")).replace("Kittiwake", "\\ud800"), "application/json"),
    "without bound": (STARTER.replace("holes = [1, 5, 9]", "holes = [inf]"), "application/toml"),
    "too long": ("#" * 300_000, "application/toml"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_no_turbine_is_refused(name, team):
    answer = sent(team, *WRONG[name])
    assert answer.status_code == 422
    assert answer.json()["error"]["says"]
    assert "root:" not in answer.text


@pytest.mark.parametrize("query", ["?wind_speed_m_s=0", "?wind_speed_m_s=nan", "?wind_speed_m_s=x", "?pushed=maybe"])
def test_an_odd_wind_is_refused(query, team):
    assert sent(team, STARTER, query=query).status_code == 422


def test_a_prediction_is_for_those_who_are_in(nobody, team):
    assert nobody.post("/api/v1/predict", content=STARTER).status_code == 401
    assert sent(team, STARTER, **{"x-mark": "0"}).status_code == 403


def test_a_program_carries_a_secret_and_no_mark(team, nobody):
    head = {"authorization": f"Bearer {team.cookies['whirlbench']}", "content-type": "application/toml"}
    assert nobody.post("/api/v1/predict", content=STARTER, headers=head).status_code == 200
    assert nobody.get("/api/v1/teams/2", headers=head).status_code == 404
    head["authorization"] = "Bearer nobody"
    assert nobody.get("/api/v1/room", headers=head).status_code == 401


def test_the_page_tells_of_every_door(nobody, team):
    described = nobody.get("/api/openapi.json").json()
    for browser in (nobody, team):
        text = browser.get("/api").text
        for address, path in described["paths"].items():
            assert f"{address}</code>" in text
            for method, one in path.items():
                assert f"{method.upper()} {address}" in text
                assert all(parameter["name"] in text for parameter in one.get("parameters", []))
    assert "fonts.googleapis" not in text
    assert "<script>" not in text


def test_every_door_tells_what_it_answers_and_how_it_refuses(nobody):
    for path in nobody.get("/api/openapi.json").json()["paths"].values():
        for one in path.values():
            right = [code for code in one["responses"] if code.startswith("2")]
            assert all(one["responses"][code]["content"]["application/json"]["schema"] for code in right)
            assert {"401", "404", "422"} <= set(one["responses"])
