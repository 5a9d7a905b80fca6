"""Back a room up to one file, bring it back, and carry teams in and out."""

import contextlib
import re
import tempfile
from pathlib import Path

from whirlbench.actions import pins
from whirlbench.actions.set_up import Slip
from whirlbench.actions.sign_in import ROOM
from whirlbench.errors import InputError
from whirlbench.store import bundle, clock, room_file, settings, sign_ins, teams

_COPY = re.compile(r"room-before-[0-9TZ-]+\.zip")


@contextlib.contextmanager
def new_file(folder=None, *, name="whirlbench.zip"):
    """Place for a file that is taken away again where it could not be written to its end."""
    with _told():
        folder = Path(tempfile.mkdtemp(prefix="whirlbench-") if folder is None else folder)
        place = folder / name
        try:
            with place.open("xb") as file:
                yield file
        except BaseException:
            place.unlink(missing_ok=True)
            raise


def room_out(store, file):
    """Write the whole room to a file."""
    with _told(), store.looking() as session:
        room_file.pack(session, ROOM, file)


def room_in(store, file, *, copy=True):
    """Put the room of a file in the place of this one; path of the copy of this one that was made first."""
    kept = _copy(store) if copy else None
    with _told(), store.writing() as session:
        room_file.unpack(session, ROOM, file)
    return kept


def first_room(store, file):
    """Bring a room back where none is set up yet; secret of the coach's sign-in."""
    with store.writing() as session:
        if "pin" in settings.load(session, ROOM) or teams.every(session):
            raise InputError("room", "a room with something in it", "an empty one", try_="sign in as its coach")
        room_file.unpack(session, ROOM, file)
        return sign_ins.add(session, None)


def team_out(store, number, file):
    """Write everything of a team to a file; its name."""
    with _told(), store.looking() as session:
        team = teams.numbered(session, number)
        bundle.pack(session, team, file)
        return team.name


def team_in(store, file, *, name=""):
    """Make a team from its bundle; its slip with a new PIN."""
    pin = pins.made()
    hashed = pins.hashed(pin)
    with store.writing() as session:
        team = bundle.unpack(session, file, name=name.strip() or None)
        team.pin = hashed
        session.flush()
        return Slip(number=team.id, team=team.name, pin=pin)


def copies_folder(store):
    """Folder of the copies: beside the store's own file, or in the user's own data folder."""
    import platformdirs

    own = Path(store.place)
    return (
        own.parent if own.is_file() else platformdirs.user_data_path("whirlbench", appauthor=False, ensure_exists=True)
    )


def copy_named(store, name):
    """Path of a copy, or None where there is no such one."""
    place = copies_folder(store) / name
    return place if _COPY.fullmatch(name) and place.is_file() else None


def _copy(store):
    moment = clock.now().replace(":", "").replace(".", "")
    with new_file(copies_folder(store), name=f"room-before-{moment}.zip") as file:
        room_out(store, file)
    return Path(file.name)


@contextlib.contextmanager
def _told():
    try:
        yield
    except OSError as error:
        got = f"a place that cannot be written ({error.strerror})"
        raise InputError("backup", got, "free space and the right to write", try_="make room on the disk") from None
