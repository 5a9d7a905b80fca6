"""A stage of spur gears, from one shaft to the next."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.bearings import Bearing
from whirlbench.parts.part import Length, Part, Shift

TeethCount = Annotated[int, Field(ge=6, le=400)]


class GearStage(Part):
    """Two spur gears: a wheel on the shaft towards the rotor, a pinion on the shaft towards the generator.

    Attributes
    ----------
    rotor_teeth, generator_teeth : int
        Teeth of the gear on the rotor's and on the generator's side.
    module : float
        Pitch diameter over teeth [m]; a file may say ``0.5 mm``.
    rotor_shift, generator_shift : float
        Profile shifts in modules [-].
    teeth : str
        Pair of tooth materials in the table of sliding friction.
    centre_distance : float or None
        As built [m]; None is the tight distance.
    bearing : Bearing or None
        What carries the shaft between this stage and the next; None on the last stage.
    """

    kind: Literal["gears"] = "gears"
    rotor_teeth: TeethCount
    generator_teeth: TeethCount
    module: Length
    rotor_shift: Shift = 0.0
    generator_shift: Shift = 0.0
    teeth: str = "pom_pom"
    centre_distance: Length | None = None
    bearing: Bearing | None = None

    @property
    def step_up(self):
        """Turns of the generator's side per turn of the rotor's side [-]."""
        return self.rotor_teeth / self.generator_teeth
