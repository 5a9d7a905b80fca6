"""What a solid says of a part's mass beside what the turbine's file says, and what to do where they differ."""

from dataclasses import dataclass

_SAME = 0.1  # prints of one file differ by as much: common practice


@dataclass(frozen=True)
class Weighing:
    """One part weighed twice on paper.

    Attributes
    ----------
    part : str
        What it is.
    solid, told : float
        Mass by the solid, and by the turbine's file [kg].
    remedy : str
        What to change in the file where both differ.
    """

    part: str
    solid: float
    told: float
    remedy: str

    @property
    def apart(self):
        """How much heavier the solid is than the file says, as a share of the latter [-]."""
        return self.solid / self.told - 1.0

    @property
    def agrees(self):
        """Whether both are as near as two prints of one file."""
        return abs(self.apart) <= _SAME

    @property
    def sentence(self):
        """Both masses, and what to do."""
        both = f"{self.part}: {1e3 * self.solid:.1f} g by its solid, {1e3 * self.told:.1f} g by the turbine's file"
        if self.agrees:
            return f"{both}. They agree; weigh the real one all the same."
        word = "heavier" if self.apart > 0 else "lighter"
        return f"{both}: the solid is {100 * abs(self.apart):.0f} % {word}. {self.remedy}"
