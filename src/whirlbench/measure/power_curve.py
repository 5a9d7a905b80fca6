"""Power over wind speed by bins of wind, brought to one air density."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError, UnknownKey, nearest, within

REFERENCE_DENSITY = 1.225  # [kg/m^3]
BIN_WIDTH = 0.5  # [m/s]
RULES = {
    "power": "a rotor of fixed shape: power times reference density over the day's density",
    "wind": "a power held by control: wind times the cube root of the day's density over the reference",
    "none": "as measured, at the day's density",
}
_CUBE = 3  # power goes with the cube of the wind


@dataclass(frozen=True)
class Bin:
    """Runs in one bin of wind.

    Attributes
    ----------
    centre : float
        Middle of the bin [m/s].
    wind_speed, power : float
        Means of the runs in it [m/s], [W].
    scatter : float or None
        Standard deviation of one run's power [W]; None for a single run.
    count : int
        Number of runs.
    repeat_sigma : float or None
        Standard uncertainty of the mean power from scatter alone, type A [W]; None for a single run.
    instrument_sigma : float
        From instruments, the same error in every run, type B [W].
    sigma : float or None
        Both together [W]; None for a single run, whose scatter nobody knows.
    """

    centre: float
    wind_speed: float
    power: float
    scatter: float | None
    count: int
    repeat_sigma: float | None
    instrument_sigma: float
    sigma: float | None


@dataclass(frozen=True)
class PowerCurve:
    """Power over wind speed by bins.

    Attributes
    ----------
    bins : tuple of Bin
        By rising wind, empty bins left out.
    width : float
        Of a bin [m/s].
    rule : str
        How the density was taken out: a key of ``RULES``.
    reference_density : float
        [kg/m^3].
    """

    bins: tuple
    width: float
    rule: str
    reference_density: float


def normalised(wind_speeds, powers, air_density, *, rule="power", reference_density=REFERENCE_DENSITY):
    """Winds and powers as they would be in air of the reference density.

    Parameters
    ----------
    wind_speeds, powers : array
        As measured [m/s], [W].
    air_density : float or array
        Of the day [kg/m^3].
    rule : str
        ``power`` for a rotor of fixed shape, which every bench-top turbine is; ``wind`` where a control holds the
        power; ``none``.
    reference_density : float
        [kg/m^3].

    Returns
    -------
    tuple of array
        Wind speeds [m/s] and powers [W].

    Raises
    ------
    UnknownKey
        Another rule.
    OutOfRange
        Air outside 0.5-1.6 kg/m^3.

    References
    ----------
    .. [1] IEC 61400-12-1, both rules from memory; the standard was not read.
    """
    if rule not in RULES:
        raise UnknownKey("density rule", f"'{rule}'", "a rule we know", try_=nearest(rule, RULES))
    within("air density", air_density, low=0.5, high=1.6, unit="kg/m^3", try_="about 1.2 in a classroom")
    winds, powers = np.asarray(wind_speeds, dtype=float), np.asarray(powers, dtype=float)
    share = np.asarray(air_density, dtype=float) / reference_density
    if rule == "power":
        return winds, powers / share
    return (winds * np.cbrt(share), powers) if rule == "wind" else (winds, powers)


def power_curve(wind_speeds, powers, air_density, *, width=BIN_WIDTH, rule="power", wind_doubt=0.0, power_doubt=0.0):
    """Power curve by bins of wind.

    Parameters
    ----------
    wind_speeds, powers : sequence of float
        One a run, as measured [m/s], [W].
    air_density : float or sequence of float
        Of the day, or of each run [kg/m^3].
    width : float
        Of a bin, centred on whole multiples of it [m/s].
    rule : str
        How to take the density out, as in ``normalised``.
    wind_doubt, power_doubt : float
        Relative standard uncertainty of wind and power that all runs share [-].

    Returns
    -------
    PowerCurve
        Bins by rising wind.

    Raises
    ------
    InputError
        No runs.
    OutOfRange
        A bin narrower than 0.05 or wider than 5 m/s.

    Notes
    -----
    Within a bin the power is not moved to the bin's centre: the mean wind says where the mean power belongs. A wrong
    wind moves a point along the curve, so its part of the doubt is the curve's slope times the doubt of the wind.

    References
    ----------
    .. [1] IEC 61400-12-1 for bins of 0.5 m/s centred on multiples and s/sqrt(n), from memory.
    """
    within("width of a bin", width, low=0.05, high=5, unit="m/s", try_="0.5 m/s")
    winds, powers = normalised(wind_speeds, powers, air_density, rule=rule)
    if not len(winds):
        raise InputError("readings", "no runs", "runs with wind and power", try_="add volts and ohms to the readings")
    numbers = np.floor(winds / width + 0.5).astype(int)
    inside = [numbers == number for number in np.unique(numbers)]
    centres = width * np.unique(numbers)
    means = np.array([(winds[each].mean(), powers[each].mean()) for each in inside])
    slopes = _slopes(*means.T)
    bins = []
    for each, centre, (wind, power), slope in zip(inside, centres, means, slopes, strict=True):
        shared = math.hypot(power_doubt * power, wind_doubt * wind * slope)
        bins.append(_bin(float(centre), float(wind), powers[each], shared))
    return PowerCurve(tuple(bins), width, rule, REFERENCE_DENSITY)


def _slopes(winds, powers):
    """Slope of the curve at each point [W per m/s]; of one point alone that of the cube of the wind."""
    if len(winds) > 1:
        return np.gradient(powers, winds)
    return np.array([_CUBE * powers[0] / winds[0]]) if winds[0] else np.zeros(1)


def _bin(centre, wind, powers, shared):
    count, power = len(powers), float(powers.mean())
    if count < 2:
        return Bin(centre, wind, power, None, count, None, shared, None)
    scatter = float(powers.std(ddof=1))
    repeat = scatter / math.sqrt(count)
    return Bin(centre, wind, power, scatter, count, repeat, shared, math.hypot(repeat, shared))


def turbulence_intensity(wind_speeds):
    """Turbulence intensity of a record: its standard deviation over its mean.

    Parameters
    ----------
    wind_speeds : sequence of float
        At one place, close in time [m/s].

    Returns
    -------
    float
        [-].

    Raises
    ------
    InputError
        Fewer than two speeds.
    """
    winds = np.asarray(wind_speeds, dtype=float)
    if winds.size < 2:
        raise InputError("wind record", f"{winds.size} speeds", "two or more", try_="log the wind for half a minute")
    return float(winds.std(ddof=1) / winds.mean())


def turbulence_gain(intensity):
    """Power in a gusty wind over the power in a steady wind of the same mean.

    Parameters
    ----------
    intensity : float
        Turbulence intensity [-].

    Returns
    -------
    float
        1 + 3 TI^2, for gusts as strong as lulls [-].

    Raises
    ------
    OutOfRange
        Below 0 or above 0.5.

    Notes
    -----
    Mean of the cube of the wind without skew. Runs at different turbulence are no fair comparison.
    """
    within("turbulence intensity", intensity, low=0, high=0.5, unit="", try_="0.1 or '10 %'")
    return 1 + 3 * intensity**2
