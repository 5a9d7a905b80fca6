"""Slips of paper with PINs: they can be read for a few minutes by the coach who made them, then by nobody."""

import time

_MINUTES = 10
_MOST = 20


class Slips:
    """PINs that were made just now, in the memory of this process only.

    Parameters
    ----------
    clock : callable
        Seconds that never run back.
    """

    def __init__(self, clock=time.monotonic):
        self._clock, self._made = clock, {}

    def put(self, person, slips, *, coach_pin=""):
        """Keep slips for the sign-in that made them; older ones of the same go."""
        self._forget()
        self._made[person.id] = self._clock(), tuple(slips), coach_pin

    def of(self, person):
        """Slips and the coach's PIN of a sign-in; nothing once their time is over."""
        self._forget()
        _, slips, coach_pin = self._made.get(person.id, (0, (), ""))
        return slips, coach_pin

    def _forget(self):
        now = self._clock()
        late = [key for key, (then, *_) in list(self._made.items()) if now - then > 60 * _MINUTES]
        for key in [*late, *list(self._made)[: -_MOST or None]]:
            self._made.pop(key, None)
