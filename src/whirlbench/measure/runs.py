"""Runs of a test as a table of labels and one outcome, ready to be compared."""

import re
from dataclasses import dataclass, field

from whirlbench.errors import InputError, UnknownKey, nearest

_NUMBER = re.compile(r"[+-]?\d+\.?\d*")


@dataclass(frozen=True)
class Runs:
    """Runs in the order in which they were taken.

    Attributes
    ----------
    outcomes : tuple of float
        What each run gave, in ``unit``.
    labels : dict of str to tuple of str
        For each factor, the level of every run.
    levels : dict of str to tuple of str
        For each factor its levels, the starting one first; worked out where left empty.
    blocks : tuple of str
        Block or pair of every run; empty where there are none.
    unit : str
        SI unit of the outcomes.
    """

    outcomes: tuple
    labels: dict
    levels: dict = field(default_factory=dict)
    blocks: tuple = ()
    unit: str = "W"

    def __post_init__(self):
        """Check that every column is as long as the others, and put the levels in order."""
        columns = {**self.labels, "blocks": self.blocks or self.outcomes}
        for name, column in columns.items():
            if len(column) != len(self.outcomes):
                needs = f"{len(self.outcomes)}, one for each run"
                raise InputError(name, f"{len(column)} labels", needs, try_="leave no cell of the column empty")
        known = {name: self.levels.get(name) or in_order(column) for name, column in self.labels.items()}
        object.__setattr__(self, "levels", known)

    @property
    def columns(self):
        """Labels of all factors, one tuple a factor."""
        return tuple(self.labels.values())

    @property
    def names(self):
        """Names of the factors."""
        return tuple(self.labels)

    def starting_at(self, level):
        """Same runs with one level made the starting one.

        Parameters
        ----------
        level : str
            A level of one of the factors.

        Returns
        -------
        Runs
            The runs.

        Raises
        ------
        UnknownKey
            No such level.
        """
        known = [one for levels in self.levels.values() for one in levels]
        if level not in known:
            raise UnknownKey("start", f"'{level}'", "a setting of these runs", try_=nearest(level, known))
        levels = {
            name: tuple(sorted(each, key=lambda one: one != level)) if level in each else each
            for name, each in self.levels.items()
        }
        return Runs(self.outcomes, self.labels, levels, self.blocks, self.unit)


def in_order(labels):
    """Different labels by their first number, then by the alphabet.

    Parameters
    ----------
    labels : iterable of str
        With repeats.

    Returns
    -------
    tuple of str
        Each once: ``8 deg`` stands before ``12 deg``.
    """

    def place(label):
        number = _NUMBER.search(label)
        return (0, float(number[0]), label) if number else (1, 0.0, label)

    return tuple(sorted(set(labels), key=place))
