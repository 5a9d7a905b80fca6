"""The fields of a turbine that a person may change: what each is called, what stands in it, what it may hold."""

import functools
import math
import typing
from dataclasses import dataclass, field

from whirlbench import tables, units
from whirlbench.parts import edit
from whirlbench.parts.part import Part, Quantity
from whirlbench.value import Value

GROUPS = ("wind", "rotor", "drivetrain", "generator", "load", "tower")
_GROUP = {"air": "wind", "bearing": "drivetrain", "base": "tower"}
_SHOWN = {"m": "mm", "rad": "deg", "kg": "g", "K": "degC", "N*m": "mN*m", "Pa": "hPa", "kg*m^2": "g*cm^2"}
_INCHES = {"mm": "in"}
_SHARES = ("fill", "camber", "humidity", "slip")  # plain numbers that people write in percent
_NAMED = {
    "generator.type": ("generator/dc_motors", "name"),
    "generator.grade": ("generator/ndfeb_grades", "grade"),
    "load.colour": ("load/leds", "colour"),
    "base.surface": ("base/friction", "pair"),
    "drivetrain.*.teeth": ("gears/sliding_friction", "pair"),
    "rotor.section.material": ("materials/density", "name"),
    "rotor.section.name": ("sections/catalogue", "name"),
    "rotor.rod.material": ("materials/density", "name"),
    "tower.tube.nominal": ("tower/pvc_pipe", "nominal"),
}
# what people turn first: words, and the range of a slider in the unit shown
_FIRST = {
    "wind.mean_speed": ("mean wind of the map", 1.5, 9, 0.1),
    "wind.speed": ("wind speed", 1.5, 9, 0.1),
    "rotor.blade_count": ("number of blades", None, None, None),
    "rotor.pitch": ("pitch at the tip", -4, 60, 1),
    "rotor.shape.tip_radius": ("axis to blade tip", 100, 500, 1),
    "rotor.shape.root_chord": ("blade width at the root", 15, 140, 1),
    "rotor.shape.tip_chord": ("blade width at the tip", 10, 140, 1),
    "rotor.shape.twist": ("twist", -5, 45, 1),
    "rotor.section.camber": ("bend of the sheet", 0, 12, 0.5),
    "drivetrain.stages": ("gears or belt", None, None, None),
    "drivetrain.*.rotor_teeth": ("teeth towards the rotor", 8, 120, 1),
    "drivetrain.*.generator_teeth": ("teeth towards the generator", 8, 120, 1),
    "drivetrain.*.module": ("size of the teeth (module)", 0.3, 2, 0.1),
    "drivetrain.*.rotor_diameter": ("pulley towards the rotor", 10, 200, 1),
    "drivetrain.*.generator_diameter": ("pulley towards the generator", 5, 100, 1),
    "generator.type": ("generator", None, None, None),
    "generator.turns": ("turns of each coil", 50, 3000, 10),
    "load.resistance": ("load", 1, 1000, 0),
    "load.colour": ("colour of the LEDs", None, None, None),
    "load.in_series": ("LEDs in a string", 1, 12, 1),
    "load.in_parallel": ("strings side by side", 1, 20, 1),
    "tower.height": ("height of the axis above the joint", 200, 1200, 5),
    "base.width": ("width of the base", 100, 800, 5),
    "base.ballast": ("ballast on the base", 0, 5000, 50),
}
_LOG = ("load.resistance",)  # sliders whose steps are shares
_STAGES = (edit.NOTHING, "gears", "belt", "gears, gears", "gears, belt")
_NOT_HERE = ("format", "name", "note")  # of the turbine itself


@dataclass(frozen=True)
class Field:
    """One field of a turbine as a person sees it.

    Attributes
    ----------
    path : str
        Where it stands, such as ``rotor.pitch``.
    label, group : str
        Its name in plain words, and the part group that it belongs to.
    text : str
        What stands in it, with its unit.
    unit : str
        Unit that it is shown in; empty for a plain number or words.
    number : float or None
        What stands in it, in that unit, where it has a slider.
    low, high, step : float or None
        Range and step of its slider in that unit; a step of 0 means steps that grow with the number.
    choices : tuple of str
        What it may hold, where that is one of a few.
    first : bool
        Among the few that people turn first.
    """

    path: str
    label: str
    group: str
    text: str
    unit: str = ""
    number: float | None = None
    low: float | None = None
    high: float | None = None
    step: float | None = None
    choices: tuple = field(default=())
    first: bool = False

    @property
    def makes_parts(self):
        """Whether a change here puts in or takes out parts, so that other fields come and go."""
        return self.path == edit.STAGES or self.path.endswith(".kind") or edit.FITTED in self.choices


@functools.lru_cache(maxsize=256)  # a page asks for the kept turbine's again and again
def fields(turbine, *, inches=False):
    """Every field of a turbine that a person may change.

    Parameters
    ----------
    turbine : Turbine
        As it is.
    inches : bool
        Show lengths in inches.

    Returns
    -------
    tuple of Field
        By part group; those that people turn first stand first in their group.
    """
    found = {each.path: each for each in (*_by_hand(turbine, inches), *_walk(turbine, (), inches))}
    order = list(_FIRST)

    def place(each):
        stage = next((int(step) for step in each.path.split(".") if step.isdigit()), 0)
        rank = (stage, order.index(_pattern(each.path))) if each.first else (0, 0)
        return GROUPS.index(each.group), not each.first, rank

    return tuple(sorted(found.values(), key=place))


def new_texts(turbine, texts):
    """Those of some typed texts that change something; a field that still shows what stands in it does not.

    Parameters
    ----------
    turbine : Turbine
        As it is.
    texts : dict of str to str
        Path and content of each field.

    Returns
    -------
    dict of str to str
        What to hand to ``edit.changed``; a shown number is rounded, so it must not be read back.
    """
    same = {(each.path, each.text) for inches in (False, True) for each in fields(turbine, inches=inches)}
    return {path: text for path, text in texts.items() if (path, text.strip()) not in same}


def texts_between(before, after):
    """Texts that turn one turbine into another by way of ``edit.changed``.

    Parameters
    ----------
    before, after : Turbine
        What it is and what it becomes; their names and notes do not count.

    Returns
    -------
    dict of str to str
        Path and content of each field that differs, with as many digits as the page shows.
    """
    wanted = fields(after)
    frame = _differing([one for one in wanted if one.makes_parts], before)
    single = [one for one in wanted if one.path not in (edit.MEAN_WIND, edit.BLADE_COUNT)]  # each entry for itself
    return frame | _differing(single, edit.changed(before, frame) if frame else before)


def _differing(wanted, turbine):
    now = {each.path: each.text for each in fields(turbine)}
    return {one.path: one.text for one in wanted if now.get(one.path) != one.text}


def _by_hand(turbine, inches):
    rings = getattr(turbine.wind, "rings", ())
    if rings:
        yield _number(edit.MEAN_WIND, edit.mean_speed(rings), "m/s", inches)
    holes = turbine.rotor.hub.holes
    counts = tuple(sorted({*map(str, edit.even_counts(holes)), str(turbine.rotor.blade_count)}, key=int))
    yield _choice(edit.BLADE_COUNT, str(turbine.rotor.blade_count), counts)
    stages = ", ".join(stage.kind for stage in turbine.drivetrain) or edit.NOTHING
    yield _choice(edit.STAGES, stages, tuple(dict.fromkeys((*_STAGES, stages))))


def _walk(part, path, inches):
    for name, info in type(part).model_fields.items():
        here, content = (*path, name), getattr(part, name)
        if (not path and name in _NOT_HERE) or (name == "speed" and getattr(part, "rings", ())):
            continue  # a fan's map stands for its speed
        if name == "file":
            continue  # on which machine?
        yield from _of(".".join(here), content, info, inches)


def _of(path, content, info, inches):
    """Fields of one entry: of a part those inside it, of a list its entries."""
    last = path.rpartition(".")[2]
    optional = type(None) in typing.get_args(info.annotation)
    holds_part = _holds_part(info.annotation)
    if optional and holds_part:
        yield _choice(path, edit.NOTHING if content is None else edit.FITTED, (edit.NOTHING, edit.FITTED))
    if isinstance(content, Part):
        yield from _walk(content, tuple(path.split(".")), inches)
    elif isinstance(content, tuple) and holds_part:
        for number, one in enumerate(content):
            yield from _walk(one, (*path.split("."), str(number)), inches)
    elif last == "kind":
        if kinds := _kinds_at(path, info, content):
            yield _choice(path, content, kinds)
    elif not holds_part:
        yield _plain(path, content, info, inches)


def _kinds_at(path, info, now):
    place = path.rpartition(".")[0]
    if place in edit.FRESH:
        return tuple(dict.fromkeys((*edit.FRESH[place], now)))
    kinds = tuple(kind for kind in typing.get_args(info.annotation) if kind != "measured" or now == "measured")
    return kinds if len(kinds) > 1 else ()


def _plain(path, content, info, inches):
    mark = _mark(info.metadata, info.annotation)
    if isinstance(content, tuple):
        return _field(path, ", ".join(_text(one, *_unit(path, mark), inches) for one in content))
    if mark is not None:
        return _number(path, content, mark.unit, inches)
    if isinstance(content, bool):
        return _choice(path, str(content).lower(), ("true", "false"))
    if known := _NAMED.get(_pattern(path)):
        names = tuple(str(getattr(row, known[1])) for row in tables.load(known[0]).rows)
        return _choice(path, content, tuple(dict.fromkeys((*names, content))))
    if literal := [one for one in typing.get_args(info.annotation) if isinstance(one, str | int)]:
        return _choice(path, str(content), tuple(map(str, literal)))
    if isinstance(content, int):
        return _field(path, str(content), number=content)
    return _field(path, "" if content is None else str(content))


def _number(path, content, si_unit, inches):
    unit, si = _unit_of(path, si_unit, inches), si_unit
    if content is None:
        return _field(path, "", unit=unit)
    number = content.number if isinstance(content, Value) else content
    return _field(path, _text(content, unit, si, False), unit=unit, number=_in_unit(number, unit))


def _unit(path, mark):
    return (_unit_of(path, mark.unit, False), mark.unit) if mark else ("", "")


def _unit_of(path, si_unit, inches):
    if not si_unit:
        return "%" if path.rpartition(".")[2] in _SHARES else ""
    unit = _SHOWN.get(si_unit, si_unit)
    return _INCHES.get(unit, unit) if inches and not path.endswith(".module") else unit


def _text(content, unit, si_unit, inches):
    unit = _INCHES.get(unit, unit) if inches else unit
    if isinstance(content, Value):
        doubt = f" +- {100 * content.relative:.3g} %" if content.sigma else ""
        return units.plain(content.number, unit) + doubt
    return units.plain(content, unit) if isinstance(content, float) else str(content)


def _in_unit(number, unit):
    return float(units.plain(number, unit).split()[0]) if unit else float(f"{number:.4g}")


def _choice(path, content, choices):
    return _field(path, str(content), choices=choices)


def _field(path, text, *, unit="", number=None, choices=()):
    words, low, high, step = _FIRST.get(_pattern(path), (None, None, None, None))
    if low is not None and unit == "in":
        low, high, step = (float(f"{size / 25.4:.3g}") for size in (low, high, max(step, 1.27)))
    if low is not None and number is not None:
        low, high = low if low <= number else math.floor(number), high if number <= high else math.ceil(number)
    first = words is not None and not (choices and len(choices) == 1)
    label = words or _label(path)
    return Field(path, label, group_of(path), text, unit, number, low, high, step, choices, first)


def group_of(path):
    """Part group that a field belongs to.

    Parameters
    ----------
    path : str
        Of the field.

    Returns
    -------
    str
        One of ``GROUPS``.
    """
    first = path.partition(".")[0]
    return _GROUP.get(first, first if first in GROUPS else "tower")


def _label(path):
    """Plain words of a path: the entries of a list are counted from 1, the group itself is left out."""
    words = [str(int(step) + 1) if step.isdigit() else step.replace("_", " ") for step in path.split(".")]
    return " ".join(words[1:] if len(words) > 1 and words[0] in GROUPS else words)


def _pattern(path):
    return ".".join("*" if step.isdigit() else step for step in path.split("."))


def _mark(metadata, annotation):
    marks = [mark for mark in metadata if isinstance(mark, Quantity)]
    if marks:
        return marks[0]
    inner = [_mark(getattr(one, "__metadata__", ()), one) for one in typing.get_args(annotation)]
    return next(filter(None, inner), None)


def _holds_part(annotation):
    if isinstance(annotation, type):
        return issubclass(annotation, Part)
    return any(_holds_part(one) for one in typing.get_args(annotation))
