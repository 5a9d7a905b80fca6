"""Parts as canonical JSON, to be kept, compared or sent to another process."""

import json
from dataclasses import asdict

from whirlbench.parts.part import build
from whirlbench.value import Value

_VALUE = set(Value.__dataclass_fields__)


def text_of(content):
    """Canonical JSON: equal content is equal text.

    Parameters
    ----------
    content : Part or plain values
        A part of a turbine, or anything that JSON can hold.

    Returns
    -------
    str
        Sorted keys, no spaces, every digit of a number.
    """
    plain = content.model_dump() if hasattr(content, "model_dump") else content
    return json.dumps(plain, sort_keys=True, separators=(",", ":"), allow_nan=False, default=asdict)


def part_of(model, text, *, where="store"):
    """Part from its canonical JSON.

    Parameters
    ----------
    model : type
        Class of the part.
    text : str
        From ``text_of``.
    where : str
        Where it came from, for the error.

    Returns
    -------
    Part
        Equal to the one that was written.

    Raises
    ------
    InputErrors
        Content that this program does not take.
    """
    return build(model, json.loads(text, object_hook=_value), where=where)


def _value(table):
    return Value(**table) if set(table) == _VALUE else table
