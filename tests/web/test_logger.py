"""The door for loggers: a secret told once, readings kept once, runs in pieces, clear refusals."""

import re

import pytest
from web_room import Browser

API = "/api/v1/teams/1"
ONE = {"mark": "a-1", "wind_speed_m_s": 4.5, "load_resistance_ohm": 22, "voltage_V": 0.31}


@pytest.fixture(scope="module")
def secret(app):
    """Secret of a logger of the first team."""
    from web_room import of_team

    browser = of_team(app, 1)
    page = browser.submit("/teams/1/readings/logger", {"name": "fan <1>"})
    assert "fan &lt;1&gt;" in page.text
    return re.search(r'class="secret">([^<]+)<', page.text)[1]


@pytest.fixture
def logger(app, secret):
    """A logger: no cookies, no origin, a secret."""
    client = Browser(app)
    client.headers = {"authorization": f"Bearer {secret}"}
    return client


def test_a_reading_is_kept_once_however_often_it_is_sent(logger):
    first, again = (logger.post(f"{API}/readings", json=ONE) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["readings"][0]["id"] == again.json()["readings"][0]["id"]
    assert again.json()["new"] == 0
    line = logger.get(f"{API}/readings").json()["readings"][0]
    assert line["voltage_V"] == 0.31
    assert line["author"] == "logger fan <1>"


def test_many_readings_at_one_turbine(logger):
    many = {"turbine": "Team Kittiwake, starter build", "readings": [{"wind_speed_m_s": 4 + n / 10} for n in range(9)]}
    assert logger.post(f"{API}/readings", json=many).json()["new"] == 9
    page = logger.get(f"{API}/readings", params={"limit": 4}).json()
    assert [one["turbine_version"] for one in page["readings"]] == [1] * 4
    older = logger.get(f"{API}/readings", params={"limit": 500, "before": page["before"]}).json()
    assert older["before"] is None
    assert len(older["readings"]) == page["count"] - 4


@pytest.mark.parametrize(
    "body",
    [
        "x",
        [],
        {},
        {"voltage_V": "NaN"},
        {"voltage_V": -1},
        {"voltage_V": 10**400},
        {"volts": 3},
        {"voltage_V": 1, "note": "a\0b"},
        {"voltage_V": 1, "mark": "a\0b"},
        {"voltage_V": 1, "taken_at": "0001-01-01T00:00:00+14:00"},
        {"readings": [ONE, ONE]},
        {"readings": []},
        {"readings": [ONE], "turbine": "a\0"},
        {"readings": [{"voltage_V": 1}], "turbine": "Team Kittiwake, starter build", "turbine_version": 99},
    ],
    ids=str,
)
def test_what_cannot_be_kept_is_refused_in_words(logger, body):
    answer = logger.post(f"{API}/readings", json=body)
    assert answer.status_code == 422, answer.text
    assert answer.json()["error"]["needs"]


def test_an_unknown_turbine_is_not_found(logger):
    assert logger.post(f"{API}/readings", json={"readings": [{"voltage_V": 1}], "turbine": "none"}).status_code == 404


def test_broken_json_is_refused(logger):
    answer = logger.post(f"{API}/readings", content=b'{"a": ', headers={"content-type": "application/json"})
    assert answer.status_code == 422
    deep = b"[" * 100_000
    assert logger.post(f"{API}/readings", content=deep, headers={"content-type": "application/json"}).status_code < 500


def test_a_run_comes_in_pieces_each_kept_once(logger, team):
    run = {"name": "morning", "columns": ["voltage", "rotor_speed"], "begun_at": "2026-03-01T09:00:00Z"}
    first, again = (logger.post(f"{API}/runs", json=run) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    number = first.json()["run"]
    assert again.json() == {"run": number, "new": False}
    piece = {"number": 1, "samples": {"time": [0, 0.1], "voltage": [0.3, None], "rotor_speed": [30, 31]}}
    place = f"{API}/runs/{number}/samples"
    assert [logger.post(place, json=piece).status_code for _ in range(2)] == [201, 200]
    assert logger.post(place, json=piece | {"number": 9}).status_code == 422
    assert logger.post(place, json=piece | {"number": 2, "samples": {"time": [1]}}).status_code == 422
    assert logger.post(f"{API}/runs/999/samples", json=piece).status_code == 404
    assert logger.post(f"{API}/runs", json=run | {"columns": ["volts"]}).status_code == 422
    assert "morning" in team.get("/teams/1/readings/logger").text
    page = f"/teams/1/readings/logger/run/{number}"
    assert "2 samples" in team.get(page).text
    assert "wind" in team.submit(page, {}).text
    made = team.submit(page, {"wind_speed": "4,5", "first": "0", "last": "1 s"})
    assert made.url.path == "/teams/1/readings"
    assert f"mean of 2 samples of run {number}, morning" in made.text
    assert team.submit(page, {"first": "many"}).status_code == 422
    assert team.get("/teams/1/readings/logger/run/999").status_code == 404


def test_only_who_has_a_secret_of_the_team_comes_in(app, logger, other, nobody):
    assert nobody.get(f"{API}/readings").status_code == 401
    assert other.get(f"{API}/readings").status_code == 404
    assert other.submit(f"{API}/readings", {}).status_code == 404
    assert logger.get("/api/v1/teams/2/readings").status_code == 404
    assert logger.post("/api/v1/teams/2/readings", json=ONE).status_code == 404
    stranger = Browser(app)
    stranger.headers = {"authorization": "Bearer nothing"}
    assert stranger.post(f"{API}/readings", json=ONE).status_code == 401


def test_a_browser_needs_its_mark(team):
    assert team.post(f"{API}/readings", json=ONE).status_code == 403
    assert team.post(f"{API}/readings", json=ONE, headers={"x-mark": team.mark()}).status_code in (200, 201)


def test_a_logger_is_ended(app, team):
    page = team.submit("/teams/1/readings/logger", {"name": "short-lived"})
    secret = re.search(r'class="secret">([^<]+)<', page.text)[1]
    number = re.findall(r'name="number" value="(\d+)"', page.text)[0]
    client = Browser(app)
    client.headers = {"authorization": f"Bearer {secret}"}
    assert client.get(f"{API}/readings").status_code == 200
    team.submit("/teams/1/readings/logger/end", {"number": number})
    assert client.get(f"{API}/readings").status_code == 401
    assert team.submit("/teams/1/readings/logger/end", {"number": number}).status_code == 404


def test_the_schema_tells_of_it(nobody):
    paths = nobody.get("/api/openapi.json").json()["paths"]
    assert "/api/v1/teams/{team}/readings" in paths
    assert "/api/v1/teams/{team}/runs/{run}/samples" in paths
    assert not [path for path in paths if not path.startswith("/api/")]
