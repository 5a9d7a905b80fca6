"""What every part shares: frozen, checked at birth, units read at the door, unknown keys refused."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError, model_validator

from whirlbench import units
from whirlbench.errors import InputError, InputErrors, UnknownKey, nearest, within
from whirlbench.value import Value

_FROM_FILE = {"text": True}


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
            return Value(float(raw))
        if not isinstance(raw, str):
            raise InputError(
                name, repr(raw), f"text such as '{self.example}'", try_="put the value in quotes with its unit"
            )
        return units.read_value(name, raw, self.unit)

    @property
    def example(self):
        """Text that would fit the field."""
        return units.EXAMPLES.get(self.unit, f"1 {self.unit}").split("'")[0]

    def _try(self, raw):
        return f"check the number and the unit of {raw!r}" if isinstance(raw, str) else "check the number"


def _field(unit, low, high, *, doubtful=False):
    mark = Quantity(unit, low, high, doubtful=doubtful)
    return Annotated[Value if doubtful else float, BeforeValidator(mark.take), mark]


Length = _field("m", 1e-6, 20.0)
Offset = _field("m", 0.0, 20.0)
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
ArealMass = _field("kg/m^2", 1e-3, 50.0)
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
FluxDensity = _field("T", 0.01, 2.0)


class Part(BaseModel):
    """A frozen description that refuses unknown keys and points to the nearest known one."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    @model_validator(mode="before")
    @classmethod
    def _known_keys_only(cls, data: Any):
        if isinstance(data, dict):
            for key in data:
                if key not in cls.model_fields:
                    error = UnknownKey(
                        str(key), "an unknown key", "a key this table knows", try_=nearest(str(key), cls.model_fields)
                    )
                    raise _Carried(error)
        return data

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
        found = [_readable(error, model, where) for error in invalid.errors()]
    raise InputErrors({str(error): error for error in found}.values())


def _readable(error, model, where):
    """One of our errors from one of pydantic's."""
    steps = [str(step) for step in error["loc"]]
    carried = getattr(error.get("ctx", {}).get("error"), "error", None)
    if isinstance(carried, InputError):
        known = carried.what if isinstance(carried, UnknownKey) else None
        place = " > ".join([where, *steps, *([known] if known else [])]).strip(" >")
        return type(carried)(place or carried.what, carried.got, carried.needs, try_=carried.try_)
    name = " > ".join([where, *steps]).strip(" >")
    if error["type"] == "missing":
        example = _example(model, error["loc"])
        return InputError(name, "nothing", "a value", try_=f"add {steps[-1]} = {example}")
    if error["type"] in ("union_tag_invalid", "union_tag_not_found"):
        expected = error["ctx"].get("expected_tags", "a kind")
        return InputError(
            f"{name} > kind",
            repr(error["ctx"].get("tag", "nothing")),
            f"one of {expected}",
            try_="choose one of these kinds",
        )
    return InputError(
        name,
        repr(error["input"])[:60],
        error["msg"][0].lower() + error["msg"][1:],
        try_="compare with the example file",
    )


def _example(model, path):
    """Text that would fit the field at ``path``, as far as the annotations tell."""
    for step in path:
        field = getattr(model, "model_fields", {}).get(step)
        if field is None:
            return "..."
        for mark in field.metadata:
            if isinstance(mark, Quantity):
                return f'"{mark.example}"'
        model = field.annotation
    return "..."
