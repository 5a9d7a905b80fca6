"""What the generator feeds."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.part import Part, Resistance


class Resistor(Part):
    """A resistor, or a box set to one value.

    Attributes
    ----------
    resistance : float
        [ohm].
    """

    kind: Literal["resistor"] = "resistor"
    resistance: Resistance


class Leds(Part):
    """A string of light-emitting diodes.

    Attributes
    ----------
    colour : str
        Row of the table of LEDs.
    in_series, in_parallel : int
        LEDs in a string, and strings side by side.
    series_resistance : float
        Resistor in series with each string [ohm].
    """

    kind: Literal["leds"] = "leds"
    colour: str = "red"
    in_series: Annotated[int, Field(ge=1, le=20)] = 1
    in_parallel: Annotated[int, Field(ge=1, le=50)] = 1
    series_resistance: Resistance = 0.0


class FreeLoad(Part):
    """Whatever resistor of a series gives the most power.

    Attributes
    ----------
    series : str
        Preferred values: E6, E12 or E24.
    lowest, highest : float
        Range to choose from [ohm].
    """

    kind: Literal["free"] = "free"
    series: Literal["E6", "E12", "E24"] = "E12"
    lowest: Resistance = 1.0
    highest: Resistance = 1000.0


Load = Annotated[Resistor | Leds | FreeLoad, Field(discriminator="kind")]
