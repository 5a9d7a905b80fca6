"""The coach's room: every team at a glance, who is stuck and why, and what is done about teams."""

import re
import time
from datetime import UTC, datetime, timedelta

import pytest
from web_room import COACH_PIN, TEAM_PIN, TEAMS, Browser, enter, of_team, open_page

from whirlbench.actions import overview, room, set_up, sign_in
from whirlbench.actions.standing_report import Standing
from whirlbench.measure.readings import Reading
from whirlbench.store import readings, teams
from whirlbench.store.overview import TeamFacts
from whirlbench.store.store import Store
from whirlbench.web.presence import Presence

NOW = datetime(2031, 3, 1, 10, 0, tzinfo=UTC)
FACTS = {
    **dict.fromkeys(TeamFacts.__dataclass_fields__),
    "number": 1,
    "team": "Kittiwake",
    "created_at": "2031-03-01T09:00:00.000Z",
    "has_pin": True,
    "readings": 0,
}


def ago(minutes):
    return NOW - timedelta(minutes=minutes)


def written(minutes):
    return ago(minutes).isoformat().replace("+00:00", "Z")


def glance(*, here=None, standing=None, **facts):
    """Overview line of a team, some of whose facts are known."""
    names = {1: [("Robin", ago(here))]} if here is not None else {}
    found = overview.overview(
        [TeamFacts(**FACTS | facts)], {}, now=NOW, here=names, standings={1: standing} if standing else {}
    )
    return found.teams[0]


def kinds(line):
    return [one.kind for one in line.stuck]


BUILT = {"turbine": "Starter", "version": 1, "kept_at": written(50)}
FINE = Standing(electrical_power_W=0.1, wind_speed_m_s=4.5, starts=True)


def test_a_team_that_is_here_without_a_turbine_is_stuck_after_a_quarter_of_an_hour():
    assert kinds(glance(here=14)) == []
    assert kinds(glance(here=15)) == ["no turbine"]
    assert kinds(glance()) == []


def test_a_team_that_is_here_without_a_reading_is_stuck_after_half_an_hour():
    assert kinds(glance(here=29, **BUILT)) == []
    assert glance(here=31, **BUILT).stuck[0].minutes == 31
    assert kinds(glance(here=45, **BUILT, read_at=written(5), readings=1)) == []
    assert kinds(glance(here=45, **BUILT | {"kept_at": written(2)})) == []
    assert kinds(glance(**BUILT, read_at=written(600), readings=1)) == []


def test_a_turbine_that_does_not_start_or_breaks_something_is_told():
    standing = FINE.model_copy(update={"starts": False, "broken": ("blades",), "weak": ("rod",)})
    assert kinds(glance(standing=standing, **BUILT)) == ["not safe", "does not start", "breaks a rule"]
    assert kinds(glance(standing=FINE, **BUILT)) == []
    wrong = Standing(electrical_power_W=None, wind_speed_m_s=None, starts=None, wrong="no such motor")
    assert kinds(glance(standing=wrong, **BUILT)) == ["cannot be computed"]


def test_three_readings_without_a_gain_are_told():
    assert kinds(glance(here=1, latest_power=0.10, earlier_power=0.10, **BUILT)) == ["no gain"]
    assert kinds(glance(here=1, latest_power=0.11, earlier_power=0.10, **BUILT)) == []
    assert kinds(glance(here=1, latest_power=0.11, earlier_power=None, **BUILT)) == []
    assert kinds(glance(latest_power=0.10, earlier_power=0.10, **BUILT)) == []


def read(store, name, *volts, **more):
    with store.writing() as session:
        rows = [Reading(row=1, voltage=one, load_resistance=10.0, **more) for one in volts]
        return readings.add(session, teams.get(session, name), rows)


def fact(store, name):
    return next(one for one in overview.facts(store)[0] if one.team == name)


def test_facts_come_from_the_readings_that_hold(app):
    store = app.state.store
    set_up.add_teams(store, ("Osprey",))
    numbers = read(store, "Osprey", 3.0, 1.0, 1.1, 1.2)
    found = fact(store, "Osprey")
    assert (found.readings, found.turbine) == (4, None)
    assert (found.best_power, found.earlier_power, found.latest_power) == pytest.approx((0.9, 0.9, 0.144))
    with store.writing() as session:
        readings.delete(session, teams.get(session, "Osprey"), numbers[0], seen=1)
    found = fact(store, "Osprey")
    assert (found.readings, found.earlier_power) == (3, None)
    assert found.best_power == pytest.approx(0.144)
    read(store, "Osprey", 2.0, current=0.3)
    assert fact(store, "Osprey").best_power == pytest.approx(0.6)


def test_the_turbine_that_was_saved_last_is_shown(app):
    assert fact(app.state.store, TEAMS[0]).turbine == "Team Kittiwake, starter build"
    assert fact(app.state.store, TEAMS[1]).turbine is None


def test_the_room_shows_what_a_worker_found(app, coach):
    for _ in range(600):
        text = coach.get("/room/teams").text
        card = text.split("Team Kittiwake</a>")[1].split("</li>")[0]
        if "predicted" in card or "Cannot be computed" in card:
            break
        time.sleep(0.1)
    assert re.search(r"mW</span> <small>predicted", card), card
    assert "Gullwick" in coach.get("/room").text
    assert 'class="qr"' in coach.get("/room").text


def test_only_the_coach_sees_the_room(team, nobody):
    for place in ("/room", "/room/teams", "/room/teams/1", "/room/slips", "/room/settings", "/room/backup"):
        assert team.get(place).status_code == 404
        assert nobody.get(place, follow_redirects=False).headers["location"] == "/"
    for place in ("/room/teams", "/room/pins", "/room/teams/1/pin", "/room/teams/1/delete", "/room/restore"):
        assert team.submit(place, {"sure": "yes", "name": TEAMS[0]}).status_code == 404
        assert nobody.post(place, data={"sure": "yes"}, follow_redirects=False).status_code == 303
    assert [one.team for one in room.room(team.app.state.store).teams if one.team in TEAMS] == list(TEAMS)


def pins_of(browser):
    return re.findall(r'class="pin">(\d+)<', browser.get("/room/slips").text)


def test_teams_are_added_with_their_pins(app, coach):
    answer = coach.submit("/room/teams", {"teams": "Gannet\nFulmar", "starter": "yes"}, page="/room")
    assert "Gannet" in answer.text
    pins = pins_of(coach)
    numbers = {one.team: one.number for one in room.room(app.state.store).teams}
    assert sign_in.as_team(app.state.store, numbers["Gannet"], pins[0])
    answer = coach.submit("/room/teams", {"teams": "Puffin\ngannet"}, page="/room")
    assert answer.status_code == 422
    assert "Puffin\ngannet" in answer.text
    assert "Puffin" not in [one.team for one in room.room(app.state.store).teams]


def test_a_new_pin_signs_a_team_out(app, coach):
    coach.submit("/room/teams", {"teams": "Dunlin"}, page="/room")
    (pin,) = pins_of(coach)
    number = next(one.number for one in room.room(app.state.store).teams if one.team == "Dunlin")
    browser = Browser(app)
    browser.post("/", data={"team": number, "pin": pin, "name": "Robin"}, follow_redirects=False)
    assert "Robin" in coach.get(f"/room/teams/{number}").text
    coach.submit(f"/room/teams/{number}/pin", page="/room")
    assert pins_of(coach) != [pin]
    assert browser.get("/", follow_redirects=False).status_code == 200


def test_one_browser_or_all_of_a_team_are_signed_out(app, coach):
    first, second = of_team(app, 2), of_team(app, 2)
    people = re.findall(r'name="person" value="(\d+)"', coach.get("/room/teams/2").text)
    coach.submit("/room/teams/2/out", {"person": people[0]}, page="/room")
    signed_in = [one.get("/", follow_redirects=False).status_code == 303 for one in (first, second)]
    assert sorted(signed_in) == [False, True]
    coach.submit("/room/teams/2/out", {"person": "all"}, page="/room")
    assert "Nobody is signed in" in coach.get("/room/teams/2").text


def test_a_sign_in_of_another_team_is_not_ended_from_here(app, coach, team):
    number = sign_in.who(app.state.store, team.cookies["whirlbench"]).id
    assert coach.submit("/room/teams/2/out", {"person": number}, page="/room").status_code == 404
    for odd in ("", "x", "9" * 30, "-1"):
        assert coach.submit("/room/teams/2/out", {"person": odd}, page="/room").status_code == 404
    assert team.get("/", follow_redirects=False).status_code == 303


def test_a_team_is_renamed(app, coach):
    coach.submit("/room/teams", {"teams": "Skuua"}, page="/room")
    number = next(one.number for one in room.room(app.state.store).teams if one.team == "Skuua")
    coach.submit(f"/room/teams/{number}/name", {"name": "Skua"}, page="/room")
    assert "Skua</h1>" in coach.get(f"/room/teams/{number}").text
    answer = coach.submit(f"/room/teams/{number}/name", {"name": TEAMS[0].upper()}, page="/room")
    assert answer.status_code == 422
    assert "already" in answer.text


def test_a_team_is_deleted_only_where_its_name_was_typed(app, coach):
    coach.submit("/room/teams", {"teams": "Plover", "starter": "yes"}, page="/room")
    number = next(one.number for one in room.room(app.state.store).teams if one.team == "Plover")
    for wrong in ("", "Plove", "yes"):
        answer = coach.submit(f"/room/teams/{number}/delete", {"name": wrong}, page="/room")
        assert answer.status_code == 422
        assert "Plover" in answer.text
    assert coach.submit(f"/room/teams/{number}/delete", {"name": " plover "}, page="/room").status_code == 200
    assert coach.get(f"/room/teams/{number}").status_code == 404
    assert "Plover" not in coach.get("/room").text


def test_texts_from_people_are_shown_as_text(coach):
    name = "<script>alert(1)</script>"
    coach.submit("/room/teams", {"teams": name, "starter": "yes"}, page="/room")
    for place in ("/room", "/room/slips", "/room/backup"):
        assert name not in coach.get(place).text
        assert "&lt;script&gt;alert" in coach.get(place).text


def seen(browser, field):
    form = browser.get("/room/settings").text.split(f'action="/room/settings/{field}"')[1]
    return re.search(r'name="seen" value="([0-9a-f]+)"', form)[1]


def test_event_and_bin_are_changed_as_text_and_kept_with_comments(app, coach):
    text = "# of spring\r\nformat = 1\r\nname = 'Spring trials'\r\nmax_blades = 3\r\n"
    mark = seen(coach, "event")
    answer = coach.submit("/room/settings/event", {"event_text": text, "seen": mark}, page="/room")
    assert answer.status_code == 200
    assert room.event_of(app.state.store).max_blades == 3
    assert coach.get("/room/settings/event.toml").text == text.replace("\r\n", "\n")
    other = coach.submit("/room/settings/event", {"event_text": text + "#", "seen": mark}, page="/room")
    assert other.status_code == 409
    wrong = {"bin_text": "format = 1\nname = 'x'\nresistors = ['4 m']", "seen": seen(coach, "bin")}
    answer = coach.submit("/room/settings/bin", wrong, page="/room")
    assert answer.status_code == 422
    assert "resistors" in answer.text
    assert "[&#39;4 m&#39;]" in answer.text
    assert room.bin_of(app.state.store).name == "Gullwick workshop shelves"


def test_the_room_is_renamed_and_the_coach_gets_another_pin(app, coach):
    coach.submit("/room/settings/name", {"name": "Harbour shed"}, page="/room")
    assert room.room(app.state.store).name == "Harbour shed"
    second = Browser(app)
    second.post("/coach", data={"pin": COACH_PIN})
    answer = coach.submit("/room/settings/pin", {"pin": "771204", "again": "771240"}, page="/room")
    assert answer.status_code == 422
    coach.submit("/room/settings/pin", {"pin": "771204", "again": "771204"}, page="/room")
    assert coach.get("/room", follow_redirects=False).status_code == 200
    assert second.get("/room", follow_redirects=False).status_code == 303
    room.change_coach_pin(app.state.store, COACH_PIN)


def test_all_teams_get_new_pins_once_the_coach_means_it(app, coach):
    before = [one for one in room.room(app.state.store).teams if one.open]
    assert coach.submit("/room/pins", page="/room").status_code == 200
    assert sign_in.as_team(app.state.store, 1, TEAM_PIN)
    coach.submit("/room/pins", {"sure": "yes"}, page="/room")
    assert len(pins_of(coach)) >= len(before)
    assert sign_in.as_team(app.state.store, 1, TEAM_PIN) is None
    for one in room.room(app.state.store).teams[:3]:
        room.give_pin(app.state.store, one.number, TEAM_PIN)
    room.give_pin(app.state.store, 1, TEAM_PIN)
    room.give_pin(app.state.store, 2, TEAM_PIN)


class Somebody:
    id, team_id, name, coach = 3, 1, "Robin", False


def test_somebody_who_reloads_a_page_was_never_away():
    now = [NOW]
    presence = Presence(clock=lambda: now[0])
    presence.comes(Somebody)
    now[0] += timedelta(minutes=20)
    presence.goes(Somebody)
    assert presence.here() == {}
    now[0] += timedelta(minutes=1)
    presence.comes(Somebody)
    assert presence.here() == {1: [("Robin", NOW)]}
    presence.goes(Somebody)
    now[0] += timedelta(minutes=11)
    presence.comes(Somebody)
    assert presence.here() == {1: [("Robin", now[0])]}


def test_a_coach_sees_a_team_come_and_read_without_a_reload(chromium, server):
    page, team = open_page(chromium), open_page(chromium)
    faults = []
    page.on("console", lambda told: faults.append(told.text) if told.type == "error" else None)
    enter(page, server, number=None)
    for width in (360, 768, 1366, 1920):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.evaluate("window.kept = true")
    enter(team, server, number=1, name="Noor")
    page.locator("#teams").get_by_text("Noor").first.wait_for()
    with Store(server.place) as store:
        read(store, TEAMS[0], 2.0)
    page.locator("#teams").get_by_text("1 reading").first.wait_for()
    page.locator("#teams").get_by_text("400 mW").first.wait_for()
    assert page.evaluate("window.kept")
    assert not faults
    page.context.close()
    team.context.close()
