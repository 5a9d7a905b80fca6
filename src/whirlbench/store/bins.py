"""Parts bins of the room, with every version that was saved."""

from whirlbench.parts import plain
from whirlbench.parts.bin import PartsBin
from whirlbench.store import documents

KIND = "bin"


def keep(session, name, parts_bin, *, author=""):
    """Save a parts bin.

    Parameters
    ----------
    session : Session
        A writing transaction.
    name : str
        What the room calls it.
    parts_bin : PartsBin
        What there is.
    author : str
        First name, or empty.

    Returns
    -------
    Saved
        The version that holds now.
    """
    return documents.save(session, None, KIND, name, content=plain.text_of(parts_bin), author=author)[1]


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
