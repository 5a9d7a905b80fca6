"""Whole turbines for tests: the examples, and any that the allowed ranges can make."""

import math
from pathlib import Path

import numpy as np
from hypothesis import strategies as st

from whirlbench import tables
from whirlbench.errors import OutOfRange
from whirlbench.parts.files import read_turbine
from whirlbench.parts.part import build
from whirlbench.parts.turbine import Turbine
from whirlbench.predict import drivetrain
from whirlbench.value import Value

EXAMPLES = Path(__file__).parents[1] / "src/whirlbench/examples"
BUILDS = ("starter", "geared", "advanced")


def example(name):
    """One of the shipped example turbines."""
    return read_turbine(EXAMPLES / f"{name}.toml")


def numbers(low, high):
    """Floats of a range, small ones as often as large ones where it spans decades."""
    if low > 0 and high / low > 50:
        return st.floats(math.log(low), math.log(high)).map(lambda x: min(max(math.exp(x), low), high))
    return st.floats(low, high)


def column(table, name):
    """One of the names that a table knows."""
    return st.sampled_from([getattr(row, name) for row in tables.load(table).rows])


def degrees(low, high):
    return st.floats(low, high).map(math.radians)


def doubtful(low, high):
    return st.builds(lambda x, share: Value(x, share * x), numbers(low, high), st.sampled_from([0.0, 0.05, 0.3]))


def maybe(strategy):
    return st.none() | strategy


SHEETS = st.fixed_dictionaries(
    {
        "kind": st.just("sheet"),
        "thickness": numbers(0.005, 0.15),  # over the chord, made a length by the rotor
        "camber": numbers(0, 0.12),
        "edge": st.sampled_from(["square", "rounded", "mixed", "unknown"]),
    }
)
AIRFOILS = st.fixed_dictionaries(
    {
        "kind": st.just("airfoil"),
        "name": column("sections/catalogue", "name") | st.sampled_from(["0012", "4412", "2415", "6409"]),
        "fill": numbers(0.05, 1),
    }
)
RODS = st.fixed_dictionaries(
    {"diameter": numbers(1e-3, 12e-3), "material": st.sampled_from(["birch", "steel"]), "faired": st.booleans()}
)


TENTHS = st.sets(st.integers(1, 9), max_size=4).map(sorted)


def _working_chord(shape):
    """Chord at 0.7 of the blade's length, where thickness over chord is taken."""
    if shape["kind"] == "straight":
        return 0.3 * shape["root_chord"] + 0.7 * shape["tip_chord"]
    places = [station["radius"] for station in shape["stations"]]
    middle = 0.3 * places[0] + 0.7 * places[-1]
    return float(np.interp(middle, places, [station["chord"] for station in shape["stations"]]))


@st.composite
def rotors(draw):
    radius = draw(numbers(0.1, 0.75))
    inner = radius * draw(numbers(0.1, 0.7))
    chords = numbers(1e-3, 0.6 * radius)
    if draw(st.booleans()):
        shape = {"kind": "straight", "inner_radius": inner, "tip_radius": radius, "twist": draw(degrees(-20, 40))}
        shape |= {"root_chord": draw(chords), "tip_chord": draw(chords)}
    else:
        places = [inner + tenth / 10 * (radius - inner) for tenth in (0, *draw(TENTHS), 10)]
        stations = [{"radius": place, "chord": draw(chords), "twist": draw(degrees(-20, 40))} for place in places]
        shape = {"kind": "stations", "stations": stations}
    section = draw(SHEETS | AIRFOILS)
    if section["kind"] == "sheet":
        section = section | {"thickness": section["thickness"] * _working_chord(shape)}
    return {
        "hub": {"holes": 12, "radius": inner * draw(numbers(0.3, 1)), "mass": draw(numbers(0.01, 0.5))},
        "holes": tuple(range(1, 1 + draw(st.integers(1, 12)))),
        "pitch": draw(degrees(-5, 45) | degrees(-30, 90)),
        "section": section,
        "shape": shape,
        "rod": draw(maybe(RODS)),
    }


BEARINGS = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(["ball", "acetal bush", "nylon bush", "brass bush", "oiled brass bush"]),
        "shaft_diameter": numbers(1e-3, 12e-3),
    }
) | st.fixed_dictionaries({"kind": st.just("measured"), "friction": doubtful(1e-6, 0.01)})
GEARS = st.fixed_dictionaries(
    {
        "kind": st.just("gears"),
        "rotor_teeth": st.integers(10, 120),
        "generator_teeth": st.integers(10, 120),
        "module": numbers(3e-4, 2e-3),
        "teeth": column("gears/sliding_friction", "pair"),
        "bearing": maybe(BEARINGS),
    }
)
BELTS = st.fixed_dictionaries(
    {
        "kind": st.just("belt"),
        "belt": st.sampled_from(["round", "flat", "vee", "timing"]),
        "rotor_diameter": numbers(5e-3, 0.3),
        "generator_diameter": numbers(5e-3, 0.3),
        "thickness": numbers(0, 6e-3),
        "tension": numbers(0, 20),
        "slip": numbers(0, 0.2),
        "bearing": maybe(BEARINGS),
    }
)


@st.composite
def electrics(draw):
    """A generator and a load that may stand together."""
    rectifier = draw(maybe(st.fixed_dictionaries({"diodes": st.sampled_from(["silicon", "schottky"])})))
    if rectifier:
        rectifier |= {"in_path": draw(st.sampled_from([1, 2])), "capacitor": draw(st.booleans())}
    friction = draw(doubtful(1e-6, 0.02))
    torques = {"friction": friction, "breakaway": Value(friction.number * draw(numbers(1, 4)))}
    kind = draw(st.sampled_from(["catalogue", "measured", "wound"]))
    if kind == "catalogue":
        row = draw(st.sampled_from(tables.load("generator/dc_motors").rows))
        generator, current = {"type": row.name}, row.kind
    elif kind == "measured":
        current = draw(st.sampled_from(["dc", "ac"]))
        generator = {"emf_constant": draw(doubtful(1e-4, 1)), "resistance": draw(doubtful(0.05, 1e3)), **torques}
        generator |= {"viscous": draw(numbers(0, 1e-5)), "inertia": draw(numbers(1e-8, 1e-4)), "current": current}
    else:
        current, coil = "ac", draw(numbers(2e-3, 8e-3))
        generator = {"size": (0.02, 0.02), "turns": draw(st.integers(1, 5000)), "gauge": draw(st.integers(16, 44))}
        generator |= {"coil_inner_radius": coil, "coil_outer_radius": 2 * coil, **torques}
        generator |= {"distance_near": 0.0125, "distance_far": 0.0125 + coil}
    loads = numbers(0.01, 1e7) | st.sampled_from([0.0, 1e7])
    load = st.fixed_dictionaries({"kind": st.just("resistor"), "resistance": loads})
    if current == "dc" or rectifier:
        load |= st.fixed_dictionaries(
            {"kind": st.just("leds"), "colour": column("load/leds", "colour"), "in_series": st.integers(1, 5)}
        )
    return {"kind": kind, "rectifier": rectifier, **generator}, draw(load)


@st.composite
def winds(draw, radius):
    speed = draw(doubtful(0.5, 15))
    kind = draw(st.sampled_from(["fan", "tunnel", "open air"]))
    wind = {"kind": kind, "speed": speed, "flow": draw(st.sampled_from(["turbulent", "smooth"]))}
    if kind == "tunnel":
        wind |= {"width": draw(numbers(2.6, 20)) * radius, "height": draw(numbers(2.6, 20)) * radius}
        wind |= {"measured": draw(st.sampled_from(["empty section", "beside the rotor"]))}
    if kind == "fan" and draw(st.booleans()):
        wind |= {"rings": draw(st.lists(numbers(0.5, 15), min_size=1, max_size=5)), "map_radius": radius, "speed": None}
        wind |= {"map_doubt": draw(st.none() | numbers(0, 0.2))}
    return wind


TOWERS = st.fixed_dictionaries(
    {
        "height": numbers(0.1, 1.5),
        "top_mass": numbers(0.05, 2),
        "joint": st.sampled_from(["dry", "glued", "clamped"]),
        "free_play": degrees(0, 5),
        "tube": column("tower/pvc_pipe", "nominal").map(lambda name: {"kind": "pvc pipe", "nominal": name}),
    }
)
BASES = st.fixed_dictionaries(
    {
        "width": numbers(0.1, 1),
        "mass": numbers(0.1, 10),
        "surface": st.sampled_from(["wood on wood", "plywood on laminate table"]),
        "held": st.booleans(),
    }
)


def meshes(stage):
    """Whether a stage has teeth that reach each other; numbers of teeth drawn blindly need not."""
    if stage.kind != "gears":
        return True
    try:
        return drivetrain.mesh(stage).contact_ratio >= 1
    except OutOfRange:
        return False


@st.composite
def turbines(draw):
    """Any turbine that a file may describe, within what a bench can hold."""
    rotor = draw(rotors())
    generator, load = draw(electrics())
    shape = rotor["shape"]
    radius = shape["tip_radius"] if "tip_radius" in shape else shape["stations"][-1]["radius"]
    turbine = build(
        Turbine,
        {
            "name": "drawn",
            "air": {"temperature": draw(numbers(270, 315)), "altitude": draw(st.floats(-400, 4000))},
            "wind": draw(winds(radius)),
            "rotor": rotor,
            "bearing": draw(BEARINGS),
            "drivetrain": draw(st.lists(GEARS | BELTS, max_size=3)),
            "generator": generator,
            "load": load,
            "tower": draw(TOWERS),
            "base": draw(BASES),
        },
    )
    return turbine.changed(drivetrain=tuple(stage for stage in turbine.drivetrain if meshes(stage)))
