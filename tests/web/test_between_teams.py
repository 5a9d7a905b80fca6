"""Between teams: whatever a team can reach, another team and nobody cannot; found by walking every link and form."""

import re

import pytest
from web_room import HOST, Browser
from web_walk import walked

REFUSED = (303, 401, 403, 404, 405)


@pytest.fixture(scope="module")
def own(app):
    """What the first team's own browser finds."""
    browser = Browser(app)
    browser.post("/", data={"team": 1, "pin": "806425"})
    return walked(browser, "/teams/1/bench")


def test_a_team_finds_its_own_pages_in_good_order(own):
    pages, _ = own
    wrong = {address: answer.status_code for address, answer in pages.items() if answer.status_code >= 400}
    assert not wrong
    for place in ("bench", "readings", "make", "check", "logbook"):
        assert pages[f"/teams/1/{place}"].status_code == 200


def test_another_team_and_nobody_see_none_of_it(own, other, nobody):
    pages, _ = own
    for browser in (other, nobody):
        for address in pages:
            if address.startswith(("/teams/1/", "/room")):
                answer = browser.get(address, follow_redirects=False)
                assert answer.status_code in REFUSED, address
                assert "Kittiwake, starter" not in answer.text, address


def test_another_team_and_nobody_change_none_of_it(own, other, nobody):
    _, forms = own
    assert forms
    mark = other.mark("/teams/2/bench")
    for browser, fields in ((other, {"mark": mark}), (nobody, {})):
        for address in forms:
            assert browser.post(address, data=fields, follow_redirects=False).status_code in REFUSED, address


def routes(app):
    """Path and method of every route, those of included routers too."""
    for one in app.routes:
        for route in one.original_router.routes if hasattr(one, "original_router") else [one]:
            for method in getattr(route, "methods", None) or ():
                yield route.path, method


def asked(path):
    """Address of a route with the first team's number, and ones for the rest."""
    return re.sub(r"\{[^}]*\}", "1", path)


def test_every_route_asks_who_comes(app, other, nobody):
    """Routes that no link leads to are asked too, with the other team's numbers put in."""
    mark = other.mark("/teams/2/bench")
    places = [(asked(path), method) for path, method in routes(app) if "{team}" in path]
    assert len(places) > 40
    for place, method in places:
        for browser, more in ((other, {"headers": {"x-mark": mark, "origin": f"http://{HOST}"}}), (nobody, {})):
            answer = browser.request(method, place, follow_redirects=False, **more)
            assert answer.status_code in (*REFUSED, 422), (method, place, answer.status_code)
            assert "Kittiwake" not in answer.text, (method, place)


def test_the_coach_s_pages_are_for_the_coach(app, team, nobody):
    mark = team.mark("/teams/1/bench")
    places = [(asked(path), method) for path, method in routes(app) if path.startswith("/room")]
    assert len(places) > 15
    for place, method in places:
        for browser, fields in ((team, {"mark": mark}), (nobody, {})):
            more = {"data": fields} if method == "POST" else {}
            answer = browser.request(method, place, follow_redirects=False, **more)
            assert answer.status_code in REFUSED, (method, place)
