"""Set a room up in one go: its name, its coach, its teams with their PINs, its event and its bin."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from importlib import resources

from whirlbench.actions import pins
from whirlbench.actions.report import Report
from whirlbench.actions.sign_in import ROOM
from whirlbench.errors import InputError
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.event import Event
from whirlbench.parts.files import from_text
from whirlbench.parts.turbine import Turbine
from whirlbench.store import names, settings, sign_ins, teams, turbines
from whirlbench.store.shelf import BINS, EVENTS

MOST_TEAMS = 60
STARTER = "Starter turbine"
_MODELS = {"event": Event, "parts-bin": PartsBin, "starter": Turbine}


class Slip(Report):
    """A team's PIN, to be told once."""

    number: int
    team: str
    pin: str


@dataclass(frozen=True)
class Plan:
    """What a room is to be.

    Attributes
    ----------
    name, pin : str
        Of the room, and of its coach.
    teams : tuple of str
        Names of the teams.
    event, parts_bin : tuple of part and str
        Rules and shelves, each with the TOML text that it was read from.
    starter : bool
        Whether every team begins with the starter turbine.
    """

    name: str
    pin: str
    teams: tuple = ()
    event: tuple | None = None
    parts_bin: tuple | None = None
    starter: bool = False


def example(name):
    """Shipped example with its TOML text: ``event``, ``parts-bin`` or ``starter``."""
    text = (resources.files("whirlbench") / "examples" / f"{name}.toml").read_text(encoding="utf-8")
    return from_text(_MODELS[name], text, where=f"{name}.toml"), text


def team_names(text):
    """Names of teams from lines of text; no two alike."""
    found = [names.checked_name("team", line) for line in text.splitlines() if line.strip()]
    if len(found) > MOST_TEAMS:
        raise InputError("teams", f"{len(found)} lines", f"at most {MOST_TEAMS}", try_="split the room in two")
    seen = set()
    for name in found:
        if names.key(name) in seen:
            raise InputError("teams", f"'{name}' twice", "different names", try_="add a colour or an animal")
        seen.add(names.key(name))
    return tuple(found)


def set_up(store, plan):
    """Make the room; secret of the coach's sign-in, and the slips of the teams."""
    coach = pins.hashed(pins.checked(plan.pin))
    secrets = _made(len(plan.teams))
    with store.writing() as session:
        if "pin" in settings.load(session, ROOM):
            raise InputError("room", "a room that is set up", "a new one", try_="sign in as its coach")
        kept = {"name": names.checked_name("room", plan.name), "pin": coach}
        if plan.event:
            event, text = plan.event
            kept["event"] = EVENTS.keep(session, event.name, event, text=text).name
        if plan.parts_bin:
            parts_bin, text = plan.parts_bin
            kept["bin"] = BINS.keep(session, parts_bin.name, parts_bin, text=text).name
        settings.keep(session, ROOM, **kept)
        slips = _add(session, plan.teams, secrets, starter=plan.starter)
        return sign_ins.add(session, None), slips


def add_teams(store, wanted, *, starter=False):
    """Add teams to a room; their slips."""
    secrets = _made(len(wanted))
    with store.writing() as session:
        if len(teams.every(session)) + len(wanted) > MOST_TEAMS:
            got = f"more than {MOST_TEAMS} teams"
            raise InputError("teams", got, f"at most {MOST_TEAMS}", try_="split the room in two")
        return _add(session, wanted, secrets, starter=starter)


def new_pins(store, numbers):
    """Give teams new PINs and sign out whoever came in by an old one; their slips."""
    secrets = _made(len(numbers))
    with store.writing() as session:
        slips = []
        for number, (pin, hashed) in zip(numbers, secrets, strict=True):
            team = teams.numbered(session, number)
            team.pin = hashed
            sign_ins.end_all(session, team)
            slips.append(Slip(number=team.id, team=team.name, pin=pin))
        return tuple(slips)


def _made(count):
    """New PINs and what is kept of them; hashing is slow on purpose, so it is done before the store is held."""
    made = [pins.made() for _ in range(count)]
    with ThreadPoolExecutor(2) as pool:
        return list(zip(made, pool.map(pins.hashed, made), strict=True))


def _add(session, wanted, secrets, *, starter):
    turbine = example("starter")[0].changed(name=STARTER, note="") if starter else None
    slips = []
    for name, (pin, hashed) in zip(wanted, secrets, strict=True):
        team = teams.add(session, name)
        team.pin = hashed
        session.flush()
        if turbine:
            turbines.keep(session, team, turbine, author="coach")
        slips.append(Slip(number=team.id, team=team.name, pin=pin))
    return tuple(slips)
