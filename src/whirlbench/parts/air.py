"""The air in the room."""

from whirlbench.parts.part import Altitude, Fraction, Part, Pressure, Temperature


class Air(Part):
    """Temperature, pressure and humidity of the room.

    Attributes
    ----------
    temperature : float
        [K]; a file may say ``21 degC`` or ``70 degF``.
    pressure : float or None
        Station pressure, not reduced to sea level [Pa].
    altitude : float or None
        Height above sea level [m], used when there is no barometer.
    humidity : float
        Relative humidity, 0 to 1.
    """

    temperature: Temperature = 294.15
    pressure: Pressure | None = None
    altitude: Altitude | None = None
    humidity: Fraction = 0.45
