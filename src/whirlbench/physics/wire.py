"""Copper magnet wire: diameter, resistance and mass."""

import math

from whirlbench.errors import within

RESISTIVITY = 1.7241e-8  # [ohm*m] annealed copper at 20 degC, 100 % IACS
RESISTIVITY_SLOPE = 0.00393  # [1/K] at 20 degC, from memory
DENSITY = 8890.0  # [kg/m^3]
ROOM = 293.15  # [K]


def gauge_diameter(gauge):
    """Bare diameter of an AWG wire.

    Parameters
    ----------
    gauge : float or array
        American wire gauge number [-]; larger is thinner.

    Returns
    -------
    float or array
        Diameter without enamel [m].

    Raises
    ------
    OutOfRange
        A gauge outside 0 to 50.

    References
    ----------
    .. [1] ASTM B258, d = 0.127 mm x 92^((36 - n) / 39).
    """
    within("wire gauge", gauge, low=0, high=50, unit="AWG", try_="read the number on the spool or measure a diameter")
    return 0.127e-3 * 92.0 ** ((36.0 - gauge) / 39.0)


def enamelled_diameter(diameter):
    """Diameter of a wire with its enamel, when it cannot be measured.

    Parameters
    ----------
    diameter : float or array
        Bare diameter [m].

    Returns
    -------
    float or array
        Outer diameter [m].

    Raises
    ------
    OutOfRange
        A diameter outside 0.02 to 10 mm.

    Notes
    -----
    10 % on the bare diameter: common practice for 0.1 to 0.8 mm, where enamel adds 5 to 15 %. No published
    check found.
    """
    _check_diameter(diameter)
    return 1.10 * diameter


def wire_area(diameter):
    """Copper area of a round wire.

    Parameters
    ----------
    diameter : float or array
        Bare diameter [m].

    Returns
    -------
    float or array
        Area [m^2].

    Raises
    ------
    OutOfRange
        A diameter outside 0.02 to 10 mm: most often millimetres were passed.

    References
    ----------
    .. [1] pi d^2 / 4.
    """
    _check_diameter(diameter)
    return math.pi * diameter**2 / 4.0


def resistance_per_length(diameter, temperature=ROOM):
    """Resistance of a metre of copper wire.

    Parameters
    ----------
    diameter : float or array
        Bare diameter [m].
    temperature : float or array
        Temperature of the copper [K].

    Returns
    -------
    float or array
        Resistance per length [ohm/m].

    Raises
    ------
    OutOfRange
        A diameter outside 0.02 to 10 mm, or a temperature outside 230 to 450 K.

    Notes
    -----
    0.39 % more for each kelvin above 20 degC.

    References
    ----------
    .. [1] 100 % IACS copper, 1.7241e-8 ohm m at 20 degC.
    """
    within("wire temperature", temperature, low=230, high=450, unit="K", try_="add 273.15 to a reading in °C")
    return RESISTIVITY * (1.0 + RESISTIVITY_SLOPE * (temperature - ROOM)) / wire_area(diameter)


def mass_per_length(diameter):
    """Mass of a metre of bare copper wire.

    Parameters
    ----------
    diameter : float or array
        Bare diameter [m].

    Returns
    -------
    float or array
        Mass per length [kg/m]; enamel adds 2 to 4 % (from memory).

    Raises
    ------
    OutOfRange
        A diameter outside 0.02 to 10 mm.

    References
    ----------
    .. [1] Copper at 8890 kg/m^3.
    """
    return DENSITY * wire_area(diameter)


def _check_diameter(diameter):
    within("wire diameter", diameter, low=2e-5, high=1e-2, unit="m", try_="0.25 mm is 0.00025 m")
