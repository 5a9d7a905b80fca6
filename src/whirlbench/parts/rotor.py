"""A rotor: a hub, and blades of one kind in some of its holes."""

from typing import Annotated

from pydantic import Field, model_validator

from whirlbench.errors import InputError
from whirlbench.parts.blade import Rod, Shape
from whirlbench.parts.hub import Hub
from whirlbench.parts.part import Angle, Length, Mass, Part, carried
from whirlbench.parts.section import Section


class Rotor(Part):
    """A hub and its blades.

    Attributes
    ----------
    hub : Hub
        The disc with holes.
    holes : tuple of int
        The holes in use, counted from 1 around the rim; one blade each.
    pitch : float
        Angle between the tip's chord and the rotor plane, set at the hub [rad].
    section, shape, rod
        The blade; rod is None where the blade grows out of the hub.
    weighed : tuple of float
        Mass of each blade with its rod as weighed [kg], in the order of ``holes``.
    mass_radius : float or None
        Axis to the balance point of a weighed blade [m].
    """

    hub: Hub
    holes: Annotated[tuple[int, ...], Field(min_length=1, max_length=12)]
    pitch: Angle
    section: Section
    shape: Shape
    rod: Rod | None = None
    weighed: tuple[Mass, ...] = ()
    mass_radius: Length | None = None

    @property
    def blade_count(self):
        """Number of blades."""
        return len(self.holes)

    @property
    def radius(self):
        """Axis to the blade tip [m]."""
        return self.shape.tip_radius

    @model_validator(mode="after")
    def _fits_together(self):
        if len(set(self.holes)) < len(self.holes) or not all(1 <= hole <= self.hub.holes for hole in self.holes):
            raise carried(
                InputError(
                    "holes",
                    str(list(self.holes)),
                    f"different holes from 1 to {self.hub.holes}",
                    try_="number the holes from 1 around the rim and list those that hold a blade",
                )
            )
        if self.shape.inner_radius < self.hub.radius - 1e-9 and self.rod is not None:
            raise carried(
                InputError(
                    "shape > inner_radius",
                    f"{self.shape.inner_radius * 1000:.0f} mm",
                    f"at least the hub radius, {self.hub.radius * 1000:.0f} mm",
                    try_="measure from the axis to where the blade begins",
                )
            )
        if self.weighed and len(self.weighed) != len(self.holes):
            raise carried(
                InputError(
                    "weighed",
                    f"{len(self.weighed)} masses",
                    f"one for each of the {len(self.holes)} blades",
                    try_="weigh every blade with its rod, in the order of holes",
                )
            )
        return self
