"""Who is here: whose page is open now, and since when; somebody who comes back soon was never away."""

from datetime import UTC, datetime, timedelta

_SOON = timedelta(minutes=10)


class Presence:
    """The people whose pages are open.

    Parameters
    ----------
    clock : callable
        Moment of now, with its time zone.
    """

    def __init__(self, clock=lambda: datetime.now(UTC)):
        self._clock, self._pages = clock, {}

    def comes(self, person):
        """Note that somebody opened a page."""
        now = self._clock()
        known = self._pages.get(person.id)
        if known is None or (not known["open"] and now - known["left"] > _SOON):
            known = {"since": now, "open": 0}
        self._pages[person.id] = known | {"person": person, "open": known["open"] + 1, "left": now}

    def goes(self, person):
        """Note that somebody closed a page."""
        now = self._clock()
        if person.id in self._pages:
            known = self._pages[person.id]
            self._pages[person.id] = known | {"open": max(known["open"] - 1, 0), "left": now}
        for number, known in list(self._pages.items()):
            if not known["open"] and now - known["left"] > _SOON:
                self._pages.pop(number, None)

    def here(self):
        """First name, or empty, and since when, of everybody of each team."""
        found = {}
        for known in list(self._pages.values()):
            if known["open"] and not known["person"].coach:
                found.setdefault(known["person"].team_id, []).append((known["person"].name, known["since"]))
        return found
