"""Text to SI and back: the only two doors for units."""

import functools
import math
import re

from whirlbench.errors import UnitError
from whirlbench.value import Value

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_FRACTION = re.compile(r"^\s*(?:(\d+)[\s-]+)?(\d+)\s*/\s*(\d+)\s*(?![\d/.])")
_PLAIN = re.compile(rf"^\s*({_NUMBER})\s*(.*)$")
_DOUBT = re.compile(rf"^(.*?)\s*(?:±|\+/-|\+-)\s*({_NUMBER})\s*(%?)\s*(.*)$", re.DOTALL)
_RANGE = re.compile(rf"^\s*({_NUMBER})\s*:\s*({_NUMBER})\s*:\s*({_NUMBER})\s*([^:]*)$")
_WORD = r"\(?(?:[^\W\d_]|[°%\"])+(?:(?:\*\*|\^)-?\d|[²³])?\)?"
# the library would work out '5 m*9**9**9**9'; only words, one-digit powers, products and quotients get there
_UNIT = re.compile(rf"(?:1\s*/\s*)?{_WORD}(?:(?:\s*[*/·]\s*|\s+){_WORD})*")
_LONGEST_UNIT, _LONGEST_SERIES = 40, 1000
_SPELLINGS = {
    "": "dimensionless",
    '"': "inch",
    "″": "inch",
    "in": "inch",
    "deg": "degree",
    "°": "degree",
    "°C": "degC",
    "C": "degC",
    "deg C": "degC",
    "°F": "degF",
    "F": "degF",
    "deg F": "degF",
    "Ω": "ohm",
    "ohms": "ohm",
    "Ohm": "ohm",
    "Ohms": "ohm",
    "%": "percent",
    "gal": "gallon",
    "rev/min": "rpm",
    "turns/min": "rpm",
    "RPM": "rpm",
    "rev/s": "rps",
    "turns/s": "rps",
    "hz": "Hz",
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
# SI unit, scale and offset of what nearly every file and answer uses: the library, which takes a fifth of a second to
# load, is asked for all others, and a test holds these against it
EVERYDAY = {
    **{
        unit: (unit, 1.0, 0.0)
        for unit in ("m", "m/s", "rad", "rad/s", "s", "kg", "N", "Pa", "V", "A", "W", "J", "Hz", "ohm", "K")
    },
    "dimensionless": ("dimensionless", 1.0, 0.0),
    "percent": ("dimensionless", 0.01, 0.0),
    "mm": ("m", 1e-3, 0.0),
    "cm": ("m", 1e-2, 0.0),
    "inch": ("m", 0.0254, 0.0),
    "degree": ("rad", math.pi / 180, 0.0),
    "rpm": ("rad/s", math.pi / 30, 0.0),
    "g": ("kg", 1e-3, 0.0),
    "hPa": ("Pa", 100.0, 0.0),
    "degC": ("K", 1.0, 273.15),
    "degF": ("K", 5 / 9, 459.67 * 5 / 9),
    "mV": ("V", 1e-3, 0.0),
    "mA": ("A", 1e-3, 0.0),
    "mW": ("W", 1e-3, 0.0),
    "mN*m": ("N*m", 1e-3, 0.0),
    "N*m": ("N*m", 1.0, 0.0),
    "g*cm**2": ("kg*m**2", 1e-7, 0.0),
}


@functools.cache
def _registry():
    import pint

    try:
        registry = pint.UnitRegistry(cache_folder=":auto:", autoconvert_offset_to_baseunit=True)
    except OSError:  # a home that cannot be written to only costs half a second
        registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define("krpm = 1000 * rpm")
    return registry


@functools.lru_cache(maxsize=4096)
def _factors(given, wanted):
    """Scale and offset that turn a number in ``given`` into ``wanted``; None when they do not fit."""
    si, *factors = EVERYDAY.get(given, (None,))
    return tuple(factors) if si == wanted else _library_factors(given, wanted)


def _library_factors(given, wanted):
    registry = _registry()
    try:
        turns = _turns(given, wanted)
        zero = registry.Quantity(0.0, given).to(wanted).magnitude
        one = registry.Quantity(1.0, given).to(wanted).magnitude
    except Exception:
        return None
    return None if turns is None else ((one - zero) * turns, zero)


def _turns(given, wanted):
    """Radians of a turn where a rate becomes a speed: the library takes 1 Hz for 1 rad/s; of 1/s nobody knows."""
    kinds = [_rate(given), _rate(wanted)]
    if kinds == ["hertz", "radian"]:
        return 2 * math.pi
    if kinds == ["radian", "hertz"]:
        return 1 / (2 * math.pi)
    return None if set(kinds) == {"", "radian"} else 1.0


@functools.cache
def _rate(unit):
    """Whether a unit of something a second counts in hertz or turns in radian; empty for a bare rate, else None."""
    one = _registry().Quantity(1.0, unit)
    if not one.check("1/[time]"):
        return None
    names = [name for unit in (one, one.to_base_units()) for name, _ in unit.unit_items()]
    return next((kind for kind in ("hertz", "radian") if any(name.endswith(kind) for name in names)), "")


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
    """Number with doubt from text such as ``9.3 ohm +- 5 %``, ``9.3 +- 0.4 ohm`` or ``9.3 ohm +- 400 mohm``.

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
    head, size, percent, tail = _DOUBT.match(plain).groups() if _DOUBT.match(plain) else (plain, "0", "", "")
    number, given = _split(what, text, head, unit)
    given = given.strip() or tail  # 9.3 +- 0.4 ohm: the unit at the end is for both
    scale, offset = _conversion(what, text, given, unit)
    value = number * scale + offset
    if percent:
        sigma = abs(value * float(size)) / 100
    else:
        sigma = abs(float(size) * _conversion(what, text, tail or given, unit)[0])
    if not (math.isfinite(value) and math.isfinite(sigma)):
        raise _not_fitting(what, text, unit)
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
    steps = _RANGE.match(str(text))
    if steps:
        first, last, step = (float(number) for number in steps.groups()[:3])
        return [read(what, f"{number!r} {steps[4]}".strip(), unit) for number in _run(what, text, (first, last, step))]
    pieces = [piece.strip() for piece in str(text).split(",") if piece.strip()] or [""]
    if len(pieces) > _LONGEST_SERIES:
        raise _not_whole(what, text)
    final = _PLAIN.match(pieces[-1])
    given = final[2] if final else ""
    alone = [_PLAIN.match(piece) and not _PLAIN.match(piece)[2] for piece in pieces]
    return [
        read(what, f"{piece} {given}".strip() if bare else piece, unit)
        for piece, bare in zip(pieces, alone, strict=True)
    ]


def _run(what, text, steps):
    """Numbers from first to last, both included."""
    first, last, step = steps
    exact = (last - first) / step if step else math.inf
    if not 0 <= exact < _LONGEST_SERIES or abs(exact - round(exact)) > 1e-6:
        raise _not_whole(what, text)
    return [first + i * step for i in range(round(exact) + 1)]


def _not_whole(what, text):
    needs = f"first:last:step with whole steps, at most {_LONGEST_SERIES} numbers"
    return UnitError(what, _quoted(text), needs, try_="write 2:8:0.5 for 2, 2.5, 3 and so on up to 8")


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
    value = _from_si(number, unit) + 0.0  # no -0
    if value and math.isfinite(value):
        places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
        return f"{value:.{places}f} {unit}".strip()
    return f"{value:.0f} {unit}".strip()


def plain(number, unit):
    """Text for a size that someone sets or cuts: at most three digits, no idle zeros.

    Parameters
    ----------
    number : float
        SI number.
    unit : str
        The unit to show, for example ``mm`` or ``deg``.

    Returns
    -------
    str
        Number, space, unit.
    """
    value = _from_si(number, unit)
    places = 3 if abs(value) < 1000 else len(f"{abs(value):.0f}")
    return f"{value:.{places}g} {unit}".strip()


def length(number):
    """Text for a length, metric with inches behind.

    Parameters
    ----------
    number : float
        [m].

    Returns
    -------
    str
        Such as ``203 mm (8 in)``.
    """
    return f"{plain(number, 'mm')} ({plain(number, 'in')})"


def _from_si(number, unit):
    word = _pint_unit(unit)
    if word in EVERYDAY:
        _, scale, offset = EVERYDAY[word]
        return (number - offset) / scale
    scale, offset = _factors(_si_of(word), word) or (1.0, 0.0)
    return number * scale + offset


@functools.cache
def _si_of(word):
    return str(_registry().Quantity(1.0, word).to_base_units().units)


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
    given = given.strip()
    known = given in _SPELLINGS or (len(given) <= _LONGEST_UNIT and _UNIT.fullmatch(given))
    found = _factors(_pint_unit(given), _pint_unit(unit)) if known and (given or not unit) else None
    if found is None:
        raise _not_fitting(what, text, unit)
    return found


def _not_fitting(what, text, unit):
    example = EXAMPLES.get(unit, f"1 {unit}")
    needs = f"a number and a unit such as '{example}'" if unit else f"a plain number such as '{example}'"
    try_ = "write the number, a space, and the unit on the instrument or ruler" if unit else "write the number alone"
    if re.search(r"\d,\d", str(text)):
        try_ = "write decimals with a point, as in 4.5, and no comma between thousands"
    return UnitError(what, _quoted(text), needs, try_=try_)


def _quoted(text):
    return repr(text) if len(repr(text)) <= 60 else repr(text)[:57] + "..."
