"""What changed in the room since a number: the news that pages are told."""

from whirlbench.actions.report import Report
from whirlbench.store import changes


class NewsLine(Report):
    """One change, as it is told to those whom it concerns."""

    n: int
    team_id: int | None
    at: str
    author: str
    verb: str
    subject: str


def last(store):
    """Number of the newest change."""
    with store.looking() as session:
        return changes.last(session)


def after(store, number, *, limit=500):
    """Changes newer than a number, the oldest first."""
    with store.looking() as session:
        return tuple(
            NewsLine(n=one.id, team_id=one.team_id, at=one.at, author=one.author, verb=one.verb, subject=one.subject)
            for one in changes.after(session, number, limit=limit)
        )
