"""Readings for a command: from a file, or those that a team logged with the turbine."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench.errors import InputError

ReadingsFile = Annotated[
    Path | None, typer.Argument(metavar="READINGS", help="CSV file of readings at the fan.", show_default=False)
]
TeamName = Annotated[
    str | None,
    typer.Option("--team", metavar="TEAM", help="Take what the team logged with this turbine.", show_default=False),
]


def readings(path, team, place, *, turbine):
    """Readings from a file, or from the team's store.

    Parameters
    ----------
    path : path or None
        The file.
    team, place : str or None
        Whose readings are wanted, and where the store is.
    turbine : Turbine
        As its file says; the store's readings are those that were taken with exactly this one.

    Returns
    -------
    tuple of Reading
        Of the file or the store.

    Raises
    ------
    InputError
        Neither or both, or nothing that can be read.
    """
    if (path is None) == (team is None):
        got = "nothing" if path is None else "a file and a team"
        raise InputError("readings", got, "a readings file or --team", try_="name one of the two")
    if path:
        from whirlbench.measure.readings import read_readings

        return read_readings(path)
    from whirlbench.actions.taken import taken_with
    from whirlbench.store.store import Store

    with Store(place) as store:
        return taken_with(store, team, turbine)
