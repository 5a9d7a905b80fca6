"""The hub: a disc with holes for the blades' rods."""

from typing import Annotated

from pydantic import Field

from whirlbench.parts.part import Length, Mass, Part


class Hub(Part):
    """A disc with evenly spaced holes.

    Attributes
    ----------
    holes : int
        Number of holes, 2 to 24.
    radius : float
        Axis to the rim [m].
    mass : float
        [kg].
    """

    holes: Annotated[int, Field(ge=2, le=24)] = 12
    radius: Length
    mass: Mass = 0.05
