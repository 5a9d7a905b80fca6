"""Speeds and rates as people write them; 1 Hz is one turn or flash a second, which a unit library takes for 1 rad/s."""

import re

import numpy as np

from whirlbench import units

_BY_THE_TURN = re.compile(r"\d\s*(rpm|krpm|rev/min|turns/min|rad/s)\s*$", re.IGNORECASE)


def speed(what, text):
    """Angular speed from text.

    Parameters
    ----------
    what : str
        Name of the option, for the error.
    text : str
        Such as ``400 rpm`` or ``7 Hz``.

    Returns
    -------
    float
        [rad/s].

    Raises
    ------
    UnitError
        No number, or no unit of speed.
    """
    if str(text).strip().lower().endswith("hz"):
        return 2 * np.pi * units.read(what, re.sub("hz$", "Hz", str(text).strip(), flags=re.IGNORECASE), "Hz")
    return units.read(what, text, "rad/s")


def rates(what, text):
    """Rates from text.

    Parameters
    ----------
    what : str
        Name of the option, for the error.
    text : str
        Such as ``20 Hz``, ``1200 rpm`` or ``60, 40 Hz``.

    Returns
    -------
    list of float
        [Hz].

    Raises
    ------
    UnitError
        No number, or no unit of a rate.
    """
    if _BY_THE_TURN.search(str(text)):
        return [each / (2 * np.pi) for each in units.read_series(what, text, "rad/s")]
    return units.read_series(what, text, "Hz")
