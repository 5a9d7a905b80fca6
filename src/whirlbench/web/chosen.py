"""The turbine that the address of a page names: ``?turbine=...&version=...``; without them what was kept last."""

from dataclasses import dataclass
from urllib.parse import urlencode

from fastapi import HTTPException

from whirlbench.actions.kept_turbine import KeptTurbine, kept_turbine


@dataclass(frozen=True)
class Chosen:
    """A turbine and the address under which it is chosen.

    Attributes
    ----------
    kept : KeptTurbine
        The version.
    """

    kept: KeptTurbine

    @property
    def plain(self):
        """What a worker is given."""
        return [self.kept.text, self.kept.files]

    @property
    def query(self):
        """The choice as a query of an address."""
        return urlencode({"turbine": self.kept.turbine, "version": self.kept.number})

    def version(self, visit, number):
        """Another version of the same turbine."""
        return Chosen(kept_turbine(visit.store, visit.team, self.kept.turbine, _number(number)))


def chosen(visit):
    """Chosen turbine of a visit, or None where the team has kept none."""
    asked = visit.request.query_params
    number = asked.get("version")
    kept = kept_turbine(visit.store, visit.team, asked.get("turbine") or None, _number(number) if number else None)
    return Chosen(kept) if kept else None


def _number(text):
    """Number from an address."""
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise HTTPException(404)
    return int(text)
