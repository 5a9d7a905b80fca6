"""What a shaft runs in."""

from typing import Literal

from pydantic import model_validator

from whirlbench.errors import InputError
from whirlbench.parts.part import DoubtfulTorque, Length, Part, carried


class Bearing(Part):
    """The bearings of one shaft.

    Attributes
    ----------
    kind : str
        What the shaft turns in, or ``measured`` with its friction.
    shaft_diameter : float
        [m].
    friction : Value or None
        Running friction torque of the shaft [N*m] when ``measured``, for example from a spin-down.
    """

    kind: Literal["ball", "acetal bush", "nylon bush", "brass bush", "oiled brass bush", "measured"] = "ball"
    shaft_diameter: Length = 0.006
    friction: DoubtfulTorque | None = None

    @model_validator(mode="after")
    def _measured_means_measured(self):
        if (self.kind == "measured") != (self.friction is not None):
            raise carried(
                InputError(
                    "friction",
                    "nothing" if self.friction is None else "a torque",
                    "a torque for a measured bearing, and only there",
                    try_="set kind = 'measured' and friction = '0.4 mN*m +- 20 %', or take friction out",
                )
            )
        return self
