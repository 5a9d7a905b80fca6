"""What the room is set to: one value under each name."""

from sqlalchemy import delete, select

from whirlbench.store.schema import Setting


def load(session, name):
    """Value of a setting.

    Parameters
    ----------
    session : Session
        A transaction.
    name : str
        Which setting.

    Returns
    -------
    dict
        As it was kept; empty where it never was.
    """
    found = session.scalar(select(Setting).where(Setting.name == name))
    return dict(found.value) if found else {}


def keep(session, name, /, **value):
    """Set something; what is not named stays as it is.

    Parameters
    ----------
    session : Session
        A writing transaction.
    name : str
        Which setting.
    **value
        Anything that JSON can hold.
    """
    found = session.scalar(select(Setting).where(Setting.name == name))
    if found is None:
        session.add(Setting(name=name, value=value))
    else:
        found.value = found.value | value
    session.flush()


def forget(session):
    """Set the room to nothing.

    Parameters
    ----------
    session : Session
        A writing transaction.
    """
    session.execute(delete(Setting))
