"""Between teams: whatever a team can reach, another team and nobody cannot; found by walking every link and form."""

import html
import re

import pytest
from web_room import HOST, Browser

LINK = re.compile(r'(?:href|src|data-address)="(/[^"]*)"')
FORM = re.compile(r'<form[^>]*?method="post"[^>]*?action="(/[^"]*)"|<form[^>]*?action="(/[^"]*)"[^>]*?method="post"')
MOST_PAGES = 400
FOR_ALL = ("/static/", "/out", "/taste", "/coach", "/ping", "/live", "/api")  # and the door itself
REFUSED = (303, 401, 403, 404, 405)


def walked(browser, start):
    """Every address that links and pictures of a browser's own pages lead to, and where their forms are sent."""
    seen, waiting, forms = {}, [start], set()
    while waiting and len(seen) < MOST_PAGES:
        address = waiting.pop(0)
        if address in seen:
            continue
        answer = browser.get(address, follow_redirects=False)
        seen[address] = answer
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        forms |= {html.unescape(one or two) for one, two in FORM.findall(answer.text)}
        found = (html.unescape(link).partition("#")[0] for link in LINK.findall(answer.text))
        waiting += [link for link in found if link not in seen and not link.startswith(FOR_ALL) and link != "/"]
    return seen, {form for form in forms if not form.startswith(FOR_ALL) and form != "/"}


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


def test_every_route_asks_who_comes(app, other, nobody):
    """Routes that no link leads to are asked too, with the other team's numbers put in."""
    mark = other.mark("/teams/2/bench")
    for route in app.routes:
        path, methods = getattr(route, "path", ""), getattr(route, "methods", None) or ()
        if "{team}" not in path:
            continue
        place = re.sub(r"\{[^}]*\}", "1", path)
        for method in methods:
            for browser, more in ((other, {"headers": {"x-mark": mark, "origin": f"http://{HOST}"}}), (nobody, {})):
                answer = browser.request(method, place, follow_redirects=False, **more)
                assert answer.status_code in (*REFUSED, 422), (method, place, answer.status_code)
                assert "Kittiwake" not in answer.text, (method, place)


def test_the_coach_s_pages_are_for_the_coach(app, team, nobody):
    mark = team.mark("/teams/1/bench")
    rooms = [route for route in app.routes if getattr(route, "path", "").startswith("/room")]
    paths = [(route.path, method) for route in rooms for method in route.methods]
    for path, method in paths:
        place = re.sub(r"\{[^}]*\}", "1", path)
        for browser, fields in ((team, {"mark": mark}), (nobody, {})):
            more = {"data": fields} if method == "POST" else {}
            assert browser.request(method, place, follow_redirects=False, **more).status_code in REFUSED, place
