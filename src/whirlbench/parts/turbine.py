"""The whole turbine in its wind."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.air import Air
from whirlbench.parts.base import Base
from whirlbench.parts.bearings import Bearing
from whirlbench.parts.belts import BeltStage
from whirlbench.parts.gears import GearStage
from whirlbench.parts.generator import Generator
from whirlbench.parts.load import Load
from whirlbench.parts.part import Part
from whirlbench.parts.rotor import Rotor
from whirlbench.parts.tower import Tower
from whirlbench.parts.tunnel import Wind

Stage = Annotated[GearStage | BeltStage, Field(discriminator="kind")]


class Turbine(Part):
    """Everything from the wind to the load.

    Attributes
    ----------
    name : str
        What the team calls it.
    note : str
        Anything worth keeping.
    air, wind
        The room and its wind.
    rotor, bearing, drivetrain, generator, load
        From the wind to the meter; an empty drivetrain is direct drive.
    tower, base
        What holds it up.
    """

    format: Literal[1] = 1
    name: str
    note: str = ""
    air: Air = Air()
    wind: Wind
    rotor: Rotor
    bearing: Bearing = Bearing()
    drivetrain: Annotated[tuple[Stage, ...], Field(max_length=4)] = ()
    generator: Generator
    load: Load
    tower: Tower
    base: Base
