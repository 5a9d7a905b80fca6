"""The parts bin: what the room really has to build from."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.gears import TeethCount
from whirlbench.parts.generator import Generator
from whirlbench.parts.load import FreeLoad, Leds
from whirlbench.parts.part import Fraction, Length, Mass, Offset, Part, Resistance, Shift
from whirlbench.parts.tower import Pipe, Tube

Count = Annotated[int, Field(ge=1, le=1000)]


class Gear(Part):
    """Gears of one kind.

    Attributes
    ----------
    teeth : int
        Number of teeth.
    module : float
        Pitch diameter over teeth [m].
    shift : float
        Profile shift in modules [-].
    material : str
        Tooth material: pom, nylon, pla, steel, brass, acrylic or wood.
    count : int
        How many there are.
    """

    teeth: TeethCount
    module: Length
    shift: Shift = 0.0
    material: Literal["pom", "nylon", "pla", "steel", "brass", "acrylic", "wood"] = "pom"
    count: Count = 1


class Pulley(Part):
    """Pulleys of one kind.

    Attributes
    ----------
    belt : str
        Belts that they take.
    diameter : float
        Where the belt's inner side lies; pitch diameter for a timing belt [m].
    count : int
        How many there are.
    """

    belt: Literal["round", "flat", "vee", "timing"] = "round"
    diameter: Length
    count: Count = 1


class Belt(Part):
    """Belts of one kind.

    Attributes
    ----------
    belt : str
        Kind of belt.
    length : float
        Along the pitch line [m].
    thickness : float
        [m]; 0 for a timing belt.
    stretch : float
        How much longer it may be pulled, as a share: about 0.1 for a round rubber belt.
    count : int
        How many there are.
    """

    belt: Literal["round", "flat", "vee", "timing"] = "round"
    length: Length
    thickness: Offset = 0.0
    stretch: Fraction = 0.0
    count: Count = 1


class SheetStock(Part):
    """Sheet for blades.

    Attributes
    ----------
    material : str
        Name in the table of densities.
    thickness : float
        [m].
    edge : str
        As it comes off the team's knife.
    length, width : float
        Size of a sheet [m].
    bends : bool
        Can be bent to a camber and keeps it.
    count : int
        Sheets.
    """

    material: str
    thickness: Length
    edge: Literal["square", "rounded", "mixed", "unknown"] = "square"
    length: Length
    width: Length
    bends: bool = False
    count: Count = 1


class AirfoilStock(Part):
    """A way to make airfoil blades.

    Attributes
    ----------
    names : tuple of str
        Sections the room can make.
    process : str
        ``printed``, ``carved`` or ``ribbed``.
    material : str
        Name in the table of densities.
    fill : float
        Solid share of the section.
    max_length : float
        Longest blade that can be made [m].
    """

    names: tuple[str, ...]
    process: Literal["printed", "carved", "ribbed"] = "printed"
    material: str = "PLA"
    fill: Fraction = 0.4
    max_length: Length


class RodStock(Part):
    """Rods for blades.

    Attributes
    ----------
    diameter : float
        [m].
    material : str
        Name in the table of densities.
    length : float
        [m].
    count : int
        How many there are.
    """

    diameter: Length
    material: str = "birch"
    length: Length = 0.3
    count: Count = 1


class PartsBin(Part):
    """Everything the room has to build from.

    Attributes
    ----------
    name, note : str
        What the room calls it, and anything worth keeping.
    gears, pulleys, belts : tuple
        For drivetrains.
    shafts : int
        Shafts with bearings that can carry a stage between rotor and generator: stages beyond the first need one each.
    generators : tuple of Generator
        Generators on the shelf.
    resistors : tuple of float
        Resistor values [ohm].
    resistor_box : FreeLoad or None
        A box or a full series to choose from.
    leds : tuple of Leds
        LED strings.
    sheets, airfoils, rods : tuple
        For blades.
    pipes : tuple of Pipe or Tube
        For towers.
    ballast : float
        Mass at hand [kg].
    feet : str or None
        Row of the table of base friction that feet or a mat at hand would give.
    base_width : float or None
        Widest board at hand for a base [m].
    glue, clamp : bool
        Glue for joints; a clamp for the base.
    caps : bool
        Covers for bare rods.
    """

    format: Literal[1] = 1
    name: str = "parts bin"
    note: str = ""
    gears: tuple[Gear, ...] = ()
    pulleys: tuple[Pulley, ...] = ()
    belts: tuple[Belt, ...] = ()
    shafts: Annotated[int, Field(ge=0, le=10)] = 0
    generators: tuple[Generator, ...] = ()
    resistors: tuple[Resistance, ...] = ()
    resistor_box: FreeLoad | None = None
    leds: tuple[Leds, ...] = ()
    sheets: tuple[SheetStock, ...] = ()
    airfoils: tuple[AirfoilStock, ...] = ()
    rods: tuple[RodStock, ...] = ()
    pipes: tuple[Annotated[Pipe | Tube, Field(discriminator="kind")], ...] = ()
    ballast: Mass = 0.0
    feet: str | None = None
    base_width: Length | None = None
    glue: bool = False
    clamp: bool = False
    caps: bool = False
