"""Every page in a real browser: nothing wider than its window, nothing that shuts a reader out."""

from pathlib import Path

import pytest
from web_full_room import DOORS, OF_A_TEAM, OF_THE_COACH, furnish_fully
from web_room import Server, enter, open_page

from whirlbench.store.store import Store

WIDTHS = (360, 768, 1366, 1920)
AXE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
PAGES = [
    *((None, place) for place in DOORS),
    *(("coach", place) for place in OF_THE_COACH),
    *(("team", place) for place in ("/teams/2/bench", *(f"/teams/1{place}" for place in OF_A_TEAM))),
]
IN_THE_DARK = ("/", "/room", "/teams/1/bench", "/teams/1/readings", "/teams/1/check", "/teams/1/logbook")


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """Server of a room after an afternoon's work."""
    place = tmp_path_factory.mktemp("full") / "room.db"
    with Store(place) as store:
        furnish_fully(store)
    served = Server(place).start()
    yield served
    served.kill()


@pytest.fixture(scope="module")
def looks(chromium, server):
    """For each way of looking and each person one page of a browser, made when it is first asked for."""
    made = {}

    def look(who, *, language="en", colours="light", checker=False):
        key = (who, language, colours, checker)
        if key not in made:
            # the checker itself runs where the policy of our own pages would not let it
            page = made[key] = open_page(chromium, color_scheme=colours, bypass_csp=checker, locale=language)
            page.context.add_cookies([{"name": "language", "value": language, "url": server.address}])
            if who:
                enter(page, server, number=None if who == "coach" else 1)
        return made[key]

    yield look
    for page in made.values():
        page.context.close()


def come(page, server, place):
    """Open a page and wait until its charts stand there."""
    page.goto(server.address + place)
    for chart in page.locator("[data-chart]:visible").all():
        chart.locator("svg").first.wait_for()
    return page


@pytest.mark.parametrize(("who", "place"), PAGES)
def test_no_page_is_wider_than_its_window(looks, server, who, place):
    page = come(looks(who), server, place)
    wide = {}
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 800})
        seen = page.evaluate("document.documentElement.scrollWidth")
        if seen > width:
            wide[width] = seen
    assert not wide


@pytest.fixture(scope="module")
def fresh(tmp_path_factory):
    """Server of a room that nobody has set up yet."""
    served = Server(tmp_path_factory.mktemp("fresh") / "room.db").start()
    yield served
    served.kill()


@pytest.mark.skipif(not AXE.is_file(), reason="the checker is not here: npm ci --prefix tests/web")
@pytest.mark.parametrize("language", ["en", "es"])
def test_the_page_to_set_a_room_up_is_open_to_everybody(chromium, fresh, language):
    page = open_page(chromium, bypass_csp=True, locale=language)
    page.context.add_cookies([{"name": "language", "value": language, "url": fresh.address}])
    page.goto(fresh.set_up_address)
    assert page.locator("html").get_attribute("lang") == language
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert faults(page) == []
    page.context.close()


def faults(page):
    """Serious and critical faults that the checker finds, each with where it stands."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    kinds = {"resultTypes": ["violations"], "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]}
    found = page.evaluate("kinds => axe.run(document, kinds)", kinds)["violations"]
    return [
        (one["id"], node["target"], node["failureSummary"])
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"][:3]
    ]


@pytest.mark.skipif(not AXE.is_file(), reason="the checker is not here: npm ci --prefix tests/web")
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize(("who", "place"), PAGES)
def test_nothing_serious_stands_in_anybodys_way(looks, server, who, place, language):
    page = come(looks(who, language=language, checker=True), server, place)
    assert page.locator("html").get_attribute("lang") == language
    assert faults(page) == []


@pytest.mark.skipif(not AXE.is_file(), reason="the checker is not here: npm ci --prefix tests/web")
@pytest.mark.parametrize("place", IN_THE_DARK)
def test_nothing_serious_in_the_dark_either(looks, server, place):
    who = None if place == "/" else "coach" if place == "/room" else "team"
    assert faults(come(looks(who, colours="dark", checker=True), server, place)) == []
