"""The shape of one blade and the rod that carries it."""

import itertools
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from whirlbench.errors import InputError
from whirlbench.parts.part import Angle, Length, Offset, Part, carried


class Straight(Part):
    """Straight edges: chord and twist run evenly from root to tip.

    Attributes
    ----------
    inner_radius, tip_radius : float
        Axis to the inner end and to the tip of the blade [m].
    root_chord, tip_chord : float
        [m].
    twist : float
        Angle at the inner end less the angle at the tip [rad].
    """

    kind: Literal["straight"] = "straight"
    inner_radius: Length
    tip_radius: Length
    root_chord: Length
    tip_chord: Length
    twist: Angle = 0.0

    @model_validator(mode="after")
    def _outward(self):
        if self.tip_radius <= self.inner_radius:
            raise carried(_not_outward("tip_radius", self.inner_radius, self.tip_radius))
        return self


class Station(Part):
    """Chord and twist at one radius.

    Attributes
    ----------
    radius, chord : float
        [m].
    twist : float
        Angle here less the angle at the tip [rad].
    """

    radius: Length
    chord: Length
    twist: Angle = 0.0


class Curved(Part):
    """Chord and twist at any number of stations, inner end first, tip last.

    Attributes
    ----------
    stations : tuple of Station
        Two or more, radius rising.
    """

    kind: Literal["stations"] = "stations"
    stations: Annotated[tuple[Station, ...], Field(min_length=2)]

    @model_validator(mode="after")
    def _outward(self):
        for inner, outer in itertools.pairwise(self.stations):
            if outer.radius <= inner.radius:
                raise carried(_not_outward("stations", inner.radius, outer.radius))
        return self

    @property
    def inner_radius(self):
        """Axis to the inner end of the blade [m]."""
        return self.stations[0].radius

    @property
    def tip_radius(self):
        """Axis to the tip [m]."""
        return self.stations[-1].radius


class Rod(Part):
    """A round rod that carries the blade from a hole in the hub.

    Attributes
    ----------
    diameter : float
        [m].
    material : str
        Name in the table of densities.
    socket_depth : float
        Depth of the rod in the hub [m].
    faired : bool
        The bare length is covered by a fairing, so it drags a third of a bare rod.
    """

    diameter: Length
    material: str = "birch"
    socket_depth: Offset = 0.015
    faired: bool = False


def outline(shape, radius):
    """Chord and twist of a blade at given radii.

    Parameters
    ----------
    shape : Straight or Curved
        The blade's shape.
    radius : array, shape (m,)
        Radii from the axis [m].

    Returns
    -------
    tuple of array, shape (m,)
        Chord [m] and twist [rad].
    """
    if shape.kind == "straight":
        share = (radius - shape.inner_radius) / (shape.tip_radius - shape.inner_radius)
        return shape.root_chord + share * (shape.tip_chord - shape.root_chord), shape.twist * (1 - share)
    known = [station.radius for station in shape.stations]
    chord = np.interp(radius, known, [station.chord for station in shape.stations])
    return chord, np.interp(radius, known, [station.twist for station in shape.stations])


Shape = Annotated[Straight | Curved, Field(discriminator="kind")]


def _not_outward(field, inner, outer):
    return InputError(
        field,
        f"{outer * 1000:.0f} mm outside {inner * 1000:.0f} mm",
        "radii that grow from the inner end to the tip",
        try_="measure every radius from the axis, not from the hub",
    )
