"""Who is signed in: a browser or logger carries a secret, the store only its hash."""

import hashlib
import secrets
from dataclasses import dataclass

from sqlalchemy import delete, func, select

from whirlbench.store import clock, names
from whirlbench.store.schema import SignIn, Team


@dataclass(frozen=True)
class Person:
    """Somebody who is signed in.

    Attributes
    ----------
    id : int
        Number of the sign-in.
    team_id : int or None
        Their team; None for the coach.
    team : str or None
        Its name.
    name : str
        First name that was typed, or empty.
    at : str
        Since when, UTC, ISO 8601.
    """

    id: int
    team_id: int | None
    team: str | None
    name: str
    at: str

    @property
    def coach(self):
        """Whether it is the coach."""
        return self.team_id is None


def add(session, team, *, name=""):
    """Let somebody in.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team or None
        Their team; None for the coach.
    name : str
        First name, or empty.

    Returns
    -------
    str
        The secret that they carry from now on; the store keeps its hash only.
    """
    secret = secrets.token_urlsafe(32)
    name = names.checked_text("name", name).strip()[:80]
    session.add(SignIn(mark=_mark(secret), team_id=team.id if team else None, name=name, at=clock.now()))
    session.flush()
    return secret


def find(session, secret):
    """Person who carries a secret.

    Parameters
    ----------
    session : Session
        A transaction.
    secret : str
        Anything that a browser may send.

    Returns
    -------
    Person or None
        None where nobody carries it.
    """
    found = select(SignIn, Team.name).outerjoin(Team, Team.id == SignIn.team_id).where(SignIn.mark == _mark(secret))
    row = session.execute(found).first()
    return _person(*row) if row else None


def every(session, team):
    """Everybody who is signed in for a team.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team or None
        The team; None for the coach.

    Returns
    -------
    tuple of Person
        The latest first.
    """
    whose = SignIn.team_id == team.id if team else SignIn.team_id.is_(None)
    rows = select(SignIn, Team.name).outerjoin(Team, Team.id == SignIn.team_id).where(whose).order_by(SignIn.id.desc())
    return tuple(_person(*row) for row in session.execute(rows))


def counts(session):
    """How many browsers are signed in for each team.

    Parameters
    ----------
    session : Session
        A transaction.

    Returns
    -------
    dict of int to int
        By the team's number; a team that nobody is signed in for is left out.
    """
    return dict(session.execute(select(SignIn.team_id, func.count()).group_by(SignIn.team_id)).all())


def end(session, number):
    """Sign somebody out.

    Parameters
    ----------
    session : Session
        A writing transaction.
    number : int
        Of the sign-in.
    """
    session.execute(delete(SignIn).where(SignIn.id == number))


def end_all(session, team):
    """Sign out everybody of a team, as after a new PIN.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team or None
        The team; None for the coach.
    """
    session.execute(delete(SignIn).where(SignIn.team_id == team.id if team else SignIn.team_id.is_(None)))


def _person(row, team):
    return Person(row.id, row.team_id, team, row.name, row.at)


def _mark(secret):
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
