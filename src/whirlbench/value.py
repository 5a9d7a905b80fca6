"""A number with its doubt and where it came from."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Value:
    """A number, one standard deviation of doubt, and its source.

    Attributes
    ----------
    number : float
        Best estimate, SI.
    sigma : float
        Standard uncertainty, same unit; 0 for an exact number.
    source : str
        Where the number came from: a table, a bench test, ``common practice``, ``from memory``.
    """

    number: float
    sigma: float = 0.0
    source: str = "given"

    @property
    def relative(self):
        """Standard uncertainty as a fraction of the number [-]."""
        return abs(self.sigma / self.number) if self.number else 0.0
