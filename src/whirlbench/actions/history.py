"""What a team did, and the versions of its turbines."""

from whirlbench.actions.keep import VersionLine, version_line
from whirlbench.actions.report import Report
from whirlbench.store import changes, teams, turbines


class ChangeLine(Report):
    """One thing that somebody did."""

    change: int
    at: str
    author: str
    verb: str
    subject: str
    count: int
    undoes: int | None
    undone_by: int | None


class HistoryReport(Report):
    """Answer of ``history`` without a turbine."""

    team: str
    changes: tuple[ChangeLine, ...]


class VersionsReport(Report):
    """Answer of ``history`` with a turbine."""

    team: str
    turbine: str
    versions: tuple[VersionLine, ...]


def history(store, team, *, limit=50):
    """What a team did.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.
    limit : int
        At most so many changes.

    Returns
    -------
    HistoryReport
        The newest first.

    Raises
    ------
    InputError
        No such team.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        lines = tuple(change_line(done) for done in changes.history(session, whose, limit=limit))
    return HistoryReport(team=whose.name, changes=lines)


def versions(store, team, turbine):
    """Versions of a turbine, with the differences of each from the one before.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    turbine : str
        Its name.

    Returns
    -------
    VersionsReport
        Oldest first.

    Raises
    ------
    InputError
        No such team or turbine.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        found = turbines.history(session, whose, turbine)
    name = found[-1].turbine.name
    return VersionsReport(team=whose.name, turbine=name, versions=tuple(version_line(one) for one in found))


def change_line(done):
    """Line of a change.

    Parameters
    ----------
    done : Done
        From the store.

    Returns
    -------
    ChangeLine
        The same for a person or a program.
    """
    return ChangeLine(change=done.id, **{name: value for name, value in vars(done).items() if name != "id"})
