"""Script injection: put into every text field, file name and address that the pages offer, it is never live."""

import html
import re
from html.parser import HTMLParser
from urllib.parse import quote

import pytest
from web_room import COACH_PIN, HOST, TEAM_PIN, Browser
from web_walk import walked

EVIL = "\"'></textarea></script><script>alert(1)</script><img src=x onerror=alert(2)><svg onload=alert(3)>{{7*7}}"
LIVE = ("<script>alert(1)", "<img src=x onerror", "<svg onload", "onerror=alert(2)>", "49}}")
TEXTS = ("text", "search", "url", "email", "tel", "password", "hidden", "number", "range", "checkbox", "radio")
NOT_NOW = ("/out", "/delete", "restore", "/settings/pin", "/pin", "/room/pins", "/setup", "/coach", "/undo", "/cancel")
OWN = ("mark", "sent", "seen", "version", "number", "key", "turbine", "back", "row", "run", "plan", "change")


class Forms(HTMLParser):
    """Forms of a page: where they go, and the fields in them with what stands there."""

    def __init__(self, text):
        super().__init__()
        self.found, self._name = [], None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        """Take in a form or one of its fields."""
        given = dict(attrs)
        if tag == "form":
            self.found.append((given.get("action") or "", given.get("method", "get"), {}, []))
        if not self.found:
            return
        *_, fields, files = self.found[-1]
        name = given.get("name")
        if tag == "input" and given.get("type") == "file" and name:
            files.append(name)
        elif tag in ("input", "textarea", "select") and name:
            fields.setdefault(name, given.get("value") or "")


def is_live(text):
    """Marks of the injection that a browser would act on."""
    return [mark for mark in LIVE if mark in text]


def poisoned(name, value):
    """What an attacker types into a field; a field that is no text keeps what it holds."""
    return value if name in OWN else EVIL


def one_of_a_kind(addresses):
    """Addresses that differ by more than a number, or than which bench test they are of."""
    kinds = {re.sub(r"\d+|(?<=/trials/).*", "#", address): address for address in addresses}
    return list(kinds.values())


def attack(browser, address):
    """Send every form of a page with evil in every field, alone and with evil files; answers in turn."""
    page = browser.get(address)
    if not page.headers.get("content-type", "").startswith("text/html"):
        return
    for action, method, fields, files in Forms(page.text).found:
        place = html.unescape(action) or address
        if method.lower() != "post" or any(word in place for word in NOT_NOW):
            continue
        typed = {name: poisoned(name, value) for name, value in fields.items()}
        sent = {name: (f"{EVIL}.csv", EVIL.encode(), "text/csv") for name in files}
        yield place, browser.post(place, data=typed, files=sent or None)
        for name in fields:  # one at a time, so that the others let it through
            if name not in OWN and not name.endswith("_unit"):
                yield place, browser.post(place, data={**fields, name: EVIL})


@pytest.fixture(scope="module")
def visitors(app):
    """A team's browser and the coach's, with the page where each begins."""
    team, coach = Browser(app), Browser(app)
    team.post("/", data={"team": 1, "pin": TEAM_PIN, "name": EVIL})
    coach.post("/coach", data={"pin": COACH_PIN})
    return (team, "/teams/1/bench"), (coach, "/room")


def test_nothing_typed_becomes_live(app, visitors):
    attacked = 0
    app.state.patience.right("coach from testclient")
    for browser, start in visitors:
        pages, _ = walked(browser, start)
        for address in one_of_a_kind(one for one in pages if "?" not in one and "/make/" not in one):
            for place, answer in attack(browser, address):
                attacked += 1
                assert answer.status_code < 500, (place, answer.status_code)
                if answer.headers.get("content-type", "").startswith(("text/html", "image/svg")):
                    assert not is_live(answer.text), (address, place)
    assert attacked > 60
    for browser, start in visitors:  # and what was kept is shown to all
        pages, _ = walked(browser, start)
        for address, answer in pages.items():
            if answer.headers.get("content-type", "").startswith(("text/html", "image/svg")):
                assert not is_live(answer.text), address


def test_nothing_in_an_address_becomes_live(visitors, nobody):
    evil = quote(EVIL, safe="")
    for browser, start in (*visitors, (nobody, "/")):
        addresses = {start, "/", "/coach", f"/{evil}", f"/teams/{evil}/bench", f"/static/0/{evil}"}
        addresses |= {one.partition("?")[0] for one in walked(browser, start)[0] if "/make/file" not in one}
        everything = "&".join(
            f"{name}={evil}" for name in ("turbine", "key", "page", "version", "back", "plan", "kind")
        )
        for address in one_of_a_kind(sorted(addresses)):
            for query in ("", f"?turbine={evil}", f"?{everything}"):
                answer = browser.get(address + query)
                assert answer.status_code < 500, (address, query)
                if answer.headers.get("content-type", "").startswith(("text/html", "image/svg")):
                    assert not is_live(answer.text), (address, query)


def test_nothing_in_a_header_becomes_live(nobody):
    for name in ("user-agent", "referer", "accept-language", "cookie"):
        answer = nobody.get("/", headers={name: f"language={EVIL}" if name == "cookie" else EVIL})
        assert answer.status_code == 200
        assert not is_live(answer.text)
    assert HOST in str(nobody.base_url)
