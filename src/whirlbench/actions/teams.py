"""Teams of the room: add, list, give a PIN, remove."""

from whirlbench.actions import pins
from whirlbench.actions.report import Report
from whirlbench.errors import InputError
from whirlbench.store import readings, sign_ins, teams, turbines


class TeamLine(Report):
    """One team and what it has kept."""

    team: str
    created_at: str
    turbines: tuple[str, ...]
    readings: int


class TeamsReport(Report):
    """Answer of ``team``."""

    teams: tuple[TeamLine, ...]


class PinReport(Report):
    """Answer of ``team pin``."""

    team: str
    pin: str


def add(store, name):
    """Add a team.

    Parameters
    ----------
    store : Store
        The room's store.
    name : str
        As the team writes it.

    Returns
    -------
    TeamsReport
        The new team alone.

    Raises
    ------
    InputError
        No name, or one that another team has.
    """
    with store.writing() as session:
        return TeamsReport(teams=(_line(session, teams.add(session, name)),))


def listed(store):
    """All teams with what they have kept.

    Parameters
    ----------
    store : Store
        The room's store.

    Returns
    -------
    TeamsReport
        By name.
    """
    with store.looking() as session:
        return TeamsReport(teams=tuple(_line(session, team) for team in teams.every(session)))


def remove(store, name, *, sure=False):
    """Delete a team with everything it ever saved.

    Parameters
    ----------
    store : Store
        The room's store.
    name : str
        Of the team.
    sure : bool
        Must be true.

    Returns
    -------
    TeamsReport
        What is gone.

    Raises
    ------
    InputError
        No such team, or not sure.
    """
    with store.writing() as session:
        team = teams.get(session, name)
        line = _line(session, team)
        if not sure:
            got = f"a team with {len(line.turbines)} turbines and {line.readings} readings"
            needs = "a yes, because none of them comes back"
            raise InputError(team.name, got, needs, try_="keep a bundle first, then say it again with --yes")
        teams.remove(session, team)
    return TeamsReport(teams=(line,))


def give_pin(store, name, pin=None):
    """Give a team a PIN for the page, and sign out whoever came in by an old one.

    Parameters
    ----------
    store : Store
        The room's store.
    name : str
        Of the team.
    pin : str, optional
        4 to 12 digits; without it one is made.

    Returns
    -------
    PinReport
        The PIN, to be told once.

    Raises
    ------
    InputError
        No such team, or a PIN that will not do.
    """
    pin = pins.made() if pin is None else pins.checked(pin)
    hashed = pins.hashed(pin)
    with store.writing() as session:
        team = teams.get(session, name)
        team.pin = hashed
        sign_ins.end_all(session, team)
        return PinReport(team=team.name, pin=pin)


def _line(session, team):
    return TeamLine(
        team=team.name,
        created_at=team.created_at,
        turbines=tuple(one.turbine.name for one in turbines.every(session, team)),
        readings=readings.count(session, team),
    )
