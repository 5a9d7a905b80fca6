"""Fields of a turbine changed by their paths, in text with units: ``rotor.pitch`` becomes ``12 deg``."""

import re
import typing

from whirlbench import units
from whirlbench.errors import InputError, InputErrors, UnknownKey, nearest
from whirlbench.parts.part import Part, build
from whirlbench.parts.turbine import Turbine
from whirlbench.value import Value

MEAN_WIND, BLADE_COUNT, STAGES = "wind.mean_speed", "rotor.blade_count", "drivetrain.stages"
NOTHING, FITTED = "none", "fitted"
# what a part of a kind begins with, where it takes over nothing of the part that stood there
FRESH = {
    "wind": {
        "fan": {"speed": "4 m/s"},
        "tunnel": {"speed": "4 m/s", "width": "600 mm", "height": "600 mm"},
        "open air": {"speed": "4 m/s"},
    },
    "rotor.section": {"sheet": {"thickness": "1 mm"}, "airfoil": {"name": "4412", "material": "PLA"}},
    "rotor.shape": {"straight": {}, "stations": {}},  # each made from the other
    "generator": {
        "catalogue": {"type": "iron core 500 can, 5 V (type 14415)"},
        "measured": {
            "emf_constant": "1.5 V/krpm +- 5 %",
            "resistance": "10 ohm +- 5 %",
            "friction": "0.4 mN*m +- 30 %",
            "breakaway": "0.6 mN*m +- 30 %",
        },
        "wound": {
            "size": ["20 mm", "20 mm"],
            "turns": 300,
            "gauge": 28,
            "coil_inner_radius": "5 mm",
            "coil_outer_radius": "13 mm",
            "distance_near": "12.5 mm",
            "distance_far": "19 mm",
            "friction": "0.15 mN*m +- 30 %",
            "breakaway": "0.25 mN*m +- 30 %",
        },
    },
    "load": {"resistor": {"resistance": "47 ohm"}, "leds": {}, "free": {}},
    "tower.tube": {
        "pvc pipe": {"nominal": "1 in"},
        "tube": {"outer_diameter": "30 mm", "inner_diameter": "26 mm", "modulus": "2.9e9 Pa", "density": "1400 kg/m^3"},
    },
}
STAGE_KINDS = {
    "gears": {"kind": "gears", "rotor_teeth": 48, "generator_teeth": 16, "module": "0.5 mm"},
    "belt": {"kind": "belt", "rotor_diameter": "90 mm", "generator_diameter": "30 mm", "thickness": "2 mm"},
}
_FITS = {"rotor.rod": {"diameter": "6 mm"}}  # a part that may be missing, where its own defaults are not enough
_FILE = "file"  # a text that names a file of this machine: nobody may name another one from afar
_PHASES = 3
_STATIONS_FIRST = 5  # along a blade that had straight edges
_COMMA = re.compile(
    r"^([+-]?\d+),(\d{1,2}|\d{4,})(?!\d)"
)  # not before three digits: 1,500 g may be a kilogram and a half
_BARE = re.compile(r"[\d.eE+-]+")


def changed(turbine, texts):
    """Turbine with some fields changed.

    Parameters
    ----------
    turbine : Turbine
        As it is; it stays.
    texts : dict of str to str
        Path of each field, such as ``rotor.pitch`` or ``drivetrain.0.rotor_teeth``, and its new content as a person
        writes it, with its unit. Besides the fields of the parts: ``wind.mean_speed`` turns a fan's whole map up or
        down, ``rotor.blade_count`` spreads blades evenly, ``drivetrain.stages`` lists the kinds of stages, a ``kind``
        makes another part of the place, and ``fitted`` or ``none`` puts in or takes out what may be missing.

    Returns
    -------
    Turbine
        Checked like any other.

    Raises
    ------
    InputErrors
        All that is wrong; ``path_of`` tells the field of each.
    """
    if of_files := [path for path in texts if path.rpartition(".")[2] == _FILE]:
        needs, try_ = "the file that came with the turbine", "bring the whole turbine in again with its other file"
        raise InputErrors([InputError(path.replace(".", " > "), "another one", needs, try_=try_) for path in of_files])
    new = turbine
    for phase in range(_PHASES):
        now = {path: text for path, text in texts.items() if _phase(path, text) == phase}
        if now or phase == _PHASES - 1:
            new = _with_old_doubts(new, _with(new, now), now)
    return new


def path_of(error):
    """Path of the field that an error is about.

    Parameters
    ----------
    error : InputError
        Found while a turbine was changed.

    Returns
    -------
    str
        Such as ``drivetrain.0.rotor_teeth``.
    """
    steps = error.what.split(" > ")
    return ".".join(str(int(step[1:]) - 1) if step[:1] == "#" and step[1:].isdigit() else step for step in steps)


def value_at(turbine, path):
    """What stands at a path.

    Parameters
    ----------
    turbine : Turbine
        Any.
    path : str
        Of a field.

    Returns
    -------
    object
        Content of the field, SI; None where there is no such field now.
    """
    found = turbine
    for step in path.split("."):
        if isinstance(found, tuple) and step.isdigit() and int(step) < len(found):
            found = found[int(step)]
        elif isinstance(found, Part) and step in type(found).model_fields:
            found = getattr(found, step)
        else:
            return None
    return found


def mean_speed(rings):
    """Mean wind of a fan's map, by what it carries.

    Parameters
    ----------
    rings : sequence of float
        Speeds in rings of equal area [m/s].

    Returns
    -------
    float
        Cube mean [m/s].
    """
    return (sum(speed**3 for speed in rings) / len(rings)) ** (1 / 3)


def even_counts(holes):
    """Numbers of blades that spread evenly over the holes of a hub.

    Parameters
    ----------
    holes : int
        In the hub.

    Returns
    -------
    tuple of int
        Rising, at most 12 blades.
    """
    return tuple(count for count in range(1, min(holes, 12) + 1) if holes % count == 0)


class _NoSuchField(Exception):
    """A path that leads nowhere in this turbine."""


def _loose(part):
    """A part as plain tables and lists that may be changed."""
    if isinstance(part, Part):
        return {name: _loose(getattr(part, name)) for name in type(part).model_fields}
    return [_loose(one) for one in part] if isinstance(part, tuple) else part


def _phase(path, text):
    """Kinds of parts come first, then what may be missing in them, then what stands in them."""
    if path == STAGES or text in FRESH.get(path.removesuffix(".kind"), ()):
        return 0
    return 1 if text in (FITTED, NOTHING) else 2


def _with(turbine, texts):
    """Turbine with texts put in; a field that only other kinds of parts have is passed over."""
    data, wrong = _loose(turbine), []
    for path, text in texts.items():
        try:
            _put(data, path, str(text).strip())
        except _NoSuchField:
            if not _possible(path):
                wrong.append(_unknown(data, path))
        except InputError as error:
            wrong.append(error)
    try:
        new = build(Turbine, data)
    except InputErrors as found:
        raise InputErrors([*wrong, *found.errors]) from None
    if wrong:
        raise InputErrors(wrong)
    return new


def _put(data, path, text):
    if path in _BY_HAND:
        return _BY_HAND[path](data, text)
    *steps, last = path.split(".")
    holder = _holder(data, steps)
    place = ".".join(steps)
    if last == "kind" and text in FRESH.get(place, {}):
        return _another_kind(data, steps, text)
    if isinstance(holder, list):
        if not last.isdigit() or int(last) >= len(holder):
            raise _NoSuchField
        holder[int(last)] = text
    elif last not in holder:
        raise _NoSuchField
    elif text == FITTED:
        holder[last] = holder[last] or dict(_FITS.get(path, {}))
    elif isinstance(holder[last], dict) and text != NOTHING:
        raise _NoSuchField
    else:
        holder[last] = _content(path, holder[last], text)
        if place == "bearing" and last == "kind" and text != "measured":
            holder["friction"] = None
    return None


def _content(path, now, text):
    if isinstance(now, list):
        pieces = [piece.strip() for piece in re.split(r"[,;\s]+" if path == "rotor.holes" else "[,;]", text)]
        unit = _BARE.sub("", pieces[-1], count=1)  # the unit at the end is for all
        return [f"{piece}{unit}" if _BARE.fullmatch(piece) else piece for piece in pieces if piece]
    if not isinstance(now, str):
        text = _COMMA.sub(r"\1.\2", text)
    if isinstance(now, int) and not isinstance(now, bool) and re.fullmatch(r"\d{1,9}", text):
        return int(text)
    return None if text == NOTHING or (text == "" and not isinstance(now, str)) else text


def _holder(data, steps):
    """Table or list that a path leads to; a part that may be missing is put in."""
    found = data
    for step in steps:
        if isinstance(found, list) and step.isdigit() and int(step) < len(found):
            found = found[int(step)]
        elif isinstance(found, dict) and step in found:
            found = found[step]
        else:
            raise _NoSuchField
    if not isinstance(found, dict | list):
        raise _NoSuchField
    return found


def _another_kind(data, steps, kind):
    """Put another kind of part into a place; what both kinds have in common stays."""
    holder, place = _holder(data, steps[:-1]), steps[-1]
    old, fresh = holder[place], FRESH[".".join(steps)][kind]
    if old.get("kind") == kind:
        return
    model = _model(".".join(steps), kind)
    shared = {name: old[name] for name in old.keys() & model.model_fields.keys() - {"name"} if old[name] is not None}
    if place == "shape":
        shared = _shape_from(old, kind)
    if old.get("rings"):  # a fan's map becomes the one speed that carries as much
        shared["speed"] = Value(mean_speed(old["rings"]), 0.0, "mean of the fan's map")
    holder[place] = {**fresh, **shared, "kind": kind}


def _shape_from(old, kind):
    """Straight edges from the ends of a blade with stations, or stations along straight edges."""
    if kind == "straight":
        inner, tip = old["stations"][0], old["stations"][-1]
        ends = {"inner_radius": inner["radius"], "root_chord": inner["chord"]}
        ends |= {"tip_radius": tip["radius"], "tip_chord": tip["chord"]}
        return ends | {"twist": inner["twist"] - tip["twist"]}
    pairs = {"radius": ("inner_radius", "tip_radius"), "chord": ("root_chord", "tip_chord")}
    ends = {name: (old[first], old[last]) for name, (first, last) in pairs.items()} | {"twist": (old["twist"], 0.0)}
    shares = [number / (_STATIONS_FIRST - 1) for number in range(_STATIONS_FIRST)]
    return {"stations": [{n: a + share * (b - a) for n, (a, b) in ends.items()} for share in shares]}


def _model(place, kind):
    """Class of a kind of part."""
    model = Turbine
    for step in place.split("."):
        annotation = model.model_fields[step].annotation
        choices = typing.get_args(annotation) or (annotation,)
        model = next((one for one in choices if kind in typing.get_args(_kind(one))), choices[0])
    return model


def _kind(model):
    field = getattr(model, "model_fields", {}).get("kind")
    return field.annotation if field else None


def _put_mean_wind(data, text):
    rings = data["wind"].get("rings")
    if not rings:
        raise _NoSuchField
    wanted = units.read("wind > mean_speed", _COMMA.sub(r"\1.\2", text), "m/s")
    data["wind"]["rings"] = [speed * wanted / mean_speed(rings) for speed in rings]


def _put_blade_count(data, text):
    holes = data["rotor"]["hub"]["holes"]
    if text not in map(str, even_counts(holes)):
        needs = "a number that spreads evenly: " + ", ".join(map(str, even_counts(holes)))
        raise InputError("rotor > blade_count", f"'{text[:20]}'", needs, try_="or list the holes one by one")
    data["rotor"]["holes"] = list(range(1, holes + 1, holes // int(text)))
    data["rotor"]["weighed"] = []


def _put_stages(data, text):
    kinds = [] if text == NOTHING else [kind for kind in re.split(r"[,\s]+", text) if kind]
    old = data["drivetrain"]
    data["drivetrain"] = [
        old[number]
        if number < len(old) and old[number]["kind"] == kind
        else dict(STAGE_KINDS.get(kind, {"kind": kind}))
        for number, kind in enumerate(kinds)
    ]


_BY_HAND = {MEAN_WIND: _put_mean_wind, BLADE_COUNT: _put_blade_count, STAGES: _put_stages}


def _possible(path):
    """Whether a path leads to a field of some turbine."""
    models = [Turbine]
    for step in path.split("."):
        if not step.isdigit():
            held = [one.model_fields[step].annotation for one in models if step in one.model_fields]
            models = [part for one in held for part in _parts_in(one)]
            if not held:
                return path in _BY_HAND
    return not models


def _parts_in(annotation):
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return [annotation]
    return [part for one in typing.get_args(annotation) for part in _parts_in(one)]


def _unknown(data, path):
    *steps, last = path.split(".")
    try:
        names = sorted(_holder(data, steps))
    except (_NoSuchField, TypeError):
        names = sorted(data)
    return UnknownKey(
        " > ".join(path.split(".")) or "field", "an unknown field", "a field of this turbine", try_=nearest(last, names)
    )


def _with_old_doubts(before, after, texts):
    """A number that was given without a doubt keeps the relative doubt of the one it takes the place of."""
    data, kept = None, False
    for path in texts:
        old, new = value_at(before, path), value_at(after, path)
        if isinstance(old, Value) and isinstance(new, Value) and old.sigma and not new.sigma and old.number:
            data = data or _loose(after)
            *steps, last = path.split(".")
            _holder(data, steps)[last] = Value(new.number, new.number * old.relative, new.source)
            kept = True
    return build(Turbine, data) if kept else after
