"""Test plans of a team; the record of a plan is the readings that name it."""

import json

from whirlbench.parts import plain
from whirlbench.store import documents, readings

KIND = "plan"


def keep(session, team, name, *, plan, author=""):
    """Save a plan.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    name : str
        What the team calls it.
    plan : dict
        Anything that JSON can hold.
    author : str
        First name, or empty.

    Returns
    -------
    Saved
        The version that holds now.
    """
    return documents.save(session, team, KIND, name, content=plain.text_of(plan), author=author)[1]


def load(session, team, name):
    """Plan as it is now.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    name : str
        Of the plan.

    Returns
    -------
    dict
        As it was kept.

    Raises
    ------
    UnknownKey
        No such plan.
    """
    return json.loads(documents.newest(session, team, KIND, name).content)


def record(session, team, name):
    """Readings that were taken for a plan.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    name : str
        Of the plan.

    Returns
    -------
    tuple of Entry
        In the order of the plan's rows, repeats in the order of entry.

    Raises
    ------
    UnknownKey
        No such plan.
    """
    document = documents.find(session, team, KIND, name)
    found = readings.every(session, team, plan_id=document.id)
    return tuple(sorted(found, key=lambda entry: (entry.plan_row is None, entry.plan_row or 0)))
