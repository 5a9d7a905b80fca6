"""Readings of a team that were taken with a turbine as it stands in its file."""

import json
from dataclasses import asdict, replace
from pathlib import Path

from whirlbench.errors import InputError
from whirlbench.parts import plain
from whirlbench.store import readings, teams, turbines


def taken_with(store, team, turbine):
    """Readings that were taken with exactly this turbine.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose they are.
    turbine : Turbine
        As its file says.

    Returns
    -------
    tuple of Reading
        Oldest first; ``row`` is the reading's number in the store.

    Raises
    ------
    InputError
        No such team or turbine, a turbine that changed since it was kept, or no reading of it.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        same = _without_folder(turbine)
        versions = [one for one in turbines.history(session, whose, turbine.name) if one.turbine == same]
        entries = (one for kept in versions for one in readings.every(session, whose, turbine_version_id=kept.id))
        found = tuple(replace(entry.reading, row=entry.id) for entry in entries)
    if not versions:
        got, needs = f"'{turbine.name}' as it never was kept", "a version that was kept and read"
        raise InputError("turbine", got, needs, try_=f"keep it with --team '{whose.name}', then log its readings")
    if not found:
        needs = "one or more, logged with this version"
        raise InputError("readings", "none", needs, try_=f"log them with --turbine '{turbine.name}'")
    return found


def readings_text(store, team, name, text):
    """Readings that were taken with a turbine as it was kept, to be sent to a worker process.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose they are.
    name : str
        Of the turbine.
    text : str
        Its canonical JSON as it was kept.

    Returns
    -------
    str
        JSON list of the fields of each ``Reading``, oldest first; an empty list where there is none.

    Raises
    ------
    InputError
        No such team or turbine.
    """
    return json.dumps([asdict(one) for one in _read_with(store, team, name, text)])


def powers_read(store, team, name, text):
    """Power in each wind that was read with a turbine as it was kept, for the dots of a chart.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose they are.
    name : str
        Of the turbine.
    text : str
        Its canonical JSON as it was kept.

    Returns
    -------
    list of dict
        ``wind_speed_m_s`` and ``electrical_power_W``, oldest first.

    Raises
    ------
    InputError
        No such team or turbine.
    """
    found = ((one.wind_speed, one.power) for one in _read_with(store, team, name, text))
    return [{"wind_speed_m_s": w, "electrical_power_W": p} for w, p in found if w is not None and p is not None]


def _read_with(store, team, name, text):
    with store.looking() as session:
        whose = teams.get(session, team)
        same = [one.id for one in turbines.history(session, whose, name) if plain.text_of(one.turbine) == text]
        entries = (one for kept in same for one in readings.every(session, whose, turbine_version_id=kept))
        return [replace(entry.reading, row=entry.id) for entry in entries]


def _without_folder(turbine):
    """The turbine as a store holds it: an own polar is named without its folder."""
    section = turbine.rotor.section
    if section.kind != "own polar":
        return turbine
    return turbine.changed(rotor=turbine.rotor.changed(section=section.changed(file=Path(section.file).name)))
