"""The generator: from the catalogue, from bench tests, or wound by hand; and the diodes behind it."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.part import (
    DoubtfulEmfConstant,
    DoubtfulResistance,
    DoubtfulTorque,
    Inertia,
    Length,
    Mass,
    Part,
    Resistance,
    ViscousFriction,
)


class Rectifier(Part):
    """Diodes between the winding and the load.

    Attributes
    ----------
    diodes : str
        Row of the table of rectifier drops.
    in_path : int
        Diodes that the current passes: 2 for a bridge, 1 for a blocking diode.
    capacitor : bool
        A large capacitor stands behind the diodes.
    """

    diodes: Literal["silicon", "schottky"] = "schottky"
    in_path: Literal[1, 2] = 2
    capacitor: bool = False


class CatalogueGenerator(Part):
    """A motor of the shipped catalogue.

    Attributes
    ----------
    type : str
        Name in the catalogue.
    rectifier : Rectifier or None
        Diodes behind it.
    """

    kind: Literal["catalogue"] = "catalogue"
    type: str
    rectifier: Rectifier | None = None


class MeasuredGenerator(Part):
    """A generator known from bench tests.

    Attributes
    ----------
    name : str
        What the team calls it.
    emf_constant : Value
        Open-circuit volts per shaft speed [V*s/rad]; a file may say ``1.5 V/krpm +- 5 %``.
    resistance : Value
        From open and loaded volts [ohm].
    friction, breakaway : Value
        Running and breakaway torque [N*m].
    viscous : float
        Friction that grows with speed [N*m*s/rad].
    inertia : float
        Of its rotor [kg*m^2].
    mass : float
        [kg].
    current : str
        ``dc`` or ``ac`` (then the constant is the peak).
    rectifier : Rectifier or None
        Diodes behind it.
    """

    kind: Literal["measured"] = "measured"
    name: str = "measured generator"
    emf_constant: DoubtfulEmfConstant
    resistance: DoubtfulResistance
    friction: DoubtfulTorque
    breakaway: DoubtfulTorque
    viscous: ViscousFriction = 0.0
    inertia: Inertia = 1e-6
    mass: Mass = 0.05
    current: Literal["dc", "ac"] = "dc"
    rectifier: Rectifier | None = None


class WoundGenerator(Part):
    """Coils without iron around turning magnets.

    Attributes
    ----------
    name : str
        What the team calls it.
    magnet : str
        ``diametric cylinder`` (size: diameter, length) or ``block`` (size along the magnetisation, then the others).
    grade : str
        Row of the table of magnet grades.
    size : tuple of float
        Two or three lengths [m].
    coils_in_series, turns : int
        Coils in series and turns of each.
    gauge : int
        Wire gauge (AWG).
    coil_inner_radius, coil_outer_radius : float
        Winding window [m].
    distance_near, distance_far : float
        Axis to the near and far face of the winding [m].
    friction, breakaway : Value
        Running and breakaway torque of its shaft [N*m].
    inertia, mass : float
        Of its rotor [kg*m^2], of the whole [kg].
    extra_resistance : float
        Leads and joints [ohm].
    rectifier : Rectifier or None
        Diodes behind it.
    """

    kind: Literal["wound"] = "wound"
    name: str = "hand-wound generator"
    magnet: Literal["diametric cylinder", "block"] = "diametric cylinder"
    grade: str = "N42"
    size: Annotated[tuple[Length, ...], Field(min_length=2, max_length=3)]
    coils_in_series: Annotated[int, Field(ge=1, le=12)] = 1
    turns: Annotated[int, Field(ge=1, le=20000)]
    gauge: Annotated[int, Field(ge=16, le=44)]
    coil_inner_radius: Length
    coil_outer_radius: Length
    distance_near: Length
    distance_far: Length
    friction: DoubtfulTorque
    breakaway: DoubtfulTorque
    inertia: Inertia = 1e-5
    extra_resistance: Resistance = 0.0
    mass: Mass = 0.1
    rectifier: Rectifier | None = None


Generator = Annotated[CatalogueGenerator | MeasuredGenerator | WoundGenerator, Field(discriminator="kind")]
