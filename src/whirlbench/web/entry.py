"""The entry form of a reading: what is typed with any unit and either decimal mark, and the numbers typed again."""

import re
from dataclasses import dataclass, field

from whirlbench import units
from whirlbench.errors import InputError
from whirlbench.measure.cells import OPEN, entry
from whirlbench.measure.headers import unit_of
from whirlbench.measure.readings import Reading

UNITS = {
    "wind_speed": ("m/s", "km/h", "mph", "ft/s"),
    "load_resistance": ("ohm", "kohm"),
    "voltage": ("V", "mV"),
    "current": ("A", "mA"),
    "rotor_speed": ("rpm", "rad/s"),
    "generator_speed": ("rpm", "rad/s"),
    "air_temperature": ("degC", "degF", "K"),
    "air_pressure": ("hPa", "kPa", "inHg"),
    "humidity": ("%",),
    "tip_force": ("N", "gf"),
    "tip_deflection": ("mm", "cm", "in"),
}
MAIN = ("wind_speed", "load_resistance", "voltage", "current", "rotor_speed")
MORE = tuple(name for name in UNITS if name not in MAIN)
WORDS = ("build", "block", "meter", "note")
KEPT = ("wind_speed", "load_resistance")  # stay in their fields for the next reading
COOKIE = "reading-units"
_NUMBER = re.compile(r"^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)$", re.DOTALL)
_DIGITS, _LONGEST = 6, 10_000


@dataclass
class Typed:
    """A form that was sent.

    Attributes
    ----------
    texts, units : dict of str to str
        As typed, and the units that were shown beside the fields.
    numbers : dict
        Fields of a ``Reading``, SI.
    wrong : dict of str to str
        What cannot be used, by field, in four pieces.
    pushed : bool
        Whether the rotor was started by hand.
    """

    texts: dict = field(default_factory=dict)
    units: dict = field(default_factory=dict)
    numbers: dict = field(default_factory=dict)
    wrong: dict = field(default_factory=dict)
    pushed: bool = False

    def fields(self):
        """Return the fields of a ``Reading``, without its row."""
        words = {name: self.texts[name] for name in WORDS}
        return {**self.numbers, **words, "pushed": self.pushed}

    def reading(self, **more):
        """Return what was read."""
        return Reading(row=0, **{**self.fields(), **more})


def typed(form, *, before=None):
    """Form that was sent; a field that still says what ``before`` says keeps its number to the last digit."""
    found = Typed(pushed=form.get("pushed") == "yes")
    for name in UNITS:
        unit = str(form.get(f"{name}_unit", ""))
        found.units[name] = unit if unit in UNITS[name] else UNITS[name][0]
        found.texts[name] = str(form.get(name, ""))[:_LONGEST].strip()
        kept = getattr(before, name, None)
        if kept is not None and found.texts[name] == text(name, kept, found.units[name]):
            found.numbers[name] = kept
            continue
        try:
            found.numbers[name] = number(name, found.texts[name], found.units[name])
        except InputError as error:
            found.wrong[name] = str(error)
    for name in WORDS:
        found.texts[name] = str(form.get(name, "")).strip()
        if len(found.texts[name]) > _LONGEST:
            found.wrong[name] = str(InputError(name, "very many letters", "fewer of them", try_="shorten it"))
    if not found.wrong and all(found.numbers[name] is None for name in ("wind_speed", "tip_force")):
        try_ = "write the wind of this reading, or the pull of a tower test"
        found.wrong["wind_speed"] = str(InputError("wind", "nothing", "a wind speed", try_=try_))
    return found


def number(name, typed_text, unit):
    """SI number of a field, or None; a bare number is in the unit that is shown beside it."""
    what = name.replace("_", " ")
    plain = typed_text.replace("−", "-").replace("\u2019", "")
    if plain.count(",") == 1 and "." not in plain:
        plain = plain.replace(",", ".")
    match = _NUMBER.match(plain)
    bare, own = match.groups() if match else (plain, "")
    if own and (known := unit_of(name, own)) is not None:
        return entry(name, bare, known, place=what)
    return entry(name, plain, "" if own else unit, place=what)


def text(name, value, unit):
    """SI number as its field shows it, without the unit."""
    if value is None:
        return ""
    if name == "load_resistance" and value == OPEN:
        return "open"
    return f"{float(units.show(value, unit, 12).split()[0]):.{_DIGITS}g}"


def shown(name, value):
    """SI number as a table shows it, with the unit that people read."""
    if value is None:
        return ""
    unit = UNITS[name][0]
    if unit in ("V", "A") and 0 < abs(value) < 1:
        unit = f"m{unit}"
    said = text(name, value, unit)
    return said if said == "open" else f"{float(said):.4g} {unit}".replace("degC", "°C").replace("ohm", "Ω")


def of_reading(reading, own_units):
    """Texts of the form that says what a reading says."""
    texts = {name: text(name, getattr(reading, name), own_units[name]) for name in UNITS}
    return Typed(
        texts={**texts, **{name: getattr(reading, name) for name in WORDS}}, units=own_units, pushed=reading.pushed
    )


def first(reading, own_units):
    """Form for the next reading: wind and load stay as in the last one."""
    found = of_reading(reading or Reading(row=0), own_units)
    for name in found.texts:
        if name not in KEPT:
            found.texts[name] = ""
    found.pushed = False
    return found


def order(readings):
    """Main fields, those first that the latest readings used, and whether any of the others was used."""
    used = {name for reading in readings for name in UNITS if getattr(reading, name) is not None}
    used |= set() if readings else {"wind_speed", "load_resistance", "voltage"}
    return [*(name for name in MAIN if name in used), *(name for name in MAIN if name not in used)], bool(
        used & set(MORE)
    )


def chosen_units(request):
    """Units beside the fields, as this browser used them last."""
    words = request.cookies.get(COOKIE, "")[:400].split("|")
    said = dict(piece.partition(":")[::2] for piece in words)
    return {name: said[name] if said.get(name) in known else known[0] for name, known in UNITS.items()}


def keep_units(answer, own_units):
    """Have the browser remember the units that were used."""
    other = [f"{name}:{unit}" for name, unit in own_units.items() if unit != UNITS[name][0]]
    answer.set_cookie(COOKIE, "|".join(other), max_age=60 * 60 * 24 * 60, httponly=True, samesite="strict")
    return answer
