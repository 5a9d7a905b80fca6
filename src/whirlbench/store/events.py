"""Events of the room: their rules, with every version that was saved."""

from whirlbench.parts import plain, written
from whirlbench.parts.event import Event
from whirlbench.store import documents

KIND = "event"
_TOML = "event.toml"


def keep(session, event, *, text="", author=""):
    """Save an event under its own name.

    Parameters
    ----------
    session : Session
        A writing transaction.
    event : Event
        The rules.
    text : str
        The TOML text that they were read from, with its comments.
    author : str
        First name, or empty.

    Returns
    -------
    Saved
        The version that holds now.
    """
    files = {_TOML: text} if text else {}
    return documents.save(session, None, KIND, event.name, content=plain.text_of(event), files=files, author=author)[1]


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


def text(session, name):
    """TOML text of an event.

    Parameters
    ----------
    session : Session
        A transaction.
    name : str
        Of the event.

    Returns
    -------
    str
        As it was written, or made from the rules where no text was kept.

    Raises
    ------
    UnknownKey
        No such event.
    """
    saved = documents.newest(session, None, KIND, name)
    return saved.files.get(_TOML) or written.text_of(plain.part_of(Event, saved.content))


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
