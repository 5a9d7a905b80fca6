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
    effort : str or tuple of str
        Row of the effort table, or rows where several things are done at once.
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
    effort: object
    caution: str = ""
    fresh: tuple = ()

    @property
    def minutes(self):
        """Work in minutes, common practice."""
        return sum(tables.load("moves/effort").find(kind=row).minutes for row in self.rows)

    @property
    def rows(self):
        """Rows of the effort table, one for each thing that is done."""
        return (self.effort,) if isinstance(self.effort, str) else tuple(self.effort)
