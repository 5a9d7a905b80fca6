"""Take back what a team did last."""

from whirlbench.actions.history import ChangeLine, change_line
from whirlbench.actions.report import Report
from whirlbench.store import changes, teams


class UndoReport(Report):
    """Answer of ``undo``."""

    team: str
    undone: ChangeLine


def undo(store, team, *, change=None, author=""):
    """Take back a change; the versions that it brought stay in the history.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.
    change : int, optional
        Which change; without it the last that still holds.
    author : str
        First name, or empty.

    Returns
    -------
    UndoReport
        The change that was taken back.

    Raises
    ------
    InputError
        No such team, or nothing to take back.
    Conflict
        A later change built on this one.
    """
    with store.writing() as session:
        whose = teams.get(session, team)
        done = changes.undo(session, whose, change_id=change, author=author)
    return UndoReport(team=whose.name, undone=change_line(done))
