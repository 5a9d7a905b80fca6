"""Doubt that bench tests share: instruments, few readings, and the reading that stands apart."""

import dataclasses
import math

import numpy as np

from whirlbench.errors import within
from whirlbench.measure import meter
from whirlbench.measure.trial import Fact
from whirlbench.measure.uncertainty import coverage_factor
from whirlbench.value import Value

VOLTMETER = Fact(
    "voltmeter", text=True, default="0.5 % + 2 digits", hint="accuracy as printed on it; else common practice"
)
AMMETER = Fact("ammeter", text=True, default="1 % + 2 digits", hint="accuracy as printed on it; else common practice")
TACHOMETER = Fact("speed meter", text=True, default="1 %", hint="accuracy as printed on it; else common practice")
ANEMOMETER = Fact(
    "anemometer", text=True, default="3 % + 0.2 m/s", hint="accuracy as printed on it; else common practice"
)
_WORDS = {"voltmeter": "volts", "ammeter": "amps", "speed meter": "speed", "anemometer": "wind"}
_STRANGE = 0.01  # chance that one of a sheet's honest readings is asked about


def meter_doubt(filled, name, readings):
    """Relative standard uncertainty that an instrument leaves in all readings of a sheet alike.

    Parameters
    ----------
    filled : Filled
        The sheet; its fact of that name tells the accuracy.
    name : str
        ``voltmeter``, ``ammeter``, ``speed meter`` or ``anemometer``.
    readings : array
        What it showed [SI].

    Returns
    -------
    float
        At the mean reading [-].

    Raises
    ------
    InputError
        Text that is no accuracy, or a mean reading of 0.

    Notes
    -----
    Taken as one error that all readings share, so no number of readings averages it out. The step of the last digit
    is read off the readings where it is not told.
    """
    _, instrument = meter.read_meter(f"{_WORDS[name]}: {filled[name]}")
    if instrument.digits and instrument.resolution is None:
        step = meter.last_digit(np.ravel(readings)) or 0.0
        instrument = dataclasses.replace(instrument, resolution=step)
    typical = float(np.nanmean(readings))
    within(f"mean reading of the {name}", typical, low=1e-9, high=1e9, unit="", try_="check the readings")
    return float(instrument.sigma(typical)) / typical


def widened(freedom):
    """Factor for a standard uncertainty from few readings, so that twice of it still holds the truth 19 times in 20.

    Parameters
    ----------
    freedom : float
        Degrees of freedom behind it.

    Returns
    -------
    float
        1 for many [-].

    References
    ----------
    .. [1] JCGM 100:2008, G.3 (from memory): Student's t over its limit for many readings.
    """
    return coverage_factor(max(freedom, 1)) / coverage_factor(math.inf)


def doubted(value, *, freedom, shared=(), source=""):
    """Value with the doubt of few readings and of what all readings share.

    Parameters
    ----------
    value : Value
        From scatter alone.
    freedom : float
        Degrees of freedom behind it.
    shared : sequence of float
        Relative standard uncertainties that all readings share [-].
    source : str
        Where it came from; empty keeps that of ``value``.

    Returns
    -------
    Value
        Same number.
    """
    sigma = math.hypot(value.sigma * widened(freedom), *(value.number * one for one in shared))
    return Value(value.number, sigma, source or value.source)


def strange_line(filled, columns, readings):
    """Sentence about the reading that does not fit with the others, or an empty text.

    Parameters
    ----------
    filled : Filled
        The sheet, for the line's number.
    columns : sequence of array
        Columns of the straight line or plane that the readings should lie on.
    readings : array, shape (n,)
        What was read.

    Returns
    -------
    str
        Asks to look again; nothing is left out.

    Notes
    -----
    Each reading against the fit to all others, judged by Student's t at 1 % over the whole sheet.

    References
    ----------
    .. [1] Externally studentised residuals, any text on regression.
    """
    from scipy.special import stdtr

    design = np.column_stack(columns)
    count, width = design.shape
    freedom = count - width - 1
    if freedom < 1:
        return ""
    q, _ = np.linalg.qr(design)
    rest = readings - q @ (q.T @ readings)
    free = np.maximum(1 - (q**2).sum(axis=1), 1e-9)
    without = np.maximum((rest @ rest - rest**2 / free) / freedom, (1e-9 * np.abs(readings).max()) ** 2)
    apart = np.abs(rest) / np.sqrt(without * free)
    worst = int(np.argmax(apart))
    if 2 * stdtr(freedom, -apart[worst]) * count > _STRANGE:
        return ""
    return f"Please look at line {filled.lines[worst]} again: it does not fit with the others. It was not left out."
