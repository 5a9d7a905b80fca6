"""A class at the page: sixty browsers on one laptop, each moving a slider every two seconds, and all at once.

Run: python benchmarks/room.py [--minutes 10] [--clients 60]; the server and the clients share this machine's cores.

Each client is signed in for a team of its own, holds the live-news socket, moves one of four sliders of the workbench
to a place that others may have tried or not, and now and then opens another page or writes a reading. Times are from
asking to the last byte. Memory is the proportional share of every process of the server, as the kernel tells it.
"""

import argparse
import asyncio
import contextlib
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
from importlib import resources
from pathlib import Path
from urllib.parse import urlencode

import httpx2
import numpy as np
import websockets

from whirlbench.actions import keep, room, teams
from whirlbench.parts.files import read_bin, read_event, read_turbine
from whirlbench.store.store import Store

EXAMPLES = resources.files("whirlbench") / "examples"
PIN = "806425"
SLIDERS = {
    "rotor.pitch": lambda draw: f"{draw.randrange(10, 90) / 2:g} deg",
    "load.resistance": lambda draw: f"{draw.randrange(5, 120)} ohm",
    "rotor.shape.root_chord": lambda draw: f"{draw.randrange(30, 90)} mm",
    "rotor.shape.tip_radius": lambda draw: f"{draw.randrange(180, 320)} mm",
}
PAGES = ("readings", "logbook", "bench/versions")
ANSWER, PAGE, WRITE = "change to answer", "another page", "reading written"


def furnish(place, count):
    """A room of so many teams, each with the geared turbine; a PIN's hash is made once, for time."""
    with Store(place) as store:
        room.set_up(store, "Gullwick Harbour Turbine Trials", "407193")
        room.choose_event(store, read_event(EXAMPLES / "event.toml"))
        room.choose_bin(store, "Harbour bin", read_bin(EXAMPLES / "parts-bin.toml"))
        turbine = read_turbine(EXAMPLES / "geared.toml")
        for number in range(1, count + 1):
            teams.add(store, f"Team {number}")
            room.give_pin(store, number, PIN)
            keep.keep(store, f"Team {number}", turbine)
    return turbine.name


@contextlib.contextmanager
def serving(place):
    """A server in a process of its own."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = ("serve", "--port", str(port), "--only-here", "--no-browser", "--store", str(place))
    code = "from whirlbench.cli.main import run; run()"
    process = subprocess.Popen([sys.executable, "-c", code, *words], start_new_session=True, stdout=subprocess.DEVNULL)
    try:
        for _ in range(300):
            with contextlib.suppress(httpx2.HTTPError):
                if httpx2.get(f"http://localhost:{port}/ping").status_code == 200:
                    break
            time.sleep(0.1)
        yield f"http://localhost:{port}", process.pid
    finally:
        os.killpg(process.pid, signal.SIGINT)
        process.wait(20)


def memory(pid):
    """Proportional set size of a process and all below it [MB]."""
    total, waiting = 0.0, [pid]
    while waiting:
        one = waiting.pop()
        with contextlib.suppress(OSError):
            waiting += map(int, Path(f"/proc/{one}/task/{one}/children").read_text().split())
            lines = Path(f"/proc/{one}/smaps_rollup").read_text().splitlines()
            total += next(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024
    return total


class Client:
    """One browser's worth of asking."""

    def __init__(self, address, number, turbine, seen):
        self.address, self.number, self.turbine, self.seen = address, number, turbine, seen
        self.draw = random.Random(number)
        self.http = httpx2.AsyncClient(base_url=address, headers={"origin": address}, timeout=30)
        self.mark = ""

    async def enter(self):
        """Sign in and open the bench."""
        await self.http.post("/", data={"team": self.number, "pin": PIN, "name": "Robin"})
        text = (await self.http.get(f"/teams/{self.number}/bench")).text
        self.mark = text.split('data-mark="')[1].split('"')[0]

    async def listen(self):
        """Hold the live-news socket as a page does."""
        cookie = "; ".join(f"{one.name}={one.value}" for one in self.http.cookies.jar)
        place = f"{self.address.replace('http', 'ws')}/live?after=-1"
        async with websockets.connect(place, additional_headers={"Cookie": cookie}, origin=self.address) as told:
            async for _ in told:
                self.seen.setdefault("news", []).append(0.0)

    async def move(self):
        """Move a slider."""
        name = self.draw.choice(list(SLIDERS))
        query = urlencode({"turbine": self.turbine, name: SLIDERS[name](self.draw)})
        await self._timed(ANSWER, self.http.get(f"/teams/{self.number}/bench/answer?{query}"))

    async def look(self):
        """Open another page."""
        await self._timed(PAGE, self.http.get(f"/teams/{self.number}/{self.draw.choice(PAGES)}"))

    async def write(self):
        """Write a reading as a logger does."""
        reading = {"wind_speed_m_s": 4.5, "load_resistance_ohm": 22.0, "voltage_V": round(self.draw.random(), 3)}
        place, headers = f"/api/v1/teams/{self.number}/readings", {"x-mark": self.mark}
        await self._timed(WRITE, self.http.post(place, json=reading, headers=headers))

    async def _timed(self, what, asked):
        begun = time.perf_counter()
        try:
            answer = await asked
            wrong = "" if answer.status_code < 300 else f"{answer.status_code} {answer.text[:80]!r}"
        except httpx2.HTTPError as error:
            wrong = type(error).__name__
        if wrong:
            self.seen.setdefault("errors", []).append(f"{what}: {wrong}")
        else:
            self.seen.setdefault(what, []).append(time.perf_counter() - begun)


async def class_at_work(client, end, every):
    """Move a slider every so often; one time in ten open a page, one in forty write a reading."""
    await asyncio.sleep(client.draw.random() * every)
    while time.monotonic() < end:
        begun = time.monotonic()
        await client.move()
        if client.draw.random() < 0.1:
            await client.look()
        if client.draw.random() < 0.025:
            await client.write()
        await asyncio.sleep(max(0.0, every * client.draw.uniform(0.8, 1.2) - (time.monotonic() - begun)))


async def run(address, pid, turbine, asked):
    """The calm class, then everybody dragging at once."""
    for title, minutes, every in (
        (f"{asked.clients} browsers, a change every 2 s each, {asked.minutes:g} min", asked.minutes, 2.0),
        (f"{asked.clients} browsers, all dragging at once, {asked.minutes / 10:g} min", asked.minutes / 10, 0.15),
    ):
        seen = {}
        clients = [Client(address, number, turbine, seen) for number in range(1, asked.clients + 1)]
        for client in clients:
            await client.enter()
        sockets = [asyncio.create_task(client.listen()) for client in clients]
        end, peak = time.monotonic() + 60 * minutes, 0.0
        work = [asyncio.create_task(class_at_work(client, end, every)) for client in clients]
        while time.monotonic() < end:
            await asyncio.sleep(1.0)
            peak = max(peak, memory(pid))
        await asyncio.gather(*work)
        for one in sockets:
            one.cancel()
        tell(title, seen, peak)


def tell(title, seen, peak):
    """Print one phase."""
    print(f"\n{title}; load average {os.getloadavg()[0]:.1f}\n")
    print("| | count | p50 ms | p95 ms | worst ms |\n|---|---|---|---|---|")
    for what in (ANSWER, PAGE, WRITE):
        if times := seen.get(what):
            middle, most, worst = 1e3 * np.quantile(times, (0.5, 0.95, 1.0))
            print(f"| {what} | {len(times)} | {middle:.0f} | {most:.0f} | {worst:.0f} |")
    errors = seen.get("errors", [])
    print(f"\nErrors: {len(errors)}. News heard: {len(seen.get('news', []))}. Memory at most {peak:.0f} MB.")
    for one in sorted(set(errors))[:10]:
        print(f"  {errors.count(one)} times {one}")


def main():
    """Serve a furnished room, and send it a class."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--minutes", type=float, default=10.0)
    ask.add_argument("--clients", type=int, default=60)
    asked = ask.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        turbine = furnish(Path(folder) / "room.db", asked.clients)
        with serving(Path(folder) / "room.db") as (address, pid):
            asyncio.run(run(address, pid, turbine, asked))


if __name__ == "__main__":
    main()
