"""What every part shares: frozen, checked at birth, units read at the door, unknown keys refused."""

import math
import types
import typing
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError

from whirlbench import units
from whirlbench.errors import InputError, InputErrors, UnknownKey, nearest, within
from whirlbench.value import Value

_FROM_FILE = {"text": True}


def short(raw):
    """Text of any raw value, cut to what an error message can hold.

    Parameters
    ----------
    raw : object
        What stood in the file.

    Returns
    -------
    str
        At most 60 characters.
    """
    if isinstance(raw, int) and abs(raw) > 1e300:
        return "a very long number"
    text = f"a table of {', '.join(map(str, raw))}" if isinstance(raw, dict) and raw else repr(raw)
    return text if len(text) <= 60 else text[:57] + "..."


def _float(number):
    if abs(number) < 1e300:
        return float(number)
    return math.inf if number > 0 else -math.inf  # a whole number may be too long for a float


class _Carried(ValueError):
    """Carries one of our errors through pydantic, which adds the place."""

    def __init__(self, error):
        self.error = error
        super().__init__(str(error))


def carried(error):
    """Wrap one of our errors so that pydantic adds the place where it arose.

    Parameters
    ----------
    error : InputError
        What is wrong.

    Returns
    -------
    ValueError
        To be raised in a validator.
    """
    return _Carried(error)


class Quantity:
    """Mark of a field that holds a number with a unit: unit, range, and an example for the error text.

    Attributes
    ----------
    unit : str
        SI unit inside, ``""`` for a plain number.
    low, high : float
        Closed range of the number.
    doubtful : bool
        The field holds a ``Value`` instead of a float.
    """

    def __init__(self, unit, low, high, *, doubtful=False):
        self.unit, self.low, self.high, self.doubtful = unit, low, high, doubtful

    def take(self, raw, info):
        """Turn text, a number or a Value into what the field holds.

        Parameters
        ----------
        raw : object
            What stood in the file or was passed in code (then SI already).
        info : pydantic.ValidationInfo
            Name of the field, and whether text is asked for.

        Returns
        -------
        float or Value
            SI number, with doubt where the field wants one.

        Raises
        ------
        ValueError
            Carrying the ``InputError`` that says what is wrong.
        """
        name = info.field_name.replace("_", " ")
        try:
            value = self._value(name, raw, info)
            within(name, value.number, low=self.low, high=self.high, unit=self.unit, try_=self._try(raw))
        except InputError as error:
            raise _Carried(error) from None
        return value if self.doubtful else value.number

    def _value(self, name, raw, info):
        if isinstance(raw, Value):
            return raw
        from_file = bool(info.context)
        is_number = isinstance(raw, int | float) and not isinstance(raw, bool)
        if is_number and (not from_file or not self.unit):
            return Value(_float(raw))
        if not isinstance(raw, str):
            needs = f"text such as '{self.example}'" if self.unit else f"a plain number such as {self.example}"
            try_ = "put the value in quotes with its unit" if self.unit else "write the number alone"
            raise InputError(name, short(raw), needs, try_=try_)
        return units.read_value(name, raw, self.unit)

    @property
    def example(self):
        """Text that would fit the field."""
        return units.EXAMPLES.get(self.unit, f"1 {self.unit}").split("'")[0]

    def _try(self, raw):
        return f"check the number and the unit of {short(raw)}" if isinstance(raw, str) else "check the number"


def _field(unit, low, high, *, doubtful=False):
    mark = Quantity(unit, low, high, doubtful=doubtful)
    return Annotated[Value if doubtful else float, BeforeValidator(mark.take), mark]


Length = _field("m", 1e-6, 20.0)
Offset = _field("m", 0.0, 20.0)
Altitude = _field("m", -400.0, 4000.0)
Speed = _field("m/s", 0.0, 30.0)
Angle = _field("rad", -3.1416, 3.1416)
Mass = _field("kg", 0.0, 500.0)
Time = _field("s", 0.0, 86400.0)
Temperature = _field("K", 263.0, 323.0)
Pressure = _field("Pa", 6e4, 1.1e5)
Fraction = _field("", 0.0, 1.0)
Shift = _field("", -1.0, 1.5)
Stiffness = _field("Pa", 1e5, 1e12)
Density = _field("kg/m^3", 1.0, 3e4)
Force = _field("N", 0.0, 1e5)
Resistance = _field("ohm", 0.0, 1e7)
Voltage = _field("V", 0.0, 1e3)
DoubtfulSpeed = _field("m/s", 0.05, 30.0, doubtful=True)
DoubtfulFraction = _field("", 0.0, 2.0, doubtful=True)
DoubtfulResistance = _field("ohm", 1e-3, 1e5, doubtful=True)
DoubtfulEmfConstant = _field("V*s/rad", 1e-6, 10.0, doubtful=True)
DoubtfulTorque = _field("N*m", 0.0, 10.0, doubtful=True)
DoubtfulJoint = _field("N*m/rad", 0.1, 1e6, doubtful=True)
ViscousFriction = _field("N*m*s/rad", 0.0, 1.0)
Inertia = _field("kg*m^2", 0.0, 10.0)


class Part(BaseModel):
    """A frozen description that refuses unknown keys and points to the nearest known one."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    def changed(self, **fields):
        """Return a new part with these fields changed, checked like any other.

        Parameters
        ----------
        **fields
            Fields and their new values, SI.

        Returns
        -------
        Part
            Same class; the old part stays.

        Raises
        ------
        InputErrors
            A new value that does not fit.
        """
        now = {name: getattr(self, name) for name in type(self).model_fields}
        return build(type(self), {**now, **fields})


def build(model, data, *, from_file=False, where=""):
    """Part of a class from a mapping, or every reason why not.

    Parameters
    ----------
    model : type
        A class of part.
    data : dict
        Keys and values; text with units when ``from_file``.
    from_file : bool
        Refuse bare numbers where a unit is due.
    where : str
        File name, put before each field in errors.

    Returns
    -------
    Part
        The checked part.

    Raises
    ------
    InputErrors
        All that is wrong, each in four pieces.
    """
    try:
        return model.model_validate(data, context=_FROM_FILE if from_file else None)
    except ValidationError as invalid:
        found = [_readable(error, model, where) for error in _true_ones(invalid.errors())]
    raise InputErrors({str(error): error for error in found}.values())


def _true_ones(errors):
    """Without lists that are only called too short because their bad entries were left out."""
    inner = {error["loc"][:-1] for error in errors if error["loc"]}
    return [error for error in errors if error["type"] != "too_short" or error["loc"] not in inner]


def _readable(error, model, where):
    """One of our errors from one of pydantic's."""
    path, holders, inside = _followed(model, error["loc"])
    carried = getattr(error.get("ctx", {}).get("error"), "error", None)
    if isinstance(carried, InputError):
        told = carried.what in [word.replace("_", " ") for word in path]
        place = path if told else [*path, carried.what]  # what a part says as a whole names its field itself
        return type(carried)(_place(where, place), carried.got, carried.needs, try_=carried.try_)
    kind, said = error["type"], error.get("ctx", {})
    if kind == "extra_forbidden":
        known = sorted({name for one in holders for name in one.model_fields})
        return UnknownKey(
            _place(where, path), "an unknown key", "a key this table knows", try_=nearest(path[-1], known)
        )
    if kind == "missing":
        return InputError(_place(where, path), "nothing", "a value", try_=f"add {_example(path, holders, inside)}")
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        known, tag = _kinds(inside), str(said.get("tag", ""))
        got = f"'{tag}'" if "tag" in said else "nothing"
        return InputError(_place(where, [*path, "kind"]), got, _one_of(known), try_=nearest(tag, known))
    needs, try_ = _wanted(kind, said, error)
    return InputError(_place(where, path), short(error["input"]), needs, try_=try_)


def _wanted(kind, said, error):
    """What a field needs and what to try, for the errors that pydantic itself finds."""
    if kind == "literal_error":
        known = [name.strip("' ") for name in said["expected"].replace(" or ", ", ").split(",")]
        near = nearest(str(error["input"]), known)
        return (_one_of(known), near) if len(known) > 1 else (known[0], f"write {known[0]}")
    bounds = {"greater_than_equal": ("ge", "or more"), "less_than_equal": ("le", "or less")}
    if kind in bounds:
        key, words = bounds[kind]
        return f"{said[key]:g} {words}", "check the number"
    if kind == "too_short":
        return f"{said['min_length']} or more entries", "add what is missing to the list"
    if kind == "too_long":
        return f"at most {said['max_length']} entries", "shorten the list"
    for start, words in _WORDS.items():
        if kind.startswith(start):
            return words
    return error["msg"][0].lower() + error["msg"][1:], "compare with the example file"


_WORDS = {
    "int": ("a whole number", "write it without a point, a unit or quotes"),
    "bool": ("true or false", "write true or false, without quotes"),
    "string": ("text", "put it in quotes"),
    "float": ("a plain number", "write the number alone"),
    "finite": ("a plain number", "write the number alone"),
    "tuple": ("a list", "put the values in square brackets"),
    "model": ("a table of keys and values", "open it with a line in square brackets, as the example file does"),
    "dict": ("a table of keys and values", "open it with a line in square brackets, as the example file does"),
}


def _place(where, path):
    return " > ".join([*([where] if where else []), *path])


def _one_of(names):
    return "one of " + ", ".join(str(name) for name in names)


def _followed(model, path):
    """Words of a path, the models that may hold its last word, and those that the word may stand for.

    pydantic puts the kind of a part into the path and counts from 0; neither stands in the file.
    """
    words, holders, inside = [], [], [model]
    for step in path:
        kind = [one for one in inside if step in _tags(one)] if len(inside) > 1 else []
        if isinstance(step, int):
            words.append(f"#{step + 1}")
        elif kind:
            inside = kind
        else:
            words.append(str(step))
            fields = [one.model_fields[step] for one in inside if step in one.model_fields]
            holders, inside = inside, [inner for field in fields for inner in _models(field.annotation)]
    return words, holders, inside


def _models(annotation):
    """Every class of part that an annotation may hold."""
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias):
        return [annotation] if issubclass(annotation, BaseModel) else []
    return [one for part in typing.get_args(annotation) for one in _models(part)]


def _tags(model):
    kind = model.model_fields.get("kind")
    return typing.get_args(kind.annotation) if kind else ()


def _kinds(models):
    return [tag for one in models for tag in _tags(one)]


def _example(path, holders, inside):
    """Line that would fit a missing field, as far as the annotations tell."""
    name = path[-1]
    if inside:
        return f"a table [{'.'.join(word for word in path if word[0] != '#')}], as the example file does"
    field = next(model.model_fields[name] for model in holders if name in model.model_fields)
    for mark in field.metadata:
        if isinstance(mark, Quantity):
            return f'{name} = "{mark.example}"'
    return f"{name} = " + {int: "8", str: '"..."'}.get(field.annotation, "[...]")
