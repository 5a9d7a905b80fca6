"""Text to SI and back: the only two doors for units."""

import functools
import math
import re

from whirlbench.errors import UnitError
from whirlbench.value import Value

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_FRACTION = re.compile(r"^\s*(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)\s*(?![\d/.])")
_PLAIN = re.compile(rf"^\s*({_NUMBER})\s*(.*)$")
_DOUBT = re.compile(rf"\s*(?:±|\+/-|\+-)\s*({_NUMBER})\s*(%?)\s*")
_SPELLINGS = {
    "": "dimensionless",
    '"': "inch",
    "in": "inch",
    "deg": "degree",
    "°": "degree",
    "°C": "degC",
    "C": "degC",
    "°F": "degF",
    "F": "degF",
    "Ω": "ohm",
    "ohms": "ohm",
    "%": "percent",
    "gal": "gallon",
    "rev/min": "rpm",
    "turns/min": "rpm",
    "µm": "micrometer",
}
EXAMPLES = {
    "m": "25 mm' or '1 in",
    "m/s": "5 m/s",
    "rad": "12 deg",
    "rad/s": "300 rpm",
    "ohm": "47 ohm",
    "V": "1.5 V",
    "A": "120 mA",
    "kg": "30 g",
    "N": "2.5 N",
    "N*m": "0.4 mN*m",
    "Pa": "1005 hPa",
    "K": "21 degC",
    "s": "30 s",
    "V*s/rad": "1.5 V/krpm",
    "": "0.5' or '50 %",
    "kg/m^3": "1240 kg/m^3",
    "kg/m^2": "450 g/m^2",
    "N*m/rad": "40 N*m/rad",
    "N*m*s/rad": "1e-6 N*m*s/rad",
    "kg*m^2": "20 g*cm^2",
    "T": "1.2 T",
    "H": "2.8 mH",
}


@functools.cache
def _registry():
    import pint

    registry = pint.UnitRegistry(cache_folder=":auto:", autoconvert_offset_to_baseunit=True)
    registry.define("krpm = 1000 * rpm")
    return registry


@functools.cache
def _factors(given, wanted):
    """Scale and offset that turn a number in ``given`` into ``wanted``; None when they do not fit."""
    registry = _registry()
    try:
        zero = registry.Quantity(0.0, given).to(wanted).magnitude
        one = registry.Quantity(1.0, given).to(wanted).magnitude
    except Exception:
        return None
    return one - zero, zero


def _pint_unit(text):
    text = text.strip()
    text = _SPELLINGS.get(text, text)
    return text.replace("Ω", "ohm").replace("·", "*").replace("²", "**2").replace("³", "**3").replace("^", "**")


def read(what, text, unit):
    """SI number from text such as ``25 mm``, ``1-1/4 in`` or ``300 rpm``.

    Parameters
    ----------
    what : str
        Name of the field, for the error.
    text : str or float
        Number with unit. A bare number is taken only where ``unit`` is dimensionless.
    unit : str
        SI unit of the answer, ``""`` for a plain number.

    Returns
    -------
    float
        The number in ``unit``.

    Raises
    ------
    UnitError
        No number, no unit, a unit of another kind, or an infinite number.
    """
    return read_value(what, text, unit).number


def read_value(what, text, unit, source="given"):
    """Number with doubt from text such as ``9.3 ohm +- 5 %`` or ``9.3 +- 0.4 ohm``.

    Parameters
    ----------
    what : str
        Name of the field, for the error.
    text : str or float
        Number with unit, with or without a doubt (one standard deviation).
    unit : str
        SI unit of the answer, ``""`` for a plain number.
    source : str
        Where the number came from.

    Returns
    -------
    Value
        Number and standard uncertainty in ``unit``.

    Raises
    ------
    UnitError
        No number, no unit, a unit of another kind, or an infinite number.
    """
    plain = str(text).strip()
    doubt = _DOUBT.search(plain)
    body = (plain[: doubt.start()] + " " + plain[doubt.end() :]).strip() if doubt else plain
    number, given = _split(what, text, body, unit)
    scale, offset = _conversion(what, text, given, unit)
    value = number * scale + offset
    if not math.isfinite(value):
        raise _not_fitting(what, text, unit)
    sigma = 0.0
    if doubt:
        size = abs(float(doubt[1]))
        sigma = abs(value) * size / 100 if doubt[2] else size * abs(scale)
    return Value(value, sigma, source)


def read_series(what, text, unit):
    """SI numbers from text such as ``4 m/s``, ``3, 4.5, 6 m/s`` or ``2:8:0.5 m/s`` (first:last:step).

    Parameters
    ----------
    what : str
        Name of the field, for the error.
    text : str
        Numbers and one unit at the end; the unit may be left out where ``unit`` is dimensionless.
    unit : str
        SI unit of the answer.

    Returns
    -------
    list of float
        Numbers in ``unit``, at least one.

    Raises
    ------
    UnitError
        No numbers, no unit, a step of 0, or more than 1000 numbers.
    """
    series = re.fullmatch(rf"\s*([^a-zA-Z°%]*?)\s*([a-zA-Z°%].*)?", str(text))
    body, given = (series[1], series[2] or "") if series else (str(text), "")
    if ":" not in body:
        return [read(what, f"{number} {given}".strip(), unit) for number in body.split(",") if number.strip()] or [
            read(what, text, unit)
        ]
    try:
        first, last, step = (float(number) for number in body.split(":"))
    except ValueError:
        raise _not_fitting(what, text, unit) from None
    count = int(round((last - first) / step)) + 1 if step else 0
    if not 1 <= count <= 1000 or abs(first + (count - 1) * step - last) > 1e-6 * abs(step) * count:
        needs = "first:last:step with whole steps, at most 1000"
        raise UnitError(what, f"{text!r}", needs, try_=f"write 2:8:0.5 {unit}".strip())
    return [read(what, f"{first + i * step!r} {given}".strip(), unit) for i in range(count)]


def show(number, unit, digits=3):
    """Text for a person from an SI number.

    Parameters
    ----------
    number : float
        SI number.
    unit : str
        The unit to show, for example ``mm`` or ``rpm``.
    digits : int
        Significant digits.

    Returns
    -------
    str
        Number, space, unit.
    """
    scale, offset = _factors(_si_of(unit), _pint_unit(unit)) or (1.0, 0.0)
    value = number * scale + offset
    if value and math.isfinite(value):
        places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
        return f"{value:.{places}f} {unit}".strip()
    return f"{value:.0f} {unit}".strip()


@functools.cache
def _si_of(unit):
    return str(_registry().Quantity(1.0, _pint_unit(unit)).to_base_units().units)


def _split(what, text, body, unit):
    fraction = _FRACTION.match(body)
    if fraction and int(fraction[3]):
        whole = int(fraction[1] or 0)
        return whole + int(fraction[2]) / int(fraction[3]), body[fraction.end() :]
    plain = _PLAIN.match(body)
    if not plain:
        raise _not_fitting(what, text, unit)
    return float(plain[1]), plain[2]


def _conversion(what, text, given, unit):
    if not given.strip() and unit:
        raise _not_fitting(what, text, unit)
    found = _factors(_pint_unit(given), _pint_unit(unit))
    if found is None:
        raise _not_fitting(what, text, unit)
    return found


def _not_fitting(what, text, unit):
    example = EXAMPLES.get(unit, f"1 {unit}")
    needs = f"a number and a unit such as '{example}'" if unit else f"a plain number such as '{example}'"
    return UnitError(
        what, f"{text!r}", needs, try_="write the number, a space, and the unit on the instrument or ruler"
    )
