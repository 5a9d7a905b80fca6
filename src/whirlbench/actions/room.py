"""The room: set it up, name its event and bin, let teams in."""

from whirlbench.actions import pins
from whirlbench.actions.report import Report
from whirlbench.actions.sign_in import ROOM
from whirlbench.errors import InputError
from whirlbench.parts import plain
from whirlbench.store import names, settings, sign_ins, teams
from whirlbench.store.shelf import BINS, EVENTS


class DoorLine(Report):
    """A team at the door."""

    number: int
    team: str
    open: bool


class RoomReport(Report):
    """What everybody may know of the room."""

    name: str
    ready: bool
    event: str | None
    parts_bin: str | None
    teams: tuple[DoorLine, ...]


def room(store):
    """The room as its door shows it."""
    with store.looking() as session:
        kept = settings.load(session, ROOM)
        lines = [DoorLine(number=one.id, team=one.name, open=one.pin is not None) for one in teams.every(session)]
    return RoomReport(
        name=kept.get("name", ""),
        ready="pin" in kept,
        event=kept.get("event"),
        parts_bin=kept.get("bin"),
        teams=tuple(lines),
    )


def set_up(store, name, pin):
    """Name the room and give it its coach's PIN, once; secret of the coach's sign-in."""
    pin = pins.checked(pin)
    with store.writing() as session:
        if "pin" in settings.load(session, ROOM):
            raise InputError("room", "a room that is set up", "a new one", try_="sign in as its coach")
        settings.keep(session, ROOM, name=names.checked_name("room", name), pin=pins.hashed(pin))
        return sign_ins.add(session, None)


def change_coach_pin(store, pin):
    """Give the coach another PIN, and sign out whoever came in by the old one; secret of the new sign-in."""
    pin = pins.checked(pin)
    with store.writing() as session:
        settings.keep(session, ROOM, pin=pins.hashed(pin))
        sign_ins.end_all(session, None)
        return sign_ins.add(session, None)


def rename(store, name):
    """Give the room another name."""
    with store.writing() as session:
        settings.keep(session, ROOM, name=names.checked_name("room", name))


def give_pin(store, number, pin=None):
    """Give a team a PIN and sign out whoever came in by an old one; the PIN, to be told once."""
    pin = pins.made() if pin is None else pins.checked(pin)
    with store.writing() as session:
        team = teams.numbered(session, number)
        team.pin = pins.hashed(pin)
        sign_ins.end_all(session, team)
    return pin


def choose_event(store, event, *, text="", author=""):
    """Keep an event's rules, and make them those of the room."""
    with store.writing() as session:
        EVENTS.keep(session, event.name, event, text=text, author=author)
        settings.keep(session, ROOM, event=event.name)


def choose_bin(store, name, parts_bin, *, text="", author=""):
    """Keep a parts bin, and make it that of the room."""
    with store.writing() as session:
        saved = BINS.keep(session, name, parts_bin, text=text, author=author)
        settings.keep(session, ROOM, bin=saved.name)


def event_of(store):
    """Rules of the room's event, or None."""
    with store.looking() as session:
        name = settings.load(session, ROOM).get("event")
        return EVENTS.load(session, name) if name else None


def event_text(store):
    """Canonical JSON of the room's event, to be sent to a worker; empty where there is none."""
    found = event_of(store)
    return plain.text_of(found) if found else ""


def bin_of(store):
    """Parts bin of the room, or None."""
    with store.looking() as session:
        name = settings.load(session, ROOM).get("bin")
        return BINS.load(session, name) if name else None


def texts(store):
    """TOML texts of the room's event and bin; empty where none was chosen."""
    with store.looking() as session:
        kept = settings.load(session, ROOM)
        event = EVENTS.text(session, kept["event"]) if "event" in kept else ""
        return event, BINS.text(session, kept["bin"]) if "bin" in kept else ""


def team_name(store, number):
    """Name of a team by its number."""
    with store.looking() as session:
        return teams.numbered(session, number).name
