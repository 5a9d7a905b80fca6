"""One change that the room can make to a turbine."""

from dataclasses import dataclass

from whirlbench import tables


@dataclass(frozen=True)
class Move:
    """One change.

    Attributes
    ----------
    family : str
        Moves of one family are steps on one scale; the best of them stands for all.
    part : str
        Part group: rotor, drivetrain, generator, load or tower.
    change : str
        In plain words.
    before, after : str
        What it is now and what it becomes.
    turbine : Turbine
        The turbine after the change.
    effort : str
        Row of the effort table.
    caution : str
        What to mind first; empty where nothing is special.
    fresh : tuple of str
        Factors that the change replaces by new, unread ones.
    """

    family: str
    part: str
    change: str
    before: str
    after: str
    turbine: object
    effort: str
    caution: str = ""
    fresh: tuple = ()

    @property
    def minutes(self):
        """Work in minutes, common practice."""
        return tables.load("moves/effort").find(kind=self.effort).minutes
