"""The tower and the joint at its foot."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.part import Angle, Density, DoubtfulJoint, Length, Mass, Offset, Part, Stiffness


class Pipe(Part):
    """A schedule 40 PVC pipe by its nominal size.

    Attributes
    ----------
    nominal : str
        Row of the table of pipes, such as ``1-1/4 in``.
    """

    kind: Literal["pvc pipe"] = "pvc pipe"
    nominal: str


class Tube(Part):
    """Any round tube or pole.

    Attributes
    ----------
    outer_diameter, inner_diameter : float
        [m]; inner 0 for a solid pole.
    modulus : float
        Young's modulus [Pa].
    density : float
        [kg/m^3].
    strength : float or None
        Stress at which it yields or breaks [Pa]; without it no bending safety can be told.
    """

    kind: Literal["tube"] = "tube"
    outer_diameter: Length
    inner_diameter: Offset = 0.0
    modulus: Stiffness
    density: Density
    strength: Stiffness | None = None


class Tower(Part):
    """A tube, how high the rotor axis stands, and how it is held at the foot.

    Attributes
    ----------
    tube : Pipe or Tube
        The tube.
    height : float
        Foot joint to rotor axis [m].
    top_mass : float
        Nacelle, generator and rotor together [kg].
    joint : str
        ``dry`` (pushed in), ``glued`` or ``clamped`` (no give).
    joint_stiffness : Value or None
        Measured, from a known sideways pull [N*m/rad].
    free_play : float
        Rattle of the joint, angle to either side [rad].
    """

    tube: Annotated[Pipe | Tube, Field(discriminator="kind")]
    height: Length
    top_mass: Mass
    joint: Literal["dry", "glued", "clamped"] = "dry"
    joint_stiffness: DoubtfulJoint | None = None
    free_play: Angle = 0.0
