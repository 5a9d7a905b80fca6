"""A turbine that came from outside as text: read, and predicted in a worker."""

import json

from whirlbench.actions.report import Report
from whirlbench.errors import InputError
from whirlbench.parts import plain
from whirlbench.parts.files import from_text
from whirlbench.parts.turbine import Turbine
from whirlbench.value import Value

_HUGE = 1e12


class KeptLine(Report):
    """A turbine of a team, as it is now."""

    turbine: str
    version: int
    at: str


class TeamReport(Report):
    """A team and what it has kept."""

    number: int
    team: str
    created_at: str
    turbines: tuple[KeptLine, ...]
    readings: int


class TurbineReport(Report):
    """One version of a turbine: as a TOML file, and as plain values in SI units."""

    turbine: str
    version: int
    at: str
    author: str
    versions: int
    toml: str
    parts: dict


def team(store, number):
    """A team and what it has kept."""
    from whirlbench.store import readings, teams, turbines

    with store.looking() as session:
        found = teams.numbered(session, number)
        return TeamReport(
            number=found.id,
            team=found.name,
            created_at=found.created_at,
            turbines=tuple(
                KeptLine(turbine=one.turbine.name, version=one.number, at=one.at)
                for one in turbines.every(session, found)
            ),
            readings=readings.count(session, found),
        )


def turbine(store, number, name, *, version=None):
    """One version of a turbine of a team; without a version the one that holds now."""
    from whirlbench.parts.written import text_of
    from whirlbench.store import teams, turbines

    with store.looking() as session:
        found = turbines.history(session, teams.numbered(session, number), name)
    if version is not None and not 1 <= version <= len(found):
        needs = f"version 1 to {len(found)}"
        raise InputError(name, f"version {version}", needs, try_="name one of these versions")
    one = found[-1 if version is None else version - 1]
    return TurbineReport(
        turbine=one.turbine.name,
        version=one.number,
        at=one.at,
        author=one.author,
        versions=len(found),
        toml=text_of(one.turbine),
        parts=json.loads(plain.text_of(one.turbine)),
    )


def read(text, *, as_json):
    """Canonical JSON of a turbine from its TOML file, or from plain values; it may lean on no file of this computer."""
    if as_json:
        try:
            _check_plain(json.loads(text, parse_constant=_refused))
            found = plain.part_of(Turbine, text, where="turbine")
        except (ValueError, RecursionError, TypeError):
            raise InputError(
                "turbine", "no JSON", "an object", try_="compare with the answer about a turbine"
            ) from None
    else:
        found = from_text(Turbine, text, where="turbine")
    if found.rotor.section.kind == "own polar":
        got, needs = "own polar, which names a file", "a section without a file of its own"
        raise InputError("turbine > rotor > section > kind", got, needs, try_="keep the turbine, or name an airfoil")
    try:
        return plain.text_of(found)
    except ValueError:
        raise InputError("turbine", "a number without end", "finite numbers", try_="check its numbers") from None


def _refused(constant):
    raise ValueError(constant)


def _check_plain(found):
    """What the parts do not look into: halves of characters, and a number with its doubt, which only programs make."""
    if isinstance(found, str):
        found.encode()
    if isinstance(found, dict) and set(found) == set(Value.__dataclass_fields__):
        numbers = found["number"], found["sigma"]
        plain_ones = all(type(one) in (int, float) and abs(one) < _HUGE for one in numbers)
        if not (plain_ones and found["sigma"] >= 0 and isinstance(found["source"], str)):
            raise ValueError("a doubt that is none")
    for one in found.values() if isinstance(found, dict) else found if isinstance(found, list) else ():
        _check_plain(one)


def predict(text, wind_speeds, pushed, *, tick=lambda stage, share: None, cancelled=lambda: False):
    """Prediction of a turbine from its canonical JSON; heavy, for a worker."""
    from whirlbench.actions.predict import predict as act

    count = max(len(wind_speeds), 1)

    def told(done):
        tick("predicting", done / count)

    return act(plain.part_of(Turbine, text, where="turbine"), wind_speeds, pushed=pushed, tick=told)
