"""Teams of the room."""

from sqlalchemy import delete, select

from whirlbench.errors import InputError, UnknownKey, nearest
from whirlbench.store import clock, names
from whirlbench.store.schema import Team


def add(session, name):
    """New team.

    Parameters
    ----------
    session : Session
        A writing transaction.
    name : str
        As the team writes it.

    Returns
    -------
    Team
        With its number.

    Raises
    ------
    InputError
        No name, or one that another team has.
    """
    name = names.checked_name("team", name)
    if _found(session, name):
        raise InputError("team", f"'{name}', which is here already", "a new name", try_="add a colour or an animal")
    team = Team(name=name, key=names.key(name), created_at=clock.now())
    session.add(team)
    session.flush()
    return team


def get(session, name):
    """Team of a name.

    Parameters
    ----------
    session : Session
        A transaction.
    name : str
        Capitals and spaces around it do not matter.

    Returns
    -------
    Team
        The team.

    Raises
    ------
    UnknownKey
        No such team; says the nearest.
    """
    team = _found(session, names.checked_name("team", name))
    if team is None:
        known = [each.name for each in every(session)]
        try_ = nearest(name, known) if known else f"make it: whirlbench team add '{name}'"
        raise UnknownKey("team", f"'{name}'", "a team of this store", try_=try_)
    return team


def numbered(session, number):
    """Team of a number.

    Parameters
    ----------
    session : Session
        A transaction.
    number : int
        Of the team.

    Returns
    -------
    Team
        The team.

    Raises
    ------
    UnknownKey
        No such team.
    """
    team = session.get(Team, number) if 0 < number < 2**63 else None
    if team is None:
        raise UnknownKey("team", str(number), "a team of this room", try_="ask for the list of teams")
    return team


def every(session):
    """All teams.

    Parameters
    ----------
    session : Session
        A transaction.

    Returns
    -------
    list of Team
        By name.
    """
    return session.scalars(select(Team).order_by(Team.key)).all()


def rename(session, team, name):
    """Give a team another name.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        The team.
    name : str
        As the team writes it.

    Raises
    ------
    InputError
        No name, or one that another team has.
    """
    name = names.checked_name("team", name)
    other = _found(session, name)
    if other is not None and other.id != team.id:
        raise InputError("team", f"'{name}', which is here already", "a new name", try_="add a colour or an animal")
    team.name, team.key = name, names.key(name)
    session.flush()


def remove(session, team):
    """Delete a team with everything it ever saved.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        The team.
    """
    session.execute(delete(Team).where(Team.id == team.id))


def _found(session, name):
    return session.scalar(select(Team).where(Team.key == names.key(name)))
