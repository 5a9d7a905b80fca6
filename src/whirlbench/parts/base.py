"""The base that keeps the tower from sliding and tipping."""

from whirlbench.parts.part import DoubtfulFraction, Length, Mass, Part


class Base(Part):
    """A base on a surface.

    Attributes
    ----------
    width : float
        Full width along the wind [m].
    height : float
        Floor or table to the tower's foot joint [m].
    mass : float
        Of the base alone [kg].
    ballast : float
        Added mass [kg].
    surface : str
        Row of the table of base friction.
    friction : Value or None
        Measured by a tilt test [-].
    held : bool
        Clamped or screwed to the table: it can neither slide nor tip.
    """

    width: Length
    height: Length = 0.05
    mass: Mass
    ballast: Mass = 0.0
    surface: str = "plywood on laminate table"
    friction: DoubtfulFraction | None = None
    held: bool = False
