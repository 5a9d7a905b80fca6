"""The event's rules as numbers."""

from typing import Annotated, Literal

from pydantic import Field

from whirlbench.parts.part import Fraction, Length, Mass, Part, Speed, Time, Voltage

SURE_START = 0.9  # chance of a start that is sure enough where nobody says otherwise: judgement


class Event(Part):
    """Limits a turbine must keep, and how it is scored; a limit left out does not bind.

    Attributes
    ----------
    name, note : str
        What the event is called, and anything worth keeping.
    max_rotor_diameter, min_rotor_diameter : float or None
        [m].
    max_blades : int or None
        Number of blades.
    max_height : float or None
        Floor to the highest blade tip [m].
    max_base_width : float or None
        [m].
    max_mass : float or None
        Whole turbine with ballast [kg].
    max_voltage : float or None
        At the load [V].
    must_start : bool
        The rotor has to start by itself.
    sure_start : float
        Least chance of that start, all doubts counted, of a build that is advised.
    may_clamp : bool
        The base may be clamped or screwed down.
    evenly_spaced : bool
        Blades must be evenly spaced.
    allowed_generators : tuple of str
        Catalogue types or names; empty allows all.
    min_safety : float
        Least factor on sliding and tipping.
    wind_speeds : tuple of float
        Winds of the scored runs [m/s]; empty scores in the turbine's own wind.
    window : float
        Length of a scored run [s].
    score : str
        ``power`` (steady) or ``energy`` (from letting go to the end of the window).
    """

    format: Literal[1] = 1
    name: str
    note: str = ""
    max_rotor_diameter: Length | None = None
    min_rotor_diameter: Length | None = None
    max_blades: Annotated[int, Field(ge=1, le=12)] | None = None
    max_height: Length | None = None
    max_base_width: Length | None = None
    max_mass: Mass | None = None
    max_voltage: Voltage | None = None
    must_start: bool = True
    sure_start: Annotated[Fraction, Field(ge=0.5)] = SURE_START
    may_clamp: bool = True
    evenly_spaced: bool = False
    allowed_generators: tuple[str, ...] = ()
    min_safety: Annotated[float, Field(ge=1, le=10)] = 1.5
    wind_speeds: tuple[Speed, ...] = ()
    window: Time = 60.0
    score: Literal["power", "energy"] = "power"
