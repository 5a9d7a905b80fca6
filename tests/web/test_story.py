"""The whole story in a real browser; once more without a mouse, and once without scripts."""

import re
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from web_room import COACH_PIN, PATIENCE, TEAM_PIN, Server, enter, open_page

expect = pytest.importorskip("playwright.sync_api").expect
ROOM, TEAM = "Room of the invented tests", "Team Razorbill"
READ = [("10", "150"), ("22", "230"), ("47", "310"), ("100", "350"), ("220", "375")]  # [ohm], [mV]; invented
PHONE, LAPTOP = {"width": 390, "height": 780}, {"width": 1366, "height": 768}


@pytest.fixture
def opened(chromium):
    """Opens pages of a size; at the end no page may have complained or asked a host that is not ours."""
    pages, complaints, hosts = [], [], set()

    def opened_page(size, **more):
        page = open_page(chromium, viewport=size, **more)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None)
        page.on("request", lambda request: hosts.add(urlsplit(request.url).hostname))
        pages.append(page)
        return page

    yield opened_page
    for page in pages:
        page.context.close()
    assert complaints == []
    assert hosts - {None} == {"localhost"}


@pytest.fixture
def empty(tmp_path):
    """Server of a store with nothing in it."""
    served = Server(tmp_path / "room.db").start()
    yield served
    served.kill()


def set_up(page, server):
    """Set the room up as its coach; return the PIN of the first team."""
    page.goto(server.set_up_address)
    page.fill("#name", ROOM)
    page.fill("#teams", f"{TEAM}\nTeam Gannet")
    page.uncheck("input[name=starter]")
    page.fill("#pin", COACH_PIN)
    page.fill("#again", COACH_PIN)
    page.click("button.main")
    page.wait_for_url("**/room/slips")
    slip = page.locator(".slip", has_text=TEAM)
    assert server.address in slip.inner_text()
    return slip.locator(".pin").inner_text()


def read_five(page):
    """Enter five readings with the fan at one speed and another load each."""
    page.fill("#f-wind_speed", "4.5")
    for count, (ohms, millivolts) in enumerate(READ, 1):
        page.fill("#f-load_resistance", ohms)
        page.fill("#f-voltage", f"{millivolts} mV")
        page.click("#keep")
        expect(page.locator("tr[id^=reading-]")).to_have_count(count)


def test_the_story(opened, empty):
    coach = opened(LAPTOP)
    pin = set_up(coach, empty)
    coach.goto(f"{empty.address}/room")

    team = opened(PHONE, is_mobile=True, has_touch=True)
    team.goto(empty.address)
    team.select_option("#team", label=TEAM)
    team.fill("#name", "Robin")
    team.fill("#pin", pin)
    team.tap("button.main")
    team.locator("input[name=start][value=starter]").check()
    team.tap("button.main")
    expect(team.locator("#desk .big")).to_contain_text("W")

    team.get_by_role("link", name="Readings", exact=True).tap()
    read_five(team)
    expect(coach.locator("#teams")).to_contain_text("5")

    team.get_by_role("link", name="Bench", exact=True).tap()
    move = team.locator("#moves .move", has=team.get_by_role("link", name="Try it")).first
    move.get_by_role("link", name="Try it").tap(timeout=4 * PATIENCE)  # the one long work of the page
    expect(team.locator("[data-piece=changes] s").first).to_be_visible()
    team.get_by_role("button", name="Keep this version").tap()
    expect(team.locator(".views header")).to_contain_text("version 2")

    team.get_by_role("link", name="Make", exact=True).tap()
    with team.expect_download() as wanted:
        team.get_by_role("link", name="Paper, true to size").first.tap()
    assert Path(wanted.value.path()).read_bytes().startswith(b"%PDF")

    team.get_by_role("button", name="Sign out").tap()
    expect(team.locator("#pin")).to_be_visible()
    team.goto(f"{empty.address}/teams/1/bench")
    expect(team.locator("#pin")).to_be_visible()


def tab_to(page, selector, *, key="Tab", most=150):
    """Press a key until something has the focus."""
    for _ in range(most):
        page.keyboard.press(key)
        if page.evaluate("wanted => document.activeElement.matches(wanted)", selector):
            return
    raise AssertionError(f"{most} times {key} do not lead to {selector}")


def test_the_keyboard_is_enough(opened, server):
    page = opened(LAPTOP)
    page.goto(server.address)
    tab_to(page, "#team")
    page.keyboard.type("Team Kit")
    tab_to(page, "#pin")
    page.keyboard.type(TEAM_PIN)
    page.keyboard.press("Enter")
    page.wait_for_url("**/bench*")

    tab_to(page, "nav a[href$='/readings']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/readings")
    before = page.locator("tr[id^=reading-]").count()
    for name, text in {"wind_speed": "4.5", "load_resistance": "22", "voltage": "230 mV"}.items():
        tab_to(page, f"#f-{name}")
        page.keyboard.type(text)
    page.keyboard.press("Enter")
    expect(page.locator("tr[id^=reading-]")).to_have_count(before + 1)

    tab_to(page, "nav a[href$='/bench']", key="Shift+Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/bench*")
    shown = page.locator("#desk .big")
    power = shown.inner_text()
    tab_to(page, "[data-path='rotor.pitch'] input[type=range]")
    for _ in range(8):
        page.keyboard.press("ArrowLeft")
    expect(shown).not_to_have_text(power)
    assert page.input_value("[name='rotor.pitch']") != "35 deg"

    page.keyboard.press("Control+Home")
    tab_to(page, ".who form button", key="Shift+Tab")
    page.keyboard.press("Enter")
    expect(page.locator("#pin")).to_be_visible()


def test_without_scripts_pages_are_read_and_forms_are_sent(opened, server):
    page = opened(LAPTOP, java_script_enabled=False)
    enter(page, server)
    shown = page.locator("#desk .big")
    power = shown.inner_text()
    page.fill("[name='rotor.pitch']", "20 deg")
    page.get_by_role("button", name="Show what this does").click()
    expect(shown).not_to_have_text(power)
    expect(page.locator("main")).to_contain_text("Of 10 such builds 8 give between")

    page.goto(f"{server.address}/teams/1/readings")
    before = page.locator("tr[id^=reading-]").count()
    page.fill("#f-wind_speed", "4.5")
    page.fill("#f-load_resistance", "47")
    page.fill("#f-voltage", "310 mV")
    page.click("#keep")
    expect(page.locator("tr[id^=reading-]")).to_have_count(before + 1)

    for place in ("bench/versions", "explain/power", "readings/compare", "make", "check", "logbook"):
        page.goto(f"{server.address}/teams/1/{place}")
        expect(page.locator("h1")).to_be_attached()
        assert re.search(r"\w+ \w+ \w+", page.locator("main").inner_text())
    page.get_by_role("button", name="Sign out").click()
    expect(page.locator("#pin")).to_be_visible()
