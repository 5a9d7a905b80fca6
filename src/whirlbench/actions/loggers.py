"""The loggers of a team: each carries a secret that is told once and can be ended."""

from whirlbench.actions.report import Report
from whirlbench.errors import InputError, UnknownKey
from whirlbench.store import names, sign_ins, teams

_FIRST = "logger "  # opens the name of a sign-in that a logger carries
_MOST, _LONGEST = 20, 40


class LoggerLine(Report):
    """A logger that may send readings of a team."""

    number: int
    name: str
    at: str


def listed(store, team):
    """Loggers of a team.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.

    Returns
    -------
    tuple of LoggerLine
        The latest first.
    """
    with store.looking() as session:
        return _lines(session, teams.get(session, team))


def let_in(store, team, name):
    """Let a logger in.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    name : str
        What the team calls it.

    Returns
    -------
    str
        The secret that it sends with every reading; the store keeps its hash only.

    Raises
    ------
    InputError
        No name, or too many loggers.
    """
    name = names.checked_name("logger", name)
    if len(name) > _LONGEST:
        raise InputError("logger", f"{len(name)} letters", f"at most {_LONGEST}", try_="write a short name")
    with store.writing() as session:
        whose = teams.get(session, team)
        if len(_lines(session, whose)) >= _MOST:
            raise InputError("logger", f"{_MOST} already", f"at most {_MOST}", try_="end one that is no longer used")
        return sign_ins.add(session, whose, name=f"{_FIRST}{name}")


def end(store, team, number):
    """Let a logger in no longer.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    number : int
        Of the logger.

    Raises
    ------
    UnknownKey
        No such logger of this team.
    """
    with store.writing() as session:
        if number not in {one.number for one in _lines(session, teams.get(session, team))}:
            raise UnknownKey("logger", str(number), "a logger of this team", try_="look at the list")
        sign_ins.end(session, number)


def _lines(session, team):
    return tuple(
        LoggerLine(number=one.id, name=one.name.removeprefix(_FIRST), at=one.at)
        for one in sign_ins.every(session, team)
        if one.name.startswith(_FIRST)
    )
