"""What differs between two versions of a turbine, field by field."""

import typing
from dataclasses import dataclass

from whirlbench import units
from whirlbench.parts.part import Part, Quantity
from whirlbench.value import Value

_SHOWN_AS = {"m": "mm", "rad": "deg", "kg": "g", "K": "degC", "N*m": "mN*m"}


@dataclass(frozen=True)
class Difference:
    """One field that differs.

    Attributes
    ----------
    field : str
        Place in the file, such as ``rotor > pitch``.
    before, after : str or None
        As a person writes them; None where the field is not there.
    """

    field: str
    before: str | None
    after: str | None

    @property
    def sentence(self):
        """The difference in plain words."""
        if self.before is None:
            return f"{self.field}: {self.after} is new"
        if self.after is None:
            return f"{self.field}: {self.before} is gone"
        return f"{self.field}: {self.before} becomes {self.after}"


def differences(before, after):
    """What differs between two parts.

    Parameters
    ----------
    before, after : Part
        Two versions.

    Returns
    -------
    tuple of Difference
        In the order of the files' tables.
    """
    old, new = dict(_leaves(before)), dict(_leaves(after))
    found = []
    for field in dict.fromkeys([*old, *new]):
        pair = old.get(field), new.get(field)
        if pair[0] != pair[1]:
            found.append(Difference(field, *_told_apart(*pair)))
    return tuple(found)


def _leaves(value, path=(), unit=""):
    """Place and content of everything that is neither a table nor a list."""
    if isinstance(value, Part):
        for name, field in type(value).model_fields.items():
            yield from _leaves(getattr(value, name), (*path, name), _unit(field.metadata, field.annotation))
    elif isinstance(value, tuple):
        for number, one in enumerate(value, 1):
            yield from _leaves(one, (*path, f"#{number}"), unit)
    elif value is not None:
        yield " > ".join(path), (value, unit)


def _unit(metadata, annotation):
    """Unit of the quantity that an annotation holds, however deep: Length | None, tuple[Speed, ...]."""
    marks = [mark for mark in metadata if isinstance(mark, Quantity)]
    if marks:
        return marks[0].unit
    inner = [_unit(getattr(one, "__metadata__", ()), one) for one in typing.get_args(annotation)]
    return next(filter(None, inner), "")


def _told_apart(*pair):
    """Both in as few digits as show that they differ."""
    for digits in (None, 6):
        texts = [leaf and _text(*leaf, digits) for leaf in pair]
        if texts[0] != texts[1]:
            return texts
    return [leaf and repr(leaf[0]) for leaf in pair]


def _text(value, unit, digits):
    if isinstance(value, Value):
        doubt = f" ± {_number(value.sigma, unit, digits)}" if value.sigma else ""
        return _number(value.number, unit, digits) + doubt
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _number(value, unit, digits) if isinstance(value, float) else str(value)


def _number(number, unit, digits):
    shown = _SHOWN_AS.get(unit, unit)
    return units.plain(number, shown) if digits is None else units.show(number, shown, digits)
