"""What the tests of the page share: a furnished room of invented teams, browsers, a real server."""

import contextlib
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from importlib import resources
from pathlib import Path

from starlette.testclient import TestClient

from whirlbench.actions import keep, room, teams
from whirlbench.parts.files import read_bin, read_event, read_turbine

HOST = "testserver"
PATIENCE = 120_000  # [ms] that a page may take on a busy machine
COACH_PIN, TEAM_PIN = "407193", "806425"
TEAMS = ("Team Kittiwake", "Team Petrel")
EXAMPLES = resources.files("whirlbench") / "examples"
CHROMIUM_FLAGS = [
    *("--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"),
]


def furnish(store):
    """Set up a room with event, bin and two teams, of which the first has kept the starter turbine."""
    room.set_up(store, "Gullwick Harbour Turbine Trials", COACH_PIN)
    room.choose_event(store, read_event(EXAMPLES / "event.toml"))
    room.choose_bin(store, "Harbour bin", read_bin(EXAMPLES / "parts-bin.toml"))
    for name in TEAMS:
        teams.add(store, name)
    for one in room.room(store).teams:
        room.give_pin(store, one.number, TEAM_PIN)
    keep.keep(store, TEAMS[0], read_turbine(EXAMPLES / "starter.toml"))


class Browser(TestClient):
    """A client that behaves as a browser does: it sends its origin, and the mark of its forms."""

    def __init__(self, app, **more):
        super().__init__(app, base_url=f"http://{HOST}", headers={"origin": f"http://{HOST}"}, **more)

    def submit(self, place, fields=None, *, page=None, **more):
        """Send a form as the page that holds it would."""
        return self.post(place, data={**(fields or {}), "mark": self.mark(page or "/")}, **more)

    def mark(self, page="/"):
        """Mark that the forms of this browser carry."""
        return re.search(r'data-mark="([0-9a-f]*)"', self.get(page).text)[1]


def of_team(app, number):
    """Browser of somebody of a team."""
    browser = Browser(app)
    answer = browser.post("/", data={"team": number, "pin": TEAM_PIN, "name": "Robin"}, follow_redirects=False)
    assert answer.status_code == 303
    return browser


class Server:
    """A server in a process of its own, as ``whirlbench serve`` starts it.

    Attributes
    ----------
    address : str
        Where it answers.
    process : subprocess.Popen
        The process, to be stopped, frozen or killed.
    said : Path
        File of what it prints.
    """

    def __init__(self, place):
        self.place, self.said = place, Path(place).with_suffix(".said")
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.address, self.process = f"http://localhost:{self.port}", None

    def start(self):
        """Start it and wait until it answers."""
        code = "from whirlbench.cli.main import run; run()"
        words = ("serve", "--port", str(self.port), "--only-here", "--no-browser", "--store", str(self.place))
        with self.said.open("wb") as said:
            self.process = subprocess.Popen([sys.executable, "-c", code, *words], stdout=said, start_new_session=True)
        for _ in range(600):
            with contextlib.suppress(OSError), urllib.request.urlopen(f"{self.address}/ping", timeout=5):
                return self
            assert self.process.poll() is None, "the server ended by itself"
            time.sleep(0.1)
        raise TimeoutError

    @property
    def set_up_address(self):
        """Address with the key for who sets the room up, as the server prints it."""
        return re.search(r"http://\S+/setup\?key=\S+", self.said.read_text(encoding="utf-8"))[0]

    def kill(self):
        """Kill it with its workers, as a pulled plug does."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


def open_page(chromium, **options):
    """Open a page in a context of its own, as another person's browser, with patience for a busy machine."""
    context = chromium.new_context(**options)
    context.set_default_timeout(PATIENCE)
    return context.new_page()


def enter(page, server, number=1, name="Robin"):
    """Bring a browser page in for a team, or for the coach where the number is None."""
    page.goto(f"{server.address}/coach" if number is None else server.address)
    if number is not None:
        page.select_option("#team", str(number))
        page.fill("#name", name)
    page.fill("#pin", COACH_PIN if number is None else TEAM_PIN)
    page.click("button.main")
    page.wait_for_url("**/room" if number is None else "**/bench*")
