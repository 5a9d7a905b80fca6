"""The pages in Spanish: what a team, a coach and a newcomer read holds no English sentence."""

import re
from html.parser import HTMLParser

import pytest

# words that no Spanish sentence holds
ENGLISH = re.compile(r"\b(the|of|with|and|is|are|your|than|this|that|at|it|which|been|not|but|needs|to|was|when|for)\b")
NAMES = ("Glauert",)  # titles of books and articles stay as they are printed
READINGS = ("", "/import", "/logger", "/plans", "/compare", "/sound", "/trials", "/trials/balance", "/trials/wind-map")
TEAM = ("bench", "bench/start", "bench/moves", "check", "logbook", *(f"readings{more}" for more in READINGS))
COACH = ("/room", "/room/settings", "/room/backup", "/room/teams/1", "/api")


class _Words(HTMLParser):
    """Every text that a person may see or hear."""

    def __init__(self, page):
        super().__init__()
        self.within, self.found = [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.found += [text for name, text in attrs if text and name in ("placeholder", "aria-label", "title", "alt")]
        if tag in ("script", "style", "pre", "code", "textarea"):
            self.within.append(tag)

    def handle_endtag(self, tag):
        if self.within and self.within[-1] == tag:
            self.within.pop()

    def handle_data(self, data):
        if not self.within:
            self.found.append(" ".join(data.split()))


def _left(browser, place):
    """Texts of a page that hold English words."""
    browser.cookies.set("language", "es")
    answer = browser.get(place)
    assert answer.status_code == 200, place
    assert '<html lang="es"' in answer.text
    texts = [text for text in _Words(answer.text).found if ENGLISH.search(text)]
    return [text for text in texts if not any(name in text for name in NAMES)]


@pytest.mark.parametrize("page", TEAM)
def test_a_team_reads_spanish(team, page):
    assert _left(team, f"/teams/1/{page}") == []


@pytest.mark.parametrize("quantity", ["power", "power_coefficient", "voltage", "start"])
def test_an_explanation_is_in_spanish(team, quantity):
    assert _left(team, f"/teams/1/explain/{quantity}") == []


@pytest.mark.parametrize("page", COACH)
def test_a_coach_reads_spanish(coach, page):
    assert _left(coach, page) == []


@pytest.mark.parametrize("page", ["/", "/coach"])
def test_a_newcomer_reads_spanish(nobody, page):
    assert _left(nobody, page) == []


def test_a_refusal_is_in_spanish(team):
    team.cookies.set("language", "es")
    answer = team.submit("/teams/1/readings", {"wind_speed": "4.5 pigs"}, page="/teams/1/readings")
    assert "se necesita un número y una unidad, como '5 m/s'" in answer.text.replace("&#39;", "'")
