"""Parts as the TOML text that reads back as the same parts."""

import math
import typing

from whirlbench import units
from whirlbench.parts.part import Part, Quantity
from whirlbench.parts.toml import toml_text
from whirlbench.value import Value

_ALWAYS = ("format", "kind")  # keys that a reader looks for before all others
_SAME = 1e-12  # a length in inches has more digits than anybody can cut
_USUAL = {"m": "mm", "rad": "deg", "Pa": "hPa", "m^2": "mm^2"}  # units that stand on a ruler or an instrument


def text_of(part):
    """TOML text of a part.

    Parameters
    ----------
    part : Part
        A turbine, a parts bin or an event.

    Returns
    -------
    str
        What differs from the defaults, every number with its unit.
    """
    return toml_text(_table(part))


def _table(part):
    found = {}
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        usual = value is None or value == field.get_default(call_default_factory=True)
        if name in _ALWAYS or not usual:
            found[name] = _plain(value, next(_marks([*field.metadata, field.annotation]), None))
    return found


def _plain(value, mark):
    if isinstance(value, Part):
        return _table(value)
    if isinstance(value, tuple | list):
        return [_plain(one, mark) for one in value]
    if isinstance(value, Value):
        return " +- ".join(_text(one, mark.unit) for one in (value.number, value.sigma)[: 1 + bool(value.sigma)])
    return _text(value, mark.unit) if isinstance(value, float) and mark and mark.unit else value


def _text(number, unit):
    """Few digits where they say the same number to all that counts, else every digit."""
    if not unit:
        return repr(number)
    usual = _USUAL.get(unit, unit)
    text = f"{number / units.read('size', f'1 {usual}', unit):.9g} {usual}"
    return text if math.isclose(units.read("number", text, unit), number, rel_tol=_SAME) else f"{number!r} {unit}"


def _marks(found):
    """Marks of quantities inside an annotation."""
    for one in found:
        if isinstance(one, Quantity):
            yield one
        else:
            yield from _marks([*getattr(one, "__metadata__", ()), *typing.get_args(one)])
