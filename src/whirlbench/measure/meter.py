"""How far an instrument may be off: the accuracy printed on it, as a limit and a standard uncertainty."""

import math
import re
from dataclasses import dataclass

import numpy as np

from whirlbench import units
from whirlbench.errors import InputError, UnknownKey, nearest, within
from whirlbench.value import Value

QUANTITIES = {
    "volts": ("voltage", "V"),
    "amps": ("current", "A"),
    "ohms": ("load_resistance", "ohm"),
    "wind": ("wind_speed", "m/s"),
    "speed": ("rotor_speed", "rad/s"),
}
_RECTANGULAR = math.sqrt(3)
_WORTH_A_TURN = 0.75  # a lower range is advised when it leaves at most this much of the doubt
_NUMBER = r"(\d+(?:\.\d*)?|\.\d+)"
_OF = r"\s*%\s*(?:of\s+)?(?:the\s+)?"
_PIECES = {
    "range_share": rf"{_NUMBER}{_OF}(?:range|full[\s-]?scale|f\.?\s?s\.?|scale|span)",
    "reading_share": rf"{_NUMBER}{_OF}(?:reading|rdg\.?|rd\.?|value|indication)?",
    "digits": rf"{_NUMBER}\s*(?:digits?|dgts?\.?|dig\.?|d|lsd|counts?|cts?\.?)",
}
_FINEST, _COARSEST = -6, 3


@dataclass(frozen=True)
class Meter:
    """An instrument on one range, as its maker or its back says.

    Attributes
    ----------
    unit : str
        SI unit of what it reads.
    reading_share, range_share : float
        Limit of error as a share of the reading and of the range [-].
    digits : float
        Limit of error in steps of the last digit [-].
    fixed : float
        Limit of error that does not depend on the reading [unit].
    resolution, range_top : float or None
        One step of the last digit and the top of the range [unit]; None where not said.
    """

    unit: str
    reading_share: float = 0.0
    range_share: float = 0.0
    digits: float = 0.0
    fixed: float = 0.0
    resolution: float | None = None
    range_top: float | None = None

    def limit(self, reading):
        """Greatest error that the accuracy allows.

        Parameters
        ----------
        reading : float or array
            What the instrument shows [unit].

        Returns
        -------
        float or array
            [unit].

        Raises
        ------
        InputError
            Digits without a resolution, or a share of the range without the range.
        """
        resolution = self._known("resolution", self.digits)
        range_top = self._known("range_top", self.range_share)
        steady = self.range_share * range_top + self.digits * resolution + self.fixed
        return self.reading_share * np.abs(reading) + steady

    def sigma(self, reading):
        """Standard uncertainty of a reading; within the limit every error is held equally likely.

        Parameters
        ----------
        reading : float or array
            What the instrument shows [unit].

        Returns
        -------
        float or array
            [unit].

        References
        ----------
        .. [1] JCGM 100:2008, 4.3.7 and F.2.2.1 (from memory).
        """
        printed = self.limit(reading) / _RECTANGULAR
        # rounding to the last digit is part of the digits' limit; an accuracy without digits leaves it out
        rounding = 0.0 if self.digits else (self.resolution or 0.0) / (2 * _RECTANGULAR)
        return np.hypot(printed, rounding)

    def _known(self, field, factor):
        """A number of the range, needed only where the accuracy speaks of it."""
        number = getattr(self, field)
        if number is None and factor:
            word = field.partition("_")[0]
            example = units.EXAMPLES.get(self.unit, f"1 {self.unit}")
            try_ = f"add '; {word} {example}' behind the accuracy"
            raise InputError(f"meter > {word}", "nothing", f"the {word} in use", try_=try_)
        return number or 0.0


def read_meter(text):
    """Instrument from text such as ``0.5 % + 2 digits``, ``amps: 1 % of range; range 200 mA`` or ``wind: 3 %``.

    Parameters
    ----------
    text : str
        What it reads (volts when not said) and a colon; its accuracy as printed; behind semicolons what is known of
        the range in use: ``resolution 1 mV``, ``range 2 V``, ``2000 counts``.

    Returns
    -------
    tuple of (str, Meter)
        Name of the reading, such as ``voltage``, and the instrument.

    Raises
    ------
    InputError
        Text that is no accuracy.
    """
    head, colon, rest = text.partition(":")
    word = head.strip().lower() if colon else "volts"
    if word not in QUANTITIES:
        raise UnknownKey(f"meter > {word}", "no reading", "a kind of reading", try_=nearest(word, QUANTITIES))
    name, unit = QUANTITIES[word]
    accuracy, *facts = (rest if colon else text).split(";")
    return name, Meter(unit=unit, **read_accuracy(accuracy, unit), **_range(facts, unit))


def word_of(name):
    """Word by which people call a reading.

    Parameters
    ----------
    name : str
        Such as ``voltage``.

    Returns
    -------
    str
        Such as ``volts``.
    """
    return next(word for word, (reading, _) in QUANTITIES.items() if reading == name)


def read_accuracy(text, unit):
    """Limits of error from an accuracy as printed on an instrument.

    Parameters
    ----------
    text : str
        Such as ``0.5 % + 2 digits``, ``±(0.5% rdg + 2 dgt)``, ``±1.0 % ±3 digits``, ``0.8%+5``, ``1 % of full scale``.
    unit : str
        SI unit of what is read, for a part such as ``0.2 m/s``.

    Returns
    -------
    dict
        ``reading_share``, ``range_share``, ``digits`` and ``fixed`` where they are said.

    Raises
    ------
    InputError
        A piece that is neither a percentage nor digits nor a number with a unit.
    """
    plain = re.sub(r"(?<=\d),(?=\d)", ".", text)
    pieces = [piece.strip() for piece in re.split(r"\+/?-|[±+()\[\],]|\band\b", plain) if piece.strip()]
    found = {}
    for piece in pieces:
        name, number = _piece(piece, unit, text)
        found[name] = found.get(name, 0.0) + number
    if not found:
        raise _not_an_accuracy(text)
    for name in ("reading_share", "range_share"):
        within("meter > accuracy", found.get(name, 0.0), low=0, high=0.5, unit="", try_="50 % at most")
    return found


def _piece(piece, unit, text):
    """What one part of a printed accuracy says."""
    for name, pattern in _PIECES.items():
        if match := re.fullmatch(pattern, piece, re.IGNORECASE):
            return name, float(match[1]) * (1.0 if name == "digits" else 0.01)
    if "%" in text and piece.isdecimal():  # 0.8%+5: the word for digits is often left out
        return "digits", float(piece)
    try:
        return "fixed", abs(units.read("meter", piece, unit))
    except InputError:
        raise _not_an_accuracy(text) from None


def _not_an_accuracy(text):
    needs = "an accuracy such as '0.5 % + 2 digits'"
    return InputError("meter", f"'{text.strip()}'", needs, try_="copy what the instrument's back or manual says")


def _range(facts, unit):
    """Resolution and top of the range in use."""
    found = {}
    for fact in (fact.strip() for fact in facts):
        word, _, rest = fact.partition(" ")
        if counts := re.fullmatch(r"(\d+)\s*counts?", fact, re.IGNORECASE):
            found["counts"] = int(counts[1])
        elif word.lower() in ("resolution", "range"):
            field = {"resolution": "resolution", "range": "range_top"}[word.lower()]
            found[field] = units.read(f"meter > {word.lower()}", rest, unit)
        elif fact:
            needs = "'resolution 1 mV', 'range 2 V' or '2000 counts'"
            raise InputError("meter", f"'{fact}'", needs, try_="put a semicolon before each of them")
    counts = found.pop("counts", None)
    if counts and "range_top" in found:
        found.setdefault("resolution", resolution_of(found["range_top"], counts))
    elif counts and "resolution" in found:
        found["range_top"] = counts * found["resolution"]
    return found


def resolution_of(range_top, counts):
    """One step of the last digit on a range: a power of ten.

    Parameters
    ----------
    range_top : float
        Top of the range [unit].
    counts : int
        Steps that the display can show, such as 2000 or 6000.

    Returns
    -------
    float
        [unit].

    Raises
    ------
    OutOfRange
        A range that is not above 0, or fewer than 10 counts.
    """
    within("meter > range", range_top, low=1e-9, high=1e9, unit="", try_="the top of the range in use")
    within("meter > counts", counts, low=10, high=1e8, unit="", try_="1999 or 2000 for a meter of 3 1/2 digits")
    return float(10.0 ** round(math.log10(range_top / counts)))


def last_digit(readings):
    """Step of the last digit that was written down, the coarsest power of ten that all readings are multiples of.

    Parameters
    ----------
    readings : sequence of float
        As read [unit].

    Returns
    -------
    float or None
        [unit]; None where the numbers fit no step, because they were converted from another unit.
    """
    numbers = np.asarray([reading for reading in readings if reading], dtype=float)
    for power in range(_COARSEST, _FINEST - 1, -1):
        steps = numbers / 10.0**power
        if len(numbers) and np.allclose(steps, np.round(steps), rtol=1e-9, atol=1e-6):
            return 10.0**power
    return None


def covariance(meter, readings):
    """Covariance of readings taken with one instrument on one range: its error is the same error in all of them.

    Parameters
    ----------
    meter : Meter
        The instrument.
    readings : sequence of float
        What it showed [unit].

    Returns
    -------
    array, shape (n, n)
        [unit^2].

    Notes
    -----
    Fully correlated: no average over such readings is better than one of them, and of a difference of two only
    the difference of their doubts is left. Scatter from reading to reading comes on top and is independent.

    References
    ----------
    .. [1] JCGM 100:2008, F.1.2.3 (from memory).
    """
    sigma = np.atleast_1d(meter.sigma(np.asarray(readings, dtype=float)))
    return np.outer(sigma, sigma)


def reading_value(meter, reading):
    """Reading with the standard uncertainty of its instrument.

    Parameters
    ----------
    meter : Meter
        The instrument.
    reading : float
        What it showed [unit].

    Returns
    -------
    Value
        [unit].
    """
    return Value(float(reading), float(meter.sigma(reading)), "meter accuracy")


def lower_range_advice(meter, reading):
    """Advice to turn to the next lower range, where that would help.

    Parameters
    ----------
    meter : Meter
        The instrument with its range or resolution.
    reading : float
        What it showed [unit].

    Returns
    -------
    str
        A sentence; empty where there is nothing to gain, or the lower range could not show the reading.

    Notes
    -----
    Ranges ten times apart, and 2000 counts where the range is not said: common practice.
    """
    range_top = meter.range_top or 2000 * (meter.resolution or 0.0)
    now = float(meter.sigma(reading))
    if not reading or not now or abs(reading) > range_top / 10:
        return ""
    resolution = None if meter.resolution is None else meter.resolution / 10
    lower = Meter(
        meter.unit, meter.reading_share, meter.range_share, meter.digits, meter.fixed, resolution, range_top / 10
    )
    then = float(lower.sigma(reading))
    if then > _WORTH_A_TURN * now:
        return ""
    return (
        f"On the next lower range the doubt of {units.plain(reading, meter.unit)} would fall "
        f"from {100 * now / abs(reading):.2g} % to {100 * then / abs(reading):.2g} %."
    )
