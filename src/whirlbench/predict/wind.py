"""Air and wind as numbers: density, viscosity, and the speed over the disc."""

from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError, within
from whirlbench.physics import air, tunnel
from whirlbench.value import Value

_UNSAID = 0.05  # relative doubt of a speed given without one: common practice for a hand-held anemometer


@dataclass(frozen=True)
class AirData:
    """Density and viscosity of the room's air.

    Attributes
    ----------
    density : float
        [kg/m^3].
    viscosity : float
        [Pa*s].
    """

    density: float
    viscosity: float


def air_data(part):
    """Density and viscosity of the room's air.

    Parameters
    ----------
    part : Air
        Temperature, pressure or altitude, humidity.

    Returns
    -------
    AirData
        [kg/m^3] and [Pa*s].
    """
    pressure = part.pressure if part.pressure is not None else float(air.pressure_at(part.altitude or 0.0))
    return AirData(
        float(air.density(part.temperature, pressure, part.humidity)), float(air.viscosity(part.temperature))
    )


def disc_speed(wind, rotor_radius):
    """Wind over the rotor's disc: the cube mean of a fan's map, or the speed as given; 5 % of doubt where none is told.

    Parameters
    ----------
    wind : Fan, Tunnel or OpenAir
        The wind.
    rotor_radius : float
        [m].

    Returns
    -------
    Value
        Speed with doubt [m/s].

    Raises
    ------
    InputError
        A fan with neither a speed nor rings, or rings without the radius of the map.
    """
    if wind.kind == "fan" and wind.rings:
        if wind.map_radius is None:
            need = "the outer radius of the wind map"
            raise InputError("wind > map radius", "nothing", need, try_='add map_radius = "300 mm" beside rings')
        speed = tunnel.cube_mean(wind.rings, map_radius=wind.map_radius, rotor_radius=rotor_radius)
        within("wind > rings", speed, low=0.1, high=60, unit="m/s", try_="speeds read with the fan on")
        return Value(speed, (wind.map_doubt or _UNSAID) * speed, "cube mean of the wind map")
    if wind.speed is None:
        raise InputError(
            "wind > speed", "nothing", "a speed or a map", try_='add speed = "4 m/s +- 5 %" or rings = [...]'
        )
    return wind.speed if wind.speed.sigma else Value(wind.speed.number, _UNSAID * wind.speed.number, "given")


def blockage(wind, rotor_radius):
    """Swept area over section area; 0 where there are no walls.

    Parameters
    ----------
    wind : Fan, Tunnel or OpenAir
        The wind.
    rotor_radius : float
        [m].

    Returns
    -------
    float
        [-].

    Raises
    ------
    InputError
        A rotor that does not fit, or fills more than half of the section.
    """
    if wind.kind != "tunnel":
        return 0.0
    share = float(np.pi * rotor_radius**2 / wind.area)
    if share > 0.5 or 2 * rotor_radius > min(wind.width, wind.height):
        raise InputError(
            "wind > section",
            f"{wind.width * 1000:.0f} x {wind.height * 1000:.0f} mm around a rotor of {2000 * rotor_radius:.0f} mm",
            "a rotor that fits and covers at most half of the section",
            try_="a larger section or a smaller rotor",
        )
    return share
