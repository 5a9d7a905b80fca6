"""Runs that a logger sends in pieces: begun once, each piece kept once however often it is sent."""

from whirlbench.actions.report import Report
from whirlbench.errors import Conflict, InputError
from whirlbench.measure.columns import COLUMNS, NUMBERS
from whirlbench.store import documents, runs, teams
from whirlbench.store.turbines import KIND


class BegunReport(Report):
    """Answer to a run that was begun; ``new`` is false where one of this name and moment was there."""

    run: int
    new: bool


class ChunkReport(Report):
    """Answer to a piece of a run; ``new`` is false where it was there."""

    run: int
    number: int
    new: bool
    samples: int


def begin(store, team, name, *, columns, begun_at, turbine=None):
    """Begin a run, or find the one that was begun under this name at this moment.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    name : str
        What the team calls it.
    columns : sequence of str
        Columns of numbers beside ``time``.
    begun_at : str
        As ``clock`` writes it.
    turbine : str, optional
        What stands at the fan: the version of this turbine that holds now.

    Returns
    -------
    BegunReport
        Its number.

    Raises
    ------
    InputError
        A column that is none, or no such turbine.
    """
    unknown = [column for column in columns if column not in NUMBERS]
    if unknown or not columns:
        got = f"'{unknown[0]}'" if unknown else "no column"
        raise InputError("columns", got, "columns of " + ", ".join(NUMBERS), try_="name what the logger measures")
    units = {"time": "s", **{column: COLUMNS[column] for column in columns}}
    with store.writing() as session:
        whose = teams.get(session, team)
        place = {"turbine_version_id": documents.newest(session, whose, KIND, turbine).id} if turbine else {}
        twin = next((one for one in runs.every(session, whose) if (one.name, one.begun_at) == (name, begun_at)), None)
        if twin:
            return BegunReport(run=twin.id, new=False)
        number = runs.begin(session, whose, name, columns=units, begun_at=begun_at, **place)
    return BegunReport(run=number, new=True)


def append(store, team, run, *, number, samples):
    """Keep a piece of a run.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    run : int
        Which run.
    number : int
        1, 2, 3...
    samples : dict of str to list
        Every column of the run, equally long, SI; what was not read is None.

    Returns
    -------
    ChunkReport
        Whether it is new.

    Raises
    ------
    InputError
        A piece out of order, or columns that are not those of the run.
    UnknownKey
        No such run in this team.
    """
    count = max(map(len, samples.values()), default=0)
    try:
        with store.writing() as session:
            runs.append(session, teams.get(session, team), run, number=number, samples=samples)
    except Conflict:
        return ChunkReport(run=run, number=number, new=False, samples=count)
    return ChunkReport(run=run, number=number, new=True, samples=count)
