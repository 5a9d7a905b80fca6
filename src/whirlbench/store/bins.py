"""Parts bins of the room, with every version that was saved."""

from whirlbench.parts import plain, written
from whirlbench.parts.bin import PartsBin
from whirlbench.store import documents

KIND = "bin"
_TOML = "bin.toml"


def keep(session, name, parts_bin, *, text="", author=""):
    """Save a parts bin.

    Parameters
    ----------
    session : Session
        A writing transaction.
    name : str
        What the room calls it.
    parts_bin : PartsBin
        What there is.
    text : str
        The TOML text that it was read from, with its comments.
    author : str
        First name, or empty.

    Returns
    -------
    Saved
        The version that holds now.
    """
    files = {_TOML: text} if text else {}
    return documents.save(session, None, KIND, name, content=plain.text_of(parts_bin), files=files, author=author)[1]


def load(session, name):
    """Parts bin as it is now.

    Parameters
    ----------
    session : Session
        A transaction.
    name : str
        What the room calls it.

    Returns
    -------
    PartsBin
        What there is.

    Raises
    ------
    UnknownKey
        No such bin.
    """
    return plain.part_of(PartsBin, documents.newest(session, None, KIND, name).content)


def text(session, name):
    """TOML text of a parts bin.

    Parameters
    ----------
    session : Session
        A transaction.
    name : str
        What the room calls it.

    Returns
    -------
    str
        As it was written, or made from the parts where no text was kept.

    Raises
    ------
    UnknownKey
        No such bin.
    """
    saved = documents.newest(session, None, KIND, name)
    return saved.files.get(_TOML) or written.text_of(plain.part_of(PartsBin, saved.content))


def names(session):
    """Names of the bins of the room.

    Parameters
    ----------
    session : Session
        A transaction.

    Returns
    -------
    tuple of str
        In order.
    """
    return tuple(saved.name for saved in documents.every(session, None, KIND))
