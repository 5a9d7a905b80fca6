"""Events of the room: their rules, with every version that was saved."""

from whirlbench.parts import plain
from whirlbench.parts.event import Event
from whirlbench.store import documents

KIND = "event"


def keep(session, event, *, author=""):
    """Save an event under its own name.

    Parameters
    ----------
    session : Session
        A writing transaction.
    event : Event
        The rules.
    author : str
        First name, or empty.

    Returns
    -------
    Saved
        The version that holds now.
    """
    return documents.save(session, None, KIND, event.name, content=plain.text_of(event), author=author)[1]


def load(session, name):
    """Event as it is now.

    Parameters
    ----------
    session : Session
        A transaction.
    name : str
        Of the event.

    Returns
    -------
    Event
        The rules.

    Raises
    ------
    UnknownKey
        No such event.
    """
    return plain.part_of(Event, documents.newest(session, None, KIND, name).content)


def every(session):
    """Events of the room, as they are now.

    Parameters
    ----------
    session : Session
        A transaction.

    Returns
    -------
    tuple of Event
        By name.
    """
    return tuple(plain.part_of(Event, saved.content) for saved in documents.every(session, None, KIND))
