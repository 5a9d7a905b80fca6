"""The door: who gets in, who does not, and what a browser is told besides."""

import pytest
from web_room import COACH_PIN, HOST, TEAM_PIN, Browser

from whirlbench.actions.sign_in import Patience
from whirlbench.errors import InputError
from whirlbench.web.guard import Pace


def test_the_door_lists_the_teams(nobody):
    text = nobody.get("/").text
    assert "Gullwick Harbour Turbine Trials" in text
    assert "Team Kittiwake" in text


def test_a_team_comes_in_by_its_pin_and_goes_out(team):
    assert team.get("/", follow_redirects=False).headers["location"] == "/teams/1/bench"
    assert team.submit("/out", follow_redirects=False).headers["location"] == "/"
    assert team.get("/", follow_redirects=False).status_code == 200


def test_a_wrong_pin_lets_nobody_in(app):
    browser = Browser(app)
    answer = browser.post("/", data={"team": 2, "pin": "111222"})
    assert answer.status_code == 403
    assert "not this team" in answer.text
    assert browser.get("/", follow_redirects=False).status_code == 200
    app.state.patience.right("team 2 from testclient")


@pytest.mark.parametrize("number", ["", "x", "0", "99", "-1", "9" * 40, "1 OR 1=1"])
def test_an_odd_team_is_refused(nobody, number):
    assert nobody.post("/", data={"team": number, "pin": TEAM_PIN}).status_code in (404, 422)


def test_the_coach_comes_in(coach):
    assert coach.get("/", follow_redirects=False).headers["location"] == "/room"


def test_each_wrong_pin_beyond_five_doubles_the_wait():
    now = [0.0]
    patience = Patience(clock=lambda: now[0])
    for _ in range(4):
        patience.wrong("one")
        patience.ask("one")
    patience.wrong("one")
    with pytest.raises(InputError, match="pause of 15 s"):
        patience.ask("one")
    patience.ask("another")
    now[0] = 15.1
    patience.ask("one")
    patience.wrong("one")
    with pytest.raises(InputError, match="pause of 30 s"):
        patience.ask("one")
    patience.right("one")
    patience.ask("one")


def test_a_caller_who_asks_too_often_waits():
    now = [0.0]
    pace = Pace(10, clock=lambda: now[0])
    assert all(pace.lets("one") for _ in range(80))
    assert not pace.lets("one")
    assert pace.lets("another")
    now[0] = 0.35
    assert [pace.lets("one") for _ in range(4)] == [True, True, True, False]
    now[0] = -5.0  # a clock that jumps back gives nothing away
    assert not pace.lets("one")


def test_a_form_without_its_mark_is_refused(team):
    answer = team.post("/out", data={"mark": "0" * 64})
    assert answer.status_code == 403
    assert team.get("/", follow_redirects=False).status_code == 303


def test_another_origin_is_refused(app):
    browser = Browser(app)
    for origin in ("http://evil.example", "null", f"https://{HOST}.evil.example"):
        answer = browser.post("/coach", data={"pin": COACH_PIN}, headers={"origin": origin})
        assert answer.status_code == 403


def test_another_host_name_is_refused(nobody):
    assert nobody.get("/", headers={"host": "evil.example"}).status_code == 421


def test_a_body_beyond_its_bounds_is_refused(nobody):
    assert nobody.post("/", data={"pin": "1" * (1 << 21)}).status_code == 413

    def pieces():
        for _ in range(40):
            yield b"x" * (1 << 16)

    kind = {"content-type": "application/x-www-form-urlencoded"}
    assert nobody.post("/coach", content=pieces(), headers=kind).status_code == 413


def test_every_answer_carries_the_policy(nobody):
    for place in ("/", "/nowhere", "/ping"):
        assert "default-src 'self'" in nobody.get(place).headers["content-security-policy"]


def test_a_language_is_kept(nobody):
    answer = nobody.post(
        "/taste", data={"language": "es", "units": "inch", "back": "//evil.example"}, follow_redirects=False
    )
    assert answer.headers["location"] == "/"
    assert 'lang="es"' in nobody.get("/").text


def test_assets_are_kept_for_good_under_their_version(nobody):
    address = nobody.get("/").text.split('stylesheet" href="')[1].split('"')[0]
    answer = nobody.get(address)
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["content-type"].startswith("text/css")
    assert "immutable" not in nobody.get("/static/0/app.css").headers["cache-control"]
    for name in ("nothing.css", "..%2Fapp.py", ".hidden"):
        assert nobody.get(f"/static/0/{name}").status_code == 404
