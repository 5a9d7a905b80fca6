"""Take docs/pictures/page/*.png and write docs/page.md: every page of an invented room, light and dark.

python docs/make_screenshots.py            (needs the packages of the tests, and Chromium)
python docs/make_screenshots.py bench make   takes these alone
"""

import io
import os
import shutil
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from web_full_room import furnish_fully
from web_room import CHROMIUM_FLAGS, Server, enter

from whirlbench.store.store import Store

HERE = Path(__file__).parent
PICTURES, PAGE = HERE / "pictures" / "page", HERE / "page.md"
WIDTHS = {"phone": 390, "laptop": 1366}
TALLEST, WIDEST = 2000, 960  # pixels
COLOURS, MOST_BYTES = (32, 24, 16), 60_000
SHOTS = {  # name: address, who (None: nobody, 0: coach, else the team), words
    "door": ("/", None, "The door: choose the team, type its PIN."),
    "room": ("/room", 0, "The coach's room: address and code to scan, every team at a glance."),
    "settings": ("/room/settings", 0, "Settings of the room: name, PIN, event, parts bin."),
    "backup": ("/room/backup", 0, "Backup and restore in one click."),
    "api": ("/api", 0, "Doors for loggers and spreadsheets."),
    "start": ("/teams/2/bench/start", 2, "A team without a turbine begins with a shipped one or its own file."),
    "bench": ("/teams/1/bench", 1, "The bench: what the turbine does now, drawn to scale; every part can be changed."),
    "moves": ("/teams/1/bench/moves", 1, "What holds the turbine back, and the next moves in watts."),
    "versions": ("/teams/1/bench/versions", 1, "Versions with what differs."),
    "explain": ("/teams/1/explain/power", 1, "A number opened: plain words, formula, inputs, source."),
    "readings": ("/teams/1/readings", 1, "Readings: big fields at the fan, and a table that two people share."),
    "plan": ("/teams/1/readings/plan?name=pitch", 1, "A plan, run by run."),
    "compare": ("/teams/1/readings/compare", 1, "Two builds compared fairly."),
    "sound": ("/teams/1/readings/sound", 1, "Rotor speed from a sound recording."),
    "trials": ("/teams/1/readings/trials", 1, "Short trials that pin one property down."),
    "import": ("/teams/1/readings/import", 1, "A spreadsheet is brought in."),
    "logger": ("/teams/1/readings/logger", 1, "A logger is connected."),
    "make": ("/teams/1/make", 1, "Make: every part with its files."),
    "check": ("/teams/1/check", 1, "Check: rules, hazards, strength."),
    "logbook": ("/teams/1/logbook", 1, "Logbook: notes, photos, decisions and versions on one line of time."),
}


def small(content):
    """PNG of a picture with few colours, cut at the tallest that a page of docs should hold."""
    image = Image.open(io.BytesIO(content)).convert("RGB")
    image = image.crop((0, 0, image.width, min(image.height, TALLEST)))
    if image.width > WIDEST:
        image = image.resize((WIDEST, round(image.height * WIDEST / image.width)), Image.Resampling.LANCZOS)
    for colours in COLOURS:
        few = image.quantize(colours, method=Image.Quantize.MAXCOVERAGE, kmeans=2, dither=Image.Dither.NONE)
        written = io.BytesIO()
        few.save(written, "PNG", optimize=True)
        if written.tell() < MOST_BYTES:
            break
    return written.getvalue()


def take(browser, server, names):
    """Pictures with their file names; each page is opened once and looked at in every way."""
    for who in (None, 0, 1, 2):
        wanted = {name: SHOTS[name][0] for name in names if SHOTS[name][1] == who}
        page = browser.new_page()
        page.set_default_timeout(180_000)
        if wanted and who is not None:
            enter(page, server, number=who or None)
        for name, address in wanted.items():
            page.goto(server.address + address)
            _settle(page)
            for width, pixels in WIDTHS.items():
                for colours in ("light", "dark"):
                    yield f"{name}-{width}-{colours}.png", small(_picture(page, pixels, colours))
        page.close()


def _picture(page, width, colours):
    """Picture of a page in a window as tall as the page, so that what sticks to the window's edge stands at its end."""
    page.emulate_media(color_scheme=colours)
    page.set_viewport_size({"width": width, "height": 700})
    page.wait_for_timeout(300)
    height = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": width, "height": min(height, TALLEST)})
    page.wait_for_timeout(300)
    return page.screenshot(animations="disabled")


def _settle(page):
    """Wait until charts, moves and pictures stand there."""
    page.wait_for_load_state("networkidle")
    page.locator(".working").wait_for(state="detached")
    for one in page.locator("[data-chart]:visible").all():
        one.locator("svg").first.wait_for()
    for one in page.locator("img[loading=lazy]").all():
        one.scroll_into_view_if_needed()
    page.wait_for_timeout(1000)  # the bands of the bench come last
    page.evaluate("document.activeElement.blur(); scrollTo(0, 0)")


def page_of_pictures():
    """Text of docs/page.md."""
    lines = ["# The page", "", "What `whirlbench serve` shows, with invented data of an invented room. These pictures"]
    lines += ["are made by `docs/make_screenshots.py`.", ""]
    for name, (_, _, words) in SHOTS.items():
        lines += [f"## {name.capitalize()}", "", words, ""]
        for colours in ("light", "dark"):
            found = (f"pictures/page/{name}-{width}-{colours}.png" for width in WIDTHS)
            lines += [" ".join(f"![{name}, {place.split('-')[1]}, {colours}]({place})" for place in found), ""]
    return "\n".join(lines).rstrip() + "\n"


if __name__ == "__main__":
    PICTURES.mkdir(parents=True, exist_ok=True)
    found = os.environ.get("WHIRLBENCH_CHROMIUM") or shutil.which("chromium")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        place = Path(folder) / "room.db"
        with Store(place) as store:
            furnish_fully(store)
        server = Server(place).start()
        browser = playwright.chromium.launch(executable_path=found, args=CHROMIUM_FLAGS)
        try:
            for name, content in take(browser, server, sys.argv[1:] or SHOTS):
                (PICTURES / name).write_bytes(content)
                print(name, f"{len(content) / 1000:.0f} kB", flush=True)
        finally:
            browser.close()
            server.kill()
    PAGE.write_text(page_of_pictures(), encoding="utf-8")
