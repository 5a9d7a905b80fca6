"""Faults of a real room: pulled plug, frozen wifi, full disk, dead worker, odd clock; acknowledged rows are there."""

import contextlib
import os
import resource
import signal
import time
from pathlib import Path

import httpx2
import pytest
from web_room import PATIENCE, TEAM_PIN, Server, enter, furnish, open_page

from whirlbench.store import clock
from whirlbench.store.store import Store

READING = {"wind_speed_m_s": 4.5, "load_resistance_ohm": 47.0}


@pytest.fixture
def own_server(tmp_path):
    """A server that a test may harm."""
    with Store(tmp_path / "room.db") as store:
        furnish(store)
    server = Server(tmp_path / "room.db").start()
    yield server
    with contextlib.suppress(ProcessLookupError):
        os.killpg(server.process.pid, signal.SIGCONT)
    server.kill()


class Logger:
    """A client that writes readings, and remembers which of them the room acknowledged."""

    def __init__(self, server):
        self.http = httpx2.Client(base_url=server.address, headers={"origin": server.address}, timeout=60)
        self.http.post("/", data={"team": 1, "pin": TEAM_PIN})
        self.mark = self.http.get("/teams/1/readings").text.split('data-mark="')[1].split('"')[0]
        self.acknowledged = []

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.http.close()

    def write(self, volts):
        """Write a reading; tell whether it was acknowledged."""
        try:
            answer = self.http.post(
                "/api/v1/teams/1/readings", json={**READING, "voltage_V": volts}, headers={"x-mark": self.mark}
            )
        except httpx2.HTTPError:
            return False
        assert answer.status_code in (201, 422, 429, 503), answer.text
        if answer.status_code == 201:
            self.acknowledged.append(volts)
        return answer.status_code == 201

    def kept(self):
        """Volts of every reading that the room has."""
        found = self.http.get("/api/v1/teams/1/readings", params={"limit": 500}).json()
        return [one["voltage_V"] for one in found["readings"]]


@pytest.fixture
def logger(own_server):
    """A client of the server that a test may harm."""
    with Logger(own_server) as found:
        yield found


def test_a_pulled_plug_loses_no_acknowledged_row_and_keeps_people_in(own_server, logger):
    for number in range(15):
        logger.write(number / 100)
    own_server.kill()
    assert not logger.write(9.9)
    own_server.start()
    assert sorted(logger.kept()) == sorted(logger.acknowledged)
    assert len(logger.acknowledged) == 15


def test_a_full_disk_is_told_and_loses_nothing(own_server, logger):
    assert logger.write(0.1)
    largest = max(path.stat().st_size for path in own_server.place.parent.glob("room.db*"))
    resource.prlimit(own_server.process.pid, resource.RLIMIT_FSIZE, (largest + 40_000, resource.RLIM_INFINITY))
    for number in range(200):
        if not logger.write(1 + number / 100):
            break
    else:
        pytest.fail("the disk was never full")
    answer = logger.http.get("/teams/1/readings")
    assert answer.status_code == 200
    resource.prlimit(own_server.process.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    assert logger.write(5.0)
    assert sorted(logger.kept()) == sorted(logger.acknowledged)


def workers(pid):
    """Processes below a server that do its heavy work."""
    found = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    return [int(one) for one in found if b"spawn_main" in Path(f"/proc/{one}/cmdline").read_bytes()]


def test_a_killed_worker_is_replaced(own_server, logger):
    client = logger.http
    place = "/teams/1/bench/answer"
    query = {"turbine": "Team Kittiwake, starter build", "rotor.pitch": "20 deg"}
    first = client.get(place, params=query)
    assert first.status_code == 200, first.text
    for one in workers(own_server.process.pid):
        os.kill(one, signal.SIGKILL)
    again = client.get(place, params={**query, "rotor.pitch": "21 deg"})
    assert again.status_code == 200, again.text


def test_an_odd_clock_changes_neither_order_nor_sign_in(team, monkeypatch):
    headers = {"x-mark": team.mark("/teams/1/readings")}
    for number, moment in enumerate(
        ("2031-03-01T09:30:00.000Z", "2019-01-01T00:00:00.000Z", "2099-12-31T23:59:59.999Z")
    ):
        monkeypatch.setattr(clock, "now", lambda moment=moment: moment)
        volts = {**READING, "voltage_V": 0.5 + number / 10}
        assert team.post("/api/v1/teams/1/readings", json=volts, headers=headers).status_code == 201
    found = team.get("/api/v1/teams/1/readings", params={"limit": 3}).json()["readings"]
    assert [one["voltage_V"] for one in found] == [0.7, 0.6, 0.5]


def watched(chromium, server):
    """A page of the first team that notices when it is loaded anew."""
    page = open_page(chromium)
    enter(page, server)
    page.goto(f"{server.address}/teams/1/readings")
    page.evaluate("window.loadedOnce = true")
    return page


def shows(page, volts):
    """Wait until the table shows a reading."""
    page.locator("#rows", has_text=volts).wait_for(timeout=PATIENCE)


def fill(page, volts):
    """Type a reading and keep it by the keyboard."""
    page.fill("#f-wind_speed", "4.5")
    page.fill("#f-load_resistance", "47")
    page.fill("#f-voltage", str(volts))
    page.press("#f-voltage", "Enter")


def test_a_page_gets_over_a_restart_without_a_reload(chromium, own_server, logger):
    page = watched(chromium, own_server)
    fill(page, 0.31)
    shows(page, "310 mV")
    own_server.kill()
    fill(page, 0.32)
    page.wait_for_selector("#outbox:visible", timeout=PATIENCE)
    own_server.start()
    shows(page, "320 mV")
    assert page.evaluate("window.loadedOnce")
    assert sorted(logger.kept()) == [0.31, 0.32]


def test_a_page_gets_over_a_frozen_wifi(chromium, own_server, logger):
    page = watched(chromium, own_server)
    os.killpg(own_server.process.pid, signal.SIGSTOP)
    fill(page, 0.41)
    time.sleep(30)  # longer than the page's patience, and than a connection is kept
    os.killpg(own_server.process.pid, signal.SIGCONT)
    shows(page, "410 mV")
    assert page.evaluate("window.loadedOnce")
    assert logger.kept() == [0.41]
