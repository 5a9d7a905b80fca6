"""Where the wind comes from: a fan's open jet, a closed tunnel, or open air."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.part import DoubtfulSpeed, Fraction, Length, Part, Speed


class Fan(Part):
    """An open jet; its speed map is measured with the turbine taken away.

    Attributes
    ----------
    speed : Value or None
        Speed over the disc with its doubt [m/s]; None when rings are given.
    rings : tuple of float
        Speeds in rings of equal area, from the axis outward [m/s].
    map_radius : float or None
        Outer radius of the last ring [m].
    map_doubt : float or None
        Relative standard uncertainty of the mean over the map, as the bench test wind-map finds it [-].
    flow : str
        ``turbulent`` or ``smooth``: picks the airfoil tables.
    """

    kind: Literal["fan"] = "fan"
    speed: DoubtfulSpeed | None = None
    rings: tuple[Speed, ...] = ()
    map_radius: Length | None = None
    map_doubt: Fraction | None = None
    flow: Literal["turbulent", "smooth"] = "turbulent"


class Tunnel(Part):
    """A closed test section, whose walls speed the air past the rotor.

    Attributes
    ----------
    speed : Value
        Speed with its doubt [m/s].
    width, height : float
        Of the section [m].
    measured : str
        ``empty section``, or ``beside the rotor`` while it runs.
    flow : str
        ``turbulent`` or ``smooth``: picks the airfoil tables.
    """

    kind: Literal["tunnel"] = "tunnel"
    speed: DoubtfulSpeed
    width: Length
    height: Length
    measured: Literal["empty section", "beside the rotor"] = "empty section"
    flow: Literal["turbulent", "smooth"] = "smooth"

    @property
    def area(self):
        """Area of the section [m^2]."""
        return self.width * self.height


class OpenAir(Part):
    """Wind with no walls and no jet edge.

    Attributes
    ----------
    speed : Value
        Speed with its doubt [m/s].
    flow : str
        ``turbulent`` or ``smooth``: picks the airfoil tables.
    """

    kind: Literal["open air"] = "open air"
    speed: DoubtfulSpeed
    flow: Literal["turbulent", "smooth"] = "turbulent"


Wind = Annotated[Fan | Tunnel | OpenAir, Field(discriminator="kind")]
