"""Sign in and out of the room."""

import time
from dataclasses import dataclass, field

from whirlbench.actions import pins
from whirlbench.errors import InputError
from whirlbench.store import settings, sign_ins, teams

ROOM = "room"
_FREE, _FIRST_WAIT, _LONGEST_WAIT, _MOST_WATCHED = 5, 15.0, 900.0, 5000  # tries, [s], [s], keys


@dataclass
class Patience:
    """Counts wrong PINs, so that nobody can try them all; each further one doubles the wait."""

    clock: object = time.monotonic
    _wrong: dict = field(default_factory=dict)

    def ask(self, key):
        """Refuse a further try before its time."""
        wait = self._wrong.get(key, (0, 0.0))[1] - self.clock()
        if wait > 0:
            got, needs = "too many wrong PINs", f"a pause of {wait:.0f} s"
            raise InputError("PIN", got, needs, try_="ask your coach for the PIN meanwhile")

    def wrong(self, key):
        """Count a wrong PIN."""
        tries = self._wrong.pop(key, (0, 0.0))[0] + 1
        wait = min(_FIRST_WAIT * 2.0 ** min(tries - _FREE, 10), _LONGEST_WAIT) if tries >= _FREE else 0.0
        self._wrong[key] = tries, self.clock() + wait
        while len(self._wrong) > _MOST_WATCHED:
            self._wrong.pop(next(iter(self._wrong)))

    def right(self, key):
        """Forget the wrong ones."""
        self._wrong.pop(key, None)


def as_team(store, number, pin, *, name=""):
    """Secret of a new sign-in for a team, or None where the PIN is wrong."""
    with store.looking() as session:
        team = teams.numbered(session, number)
    if not pins.fits(pin, team.pin):
        return None
    with store.writing() as session:
        return sign_ins.add(session, teams.numbered(session, number), name=name)


def as_coach(store, pin, *, name=""):
    """Secret of a new sign-in of the coach, or None where the PIN is wrong."""
    with store.looking() as session:
        kept = settings.load(session, ROOM).get("pin")
    if not pins.fits(pin, kept):
        return None
    with store.writing() as session:
        return sign_ins.add(session, None, name=name)


def who(store, secret):
    """Person who carries a secret, or None."""
    with store.looking() as session:
        return sign_ins.find(session, secret)


def out(store, person):
    """Sign somebody out."""
    with store.writing() as session:
        sign_ins.end(session, person.id)
