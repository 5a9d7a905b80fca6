"""The room is set up: once, by who holds the key, in one page; PINs can be read for a few minutes."""

import re

import pytest
from starlette.testclient import TestClient
from web_room import HOST, Browser

from whirlbench.actions import room, sign_in
from whirlbench.web.app import app_of
from whirlbench.web.settings import Settings
from whirlbench.web.slips import Slips

KEY = "of-the-house"
SETUP = f"/setup?key={KEY}"
FIELDS = {"key": KEY, "name": "Workshop", "teams": "Kittiwake\n\n Petrel \n", "event": "shipped", "bin": "shipped"}


@pytest.fixture
def fresh(tmp_path):
    """Application of a room that nobody has set up yet."""
    app = app_of(Settings(store=tmp_path / "room.db", hosts=(HOST,), set_up_key=KEY))
    with TestClient(app, base_url=f"http://{HOST}"):
        yield app


@pytest.fixture
def browser(fresh):
    return Browser(fresh)


def sent(browser, *, files=None, **fields):
    return browser.post(
        "/setup", data=FIELDS | fields, files=files or {"event_file": ("", b"")}, follow_redirects=False
    )


def test_only_who_holds_the_key_sees_the_page(browser):
    assert browser.get(SETUP).status_code == 200
    for place in ("/setup", "/setup?key=", "/setup?key=wrong", "/setup?key=ö"):
        assert browser.get(place).status_code == 404
    assert browser.post("/setup", data=FIELDS | {"key": "wrong"}).status_code == 404


def test_a_room_is_set_up_and_its_teams_come_in_by_the_pins_of_the_slips(fresh, browser):
    answer = sent(browser, pin="407193", again="407193", starter="yes")
    assert (answer.status_code, answer.headers["location"]) == (303, "/room/slips")
    sheet = browser.get("/room/slips").text
    pins = re.findall(r'class="pin">(\d+)<', sheet)
    assert len(pins) == 2
    assert "<svg" in sheet
    found = room.room(fresh.state.store)
    assert (found.name, [one.team for one in found.teams]) == ("Workshop", ["Kittiwake", "Petrel"])
    assert found.event == "Gullwick Harbour Turbine Trials"
    assert found.parts_bin == "Gullwick workshop shelves"
    for one, pin in zip(found.teams, pins, strict=True):
        assert sign_in.as_team(fresh.state.store, one.number, pin)
    text = browser.get("/room").text
    assert "Starter turbine" in text
    assert "Kittiwake" in text


def test_a_room_is_set_up_only_once(fresh, browser):
    sent(browser, pin="407193", again="407193")
    other = Browser(fresh)
    assert other.get(SETUP, follow_redirects=False).headers["location"] == "/coach"
    assert sent(other, name="Another", pin="555123", again="555123").headers["location"] == "/coach"
    assert room.room(fresh.state.store).name == "Workshop"


def test_a_coach_without_a_pin_is_given_one(fresh, browser):
    sent(browser, teams="")
    pin = re.search(r'class="pin">(\d+)<', browser.get("/room/slips").text)[1]
    assert sign_in.as_coach(fresh.state.store, pin)


def test_slips_are_for_the_browser_that_made_them(fresh, browser):
    sent(browser, pin="407193", again="407193")
    second = Browser(fresh)
    second.post("/coach", data={"pin": "407193"})
    assert 'class="pin"' not in second.get("/room/slips").text
    assert 'class="pin"' in browser.get("/room/slips").text


class Somebody:
    id = 7


def test_slips_are_forgotten_after_ten_minutes():
    now = [0.0]
    slips = Slips(clock=lambda: now[0])
    slips.put(Somebody, ["a slip"], coach_pin="1")
    now[0] = 599.0
    assert slips.of(Somebody) == (("a slip",), "1")
    now[0] = 601.0
    assert slips.of(Somebody) == ((), "")


WRONG = [
    ({"name": " "}, "room: got nothing"),
    ({"teams": "Petrel\npetrel"}, "twice"),
    ({"teams": "\n".join(f"Team {n}" for n in range(61))}, "61 lines"),
    ({"pin": "407193", "again": "407194"}, "two that differ"),
    ({"pin": "1234", "again": "1234"}, "guessed first"),
    ({"event": "own", "event_text": "format = 1\nname = 'x'\nmax_bladess = 3"}, "max_blades"),
    ({"bin": "own"}, "choose the file again"),
]


@pytest.mark.parametrize(("fields", "said"), WRONG, ids=[said for _, said in WRONG])
def test_what_does_not_fit_is_told_beside_its_field_and_all_that_was_typed_stays(fresh, browser, fields, said):
    answer = sent(browser, **{"teams": "Osprey", **fields})
    assert answer.status_code == 422
    assert said in answer.text
    assert room.room(fresh.state.store).ready is False
    kept = {"name": "Workshop", "teams": "Osprey", **fields}
    for field in ("teams", "event_text"):
        for line in kept.get(field, "").splitlines():
            assert line.replace("'", "&#39;") in answer.text


def test_own_files_are_read(fresh, browser):
    event = b"# ours\nformat = 1\nname = 'Harbour day'\nmax_blades = 3\n"
    answer = sent(browser, bin="none", files={"event_file": ("day.toml", event)})
    assert answer.status_code == 303
    assert room.event_of(fresh.state.store).max_blades == 3
    assert room.texts(fresh.state.store) == (event.decode(), "")


def test_a_file_that_is_no_text_is_refused_kindly(browser):
    answer = sent(browser, event="own", files={"event_file": ("day.toml", bytes(range(256)))})
    assert answer.status_code == 422
    assert "UTF-8 text" in answer.text
