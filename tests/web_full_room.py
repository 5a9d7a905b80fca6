"""A room after an afternoon's work, all of it invented, and the addresses of its pages."""

import io
import tempfile
from importlib import resources

from PIL import Image, ImageDraw
from web_room import EXAMPLES, TEAMS, furnish

from whirlbench.actions import keep, logbook, photo, plan_order, plans
from whirlbench.actions.log_readings import log_readings
from whirlbench.measure.readings import read_readings
from whirlbench.parts.files import read_turbine

TURBINE = "Team Kittiwake, starter build"
DOORS = ("/", "/coach")
OF_THE_COACH = ("/room", "/room/settings", "/room/backup", "/room/slips", "/room/teams/1", "/api")
OF_A_TEAM = (
    *("/bench", "/bench/start", "/bench/versions", "/explain/power", "/readings", "/readings/row/1"),
    *("/readings/plans", "/readings/plan?name=pitch", "/readings/compare", "/readings/sound", "/readings/trials"),
    *("/readings/trials/open-volts", "/readings/import", "/readings/logger", "/make", "/check"),
    *("/logbook", "/logbook/notes/2", "/no-such-page"),
)


def furnish_fully(store):
    """Furnish a room whose first team has versions, readings, a plan, notes, a decision and a photo."""
    furnish(store)
    team, starter = TEAMS[0], read_turbine(EXAMPLES / "starter.toml")
    with resources.as_file(EXAMPLES / "starter-readings.csv") as place:
        rows = read_readings(place)
    log_readings(store, team, rows, source="fan.csv", turbine=TURBINE, author="Noor")
    plans.keep(store, team, "pitch", plan_order.ordered({"factors": [("pitch", "25 deg, 35 deg")]}), author="Robin")
    keep.keep(store, team, starter.changed(rotor=starter.rotor.changed(pitch="25 deg")), author="Robin")
    about = {"turbine": TURBINE, "version": 2, "why": "", "predicted": ""}
    note = {**about, "kind": "note", "text": "The hub slipped on its shaft. A drop of glue holds it now."}
    logbook.write_note(store, team, note, pictures=[_photo()], author="Noor")
    decided = {"kind": "decision", "text": "Blades set to 25 deg.", "why": "The bench says so.", "predicted": "+2 mW"}
    logbook.write_note(store, team, {**about, **decided}, author="Robin")


def _photo():
    """Picture of an invented rotor before a wall, as a phone would send it."""
    image = Image.new("RGB", (1200, 900), "#d8d2c4")
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 640, 1200, 900), fill="#8b6f4e")
    draw.polygon([(585, 450), (615, 450), (640, 800), (560, 800)], fill="#5d5a55")
    for tip in ((600, 90), (290, 640), (910, 640)):
        draw.line([(600, 450), tip], fill="#0072b2", width=46)
    draw.ellipse((555, 405, 645, 495), fill="#d55e00")
    with tempfile.NamedTemporaryFile(suffix=".jpg") as file:
        content = io.BytesIO()
        image.save(content, "JPEG", quality=80)
        file.write(content.getvalue())
        file.flush()
        return photo.kept_photo(file.name)
