"""Moist air: density and viscosity from temperature, station pressure and humidity."""

import numpy as np

from whirlbench.errors import within

STANDARD_PRESSURE = 101325.0  # [Pa]
_ZERO_CELSIUS = 273.15


def density(temperature, pressure, humidity):
    """Density of moist air.

    Parameters
    ----------
    temperature : float or array
        Air temperature [K].
    pressure : float or array
        Station pressure, not reduced to sea level [Pa].
    humidity : float or array
        Relative humidity, 0 to 1 [-].

    Returns
    -------
    float or array, broadcast shape of the inputs
        Density [kg/m^3].

    Raises
    ------
    OutOfRange
        Outside 263-323 K, 60-110 kPa or 0-1.

    Notes
    -----
    Relative standard uncertainty of the equation 2.2e-5 (from memory); carbon dioxide at 0.0004.

    References
    ----------
    .. [1] A. Picard, R. S. Davis, M. Glaeser, K. Fujii, Revised formula for the density of moist air (CIPM-2007),
       Metrologia 45, 149-155, 2008 (constants seen in two public ports that cite it).
    """
    _check(temperature, pressure)
    within("humidity", humidity, low=0, high=1, unit="", try_="0.45 or '45 %'")
    t = np.asarray(temperature) - _ZERO_CELSIUS
    vapour = humidity * _enhancement(pressure, t) * saturation_pressure(temperature) / pressure
    compressibility = _compressibility(temperature, pressure, vapour)
    return 3.48374e-3 * pressure / (compressibility * temperature) * (1 - 0.3780 * vapour)


def saturation_pressure(temperature):
    """Vapour pressure over water at saturation.

    Parameters
    ----------
    temperature : float or array
        Air temperature [K].

    Returns
    -------
    float or array, shape of ``temperature``
        Pressure [Pa].

    References
    ----------
    .. [1] CIPM-2007, as ``density``.
    """
    t = np.asarray(temperature, dtype=float)
    return np.exp(1.2378847e-5 * t**2 - 1.9121316e-2 * t + 33.93711047 - 6.3431645e3 / t)


def viscosity(temperature):
    """Dynamic viscosity of air.

    Parameters
    ----------
    temperature : float or array
        Air temperature [K].

    Returns
    -------
    float or array, shape of ``temperature``
        Viscosity [Pa*s].

    Raises
    ------
    OutOfRange
        Outside 230-330 K.

    References
    ----------
    .. [1] ISO 2533:1975 (Sutherland constants from memory).
    """
    within("air temperature", temperature, low=230, high=330, unit="K", try_="add 273.15 to a reading in °C")
    t = np.asarray(temperature, dtype=float)
    return 1.458e-6 * t**1.5 / (t + 110.4)


def pressure_at(altitude):
    """Standard station pressure at an altitude, for a room without a barometer.

    Parameters
    ----------
    altitude : float or array
        Height above sea level [m].

    Returns
    -------
    float or array, shape of ``altitude``
        Pressure [Pa].

    Raises
    ------
    OutOfRange
        Outside -500 to 5000 m.

    References
    ----------
    .. [1] ISO 2533:1975 (constants from memory).
    """
    within("altitude", altitude, low=-500, high=5000, unit="m", try_="the height above sea level in metres")
    return STANDARD_PRESSURE * (1 - 0.0065 * np.asarray(altitude) / 288.15) ** (9.80665 / (287.05287 * 0.0065))


def _check(temperature, pressure):
    within("air temperature", temperature, low=263, high=323, unit="K", try_="add 273.15 to a reading in °C")
    within("air pressure", pressure, low=6e4, high=1.1e5, unit="Pa", try_="multiply a reading in hPa by 100")


def _enhancement(pressure, celsius):
    return 1.00062 + 3.14e-8 * pressure + 5.6e-7 * celsius**2


def _compressibility(temperature, pressure, vapour):
    t = np.asarray(temperature) - _ZERO_CELSIUS
    ratio = pressure / np.asarray(temperature)
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t**2
    second = (5.707e-6 - 2.051e-8 * t) * vapour + (1.9898e-4 - 2.376e-6 * t) * vapour**2
    return 1 - ratio * (first + second) + ratio**2 * (1.83e-11 - 0.765e-8 * vapour**2)
