"""What a resistor or a string of LEDs asks of a generator, and the resistors a shop sells."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench import tables
from whirlbench.errors import within


def preferred_values(series, *, lowest, highest):
    """Preferred resistor values of a series between two limits.

    Parameters
    ----------
    series : str
        ``"E6"``, ``"E12"`` or ``"E24"``.
    lowest, highest : float
        Limits, both allowed [ohm].

    Returns
    -------
    array
        Values in rising order [ohm].

    Raises
    ------
    UnknownKey
        A series that is not in the table.
    OutOfRange
        Limits outside 0.01 ohm to 100 Mohm, or in the wrong order.

    References
    ----------
    .. [1] IEC 60063, preferred number series, quoted in tables/load/preferred_values.csv.
    """
    within("lowest resistance", lowest, low=0.01, high=1e8, unit="ohm", try_="write the lower limit first")
    within("highest resistance", highest, low=lowest, high=1e8, unit="ohm", try_="write the lower limit first")
    decade = [int(cell) for cell in tables.load("load/preferred_values").find(series=series).values.split()]
    first, last = math.floor(math.log10(lowest)) - 1, math.floor(math.log10(highest)) + 1
    # text to number keeps 4.7 at 4.7, where 47 * 0.1 would not
    ladder = np.array([float(f"{step}e{power - 1}") for power in range(first, last + 1) for step in decade])
    return ladder[(ladder >= lowest) & (ladder <= highest)]


def matched_power_ratio(load_resistance, winding_resistance):
    """Power of a load at fixed EMF, over the power of the matched load.

    Parameters
    ----------
    load_resistance : float or array
        Resistance of the load [ohm].
    winding_resistance : float or array
        Resistance of the winding [ohm].

    Returns
    -------
    float or array
        Ratio [-], 1 at equal resistances, 8/9 at half and at double.

    Raises
    ------
    OutOfRange
        A negative load or a winding without resistance.

    Notes
    -----
    At fixed speed only: with a rotor the best load is larger, often several times the winding resistance.

    References
    ----------
    .. [1] P = E^2 RL / (R + RL)^2, any text on circuits.
    """
    within("load resistance", load_resistance, low=0, high=1e12, unit="ohm", try_="use a resistor")
    within("winding resistance", winding_resistance, low=1e-6, high=1e6, unit="ohm", try_="measure it under load")
    ratio = load_resistance / winding_resistance
    return 4.0 * ratio / (1.0 + ratio) ** 2


@dataclass(frozen=True)
class LedString:
    """A bank of LEDs as a circuit sees it.

    Attributes
    ----------
    load_threshold : float
        Voltage below which no current flows [V].
    load_resistance : float
        Resistance above the threshold [ohm].
    """

    load_threshold: float
    load_resistance: float


def led_string(threshold, dynamic_resistance, *, in_series=1, in_parallel=1, series_resistance=0.0):
    """Threshold and resistance of equal LEDs in series, in parallel rows, each row with its own resistor.

    Parameters
    ----------
    threshold : float
        Threshold of one LED [V].
    dynamic_resistance : float
        Resistance of one LED above its threshold [ohm].
    in_series, in_parallel : int
        LEDs in a row, and rows [-].
    series_resistance : float
        Resistor in each row [ohm].

    Returns
    -------
    LedString
        Threshold [V] and resistance [ohm] of the whole bank.

    Raises
    ------
    OutOfRange
        No LED, or a negative number.

    Notes
    -----
    Two straight lines in place of the exponential: within about 0.1 V from 1 to 20 mA for an indicator LED
    (from memory). No published check found.
    """
    within("LED threshold", threshold, low=0.5, high=5, unit="V", try_="1.7 V for red, 2.8 V for white")
    within("LED resistance", dynamic_resistance, low=0, high=1e3, unit="ohm", try_="about 15 ohm for an indicator LED")
    within("row resistor", series_resistance, low=0, high=1e6, unit="ohm", try_="0 for none")
    within("LEDs in a row", in_series, low=1, high=100, unit="", try_="1 for a single LED")
    within("rows", in_parallel, low=1, high=100, unit="", try_="1 for a single row")
    row_resistance = in_series * dynamic_resistance + series_resistance
    return LedString(in_series * threshold, row_resistance / in_parallel)
