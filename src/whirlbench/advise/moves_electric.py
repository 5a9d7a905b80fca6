"""Changes to generator and load: everything on the shelf."""

from whirlbench import units
from whirlbench.advise.move import Move
from whirlbench.parts.load import Resistor
from whirlbench.physics import load
from whirlbench.predict import generator

_MAGNETS = "Strong magnets pinch and shatter, and are deadly when swallowed: count them in and out."


def moves(turbine, parts_bin):
    """Every generator and every load of the bin.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    parts_bin : PartsBin
        Generators, resistors, LEDs.

    Yields
    ------
    Move
        One change each.
    """
    yield from _generators(turbine, parts_bin)
    yield from _resistors(turbine, parts_bin)
    for leds in parts_bin.leds:
        if leds != turbine.load and feeds_leds(turbine.generator):
            yield connect(turbine, leds)


def resistances(parts_bin):
    """Resistor values that the bin offers.

    Parameters
    ----------
    parts_bin : PartsBin
        Loose resistors and a box.

    Returns
    -------
    list of float
        Rising [ohm].
    """
    values = set(parts_bin.resistors)
    box = parts_bin.resistor_box
    if box is not None:
        values |= {float(value) for value in load.preferred_values(box.series, lowest=box.lowest, highest=box.highest)}
    return sorted(values)


def describe(part):
    """Load in a few words.

    Parameters
    ----------
    part : Resistor, Leds or FreeLoad
        The load.

    Returns
    -------
    str
        Such as ``22 ohm``.
    """
    if part.kind == "resistor":
        return units.plain(part.resistance, "ohm")
    if part.kind == "leds":
        return f"{part.in_series} {part.colour} LED{'s' if part.in_series > 1 else ''} in a row"
    return f"best of {part.series}"


def connect(turbine, load):
    """Move that connects another load.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    load : Resistor or Leds
        The new load.

    Returns
    -------
    Move
        The change.
    """
    before, after, new = describe(turbine.load), describe(load), turbine.changed(load=load)
    if load.kind == "leds":
        return Move(f"load {after}", "load", f"light {after}", before, after, new, "load")
    return Move("load", "load", f"load it with {after}", before, after, new, "load")


def exchange(turbine, part):
    """Move that puts in another generator.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    part : CatalogueGenerator, MeasuredGenerator or WoundGenerator
        The new generator.

    Returns
    -------
    Move
        The change.
    """
    before, name = (generator.generator_data(one).name for one in (turbine.generator, part))
    return Move(
        f"generator {name}",
        "generator",
        f"use the generator '{name}'",
        before,
        name,
        turbine.changed(generator=part),
        "generator",
        _MAGNETS if part.kind == "wound" else "",
        ("emf", "resistance", "friction"),
    )


def feeds_leds(part):
    """Whether a generator can feed LEDs: direct current, or diodes.

    Parameters
    ----------
    part : CatalogueGenerator, MeasuredGenerator or WoundGenerator
        The generator.

    Returns
    -------
    bool
        True where it can.
    """
    return generator.generator_data(part).current == "dc" or part.rectifier is not None


def _generators(turbine, parts_bin):
    for part in parts_bin.generators:
        if part != turbine.generator and (turbine.load.kind != "leds" or feeds_leds(part)):
            yield exchange(turbine, part)


def _resistors(turbine, parts_bin):
    for value in resistances(parts_bin):
        new = Resistor(resistance=value)
        if new != turbine.load:
            yield connect(turbine, new)
