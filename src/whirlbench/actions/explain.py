"""One number of the workbench opened up: its formula with numbers in it, its inputs, its doubt, at three depths."""

import math
from dataclasses import dataclass, replace

import numpy as np

from whirlbench import units
from whirlbench.actions.explain_words import MEANINGS
from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.predict import WINDOW
from whirlbench.actions.report import Report
from whirlbench.errors import UnknownKey, nearest
from whirlbench.predict import generator, rotor_response, wind, world
from whirlbench.predict import turbine as whole
from whirlbench.predict.spin_up import spin_up

QUANTITIES = tuple(MEANINGS)


class Input(Report):
    """One number that goes into another; ``opens`` names its own explanation, if there is one."""

    symbol: str
    name: str
    shown: str
    source: str
    opens: str


class ExplainReport(Report):
    """Answer of ``explain``."""

    quantity: str
    title: str
    symbol: str
    shown: str
    low: str
    high: str
    formula: str
    filled: str
    inputs: tuple[Input, ...]
    plain: str
    school: str
    engineer: str
    source: str


@dataclass(frozen=True)
class _Seen:
    """A turbine in its own wind, in every world."""

    turbine: object
    assembly: object
    found: object

    @property
    def here(self):
        return self.found.rest

    @property
    def speed(self):
        """Wind over the disc, with its source."""
        return wind.disc_speed(self.turbine.wind, self.turbine.rotor.radius)


def explain(turbine, files, quantity):
    """Explain a number of a turbine in its own wind.

    Parameters
    ----------
    turbine : str
        Canonical JSON of the parts.
    files : dict of str to str
        Text of the files that they lean on.
    quantity : str
        One of ``QUANTITIES``.

    Returns
    -------
    ExplainReport
        For a page; ``low`` and ``high`` hold 8 of 10 believed cases, empty where nothing is in doubt.

    Raises
    ------
    UnknownKey
        No such quantity.
    InputError
        A part that cannot be computed, told in four pieces.
    """
    if quantity not in MEANINGS:
        raise UnknownKey("quantity", f"'{quantity}'", "a number of the workbench", try_=nearest(quantity, QUANTITIES))
    meaning, seen = MEANINGS[quantity], _seen(restored(turbine, files))
    values = np.atleast_1d(_VALUES[quantity](seen))
    low, high = np.quantile(values, [0.1, 0.9])
    sure = not high > low
    inputs = tuple(_input(seen, name) for name in _INPUTS[quantity])
    texts = (
        _text(values[0], meaning.unit),
        *(("", "") if sure else (_text(low, meaning.unit), _text(high, meaning.unit))),
    )
    return ExplainReport(
        quantity=quantity,
        title=meaning.title,
        symbol=meaning.symbol,
        shown=texts[0],
        low=texts[1],
        high=texts[2],
        formula=meaning.formula,
        filled=_filled(meaning.formula, meaning.symbol, inputs, texts[0]),
        inputs=inputs,
        plain=meaning.plain,
        school=meaning.school,
        engineer=meaning.engineer,
        source=meaning.source,
    )


def _seen(turbine):
    own = wind.disc_speed(turbine.wind, turbine.rotor.radius).number
    turbine = whole.settled(turbine, own)
    worlds = world.draw(whole.priors(turbine), world.COUNT)
    assembly = whole.assemble(turbine, worlds)
    few = replace(assembly, worlds=rotor_response.star(worlds))
    rotor = rotor_response.in_all(whole.rotor_in_wind(few, own), worlds)
    return _Seen(turbine, assembly, whole.predict(assembly, own, rotor))


def _filled(formula, symbol, inputs, shown):
    """Right-hand side with numbers for its letters; empty where a letter has none."""
    left, _, right = formula.partition(" = ")
    if not inputs or left != symbol:
        return ""
    for one in sorted(inputs, key=lambda each: -len(each.symbol)):
        if one.symbol not in right:
            return ""
        right = right.replace(one.symbol, f"({one.shown})")
    return f"{symbol} = {right} = {shown}"


def _text(number, unit):
    shown = {"mN*m": "mN·m", "kg/m^3": "kg/m³"}.get(unit, unit)
    if not unit:
        return f"{number:.3g}"
    if unit == "W" and abs(number) < 0.1:
        return units.show(number, "mW")
    return units.show(number, unit).removesuffix(unit) + shown


_VALUES = {
    "density": lambda seen: seen.assembly.air.density,
    "wind_power": lambda seen: seen.here.wind_power,
    "power_coefficient": lambda seen: seen.here.power_coefficient,
    "tip_speed_ratio": lambda seen: seen.here.tip_speed_ratio,
    "rotor_speed": lambda seen: seen.here.rotor_speed,
    "torque": lambda seen: seen.here.rotor_torque,
    "step_up": lambda seen: seen.assembly.train.step_up,
    "emf": lambda seen: seen.here.emf,
    "voltage": lambda seen: seen.here.voltage,
    "current": lambda seen: seen.here.current,
    "power": lambda seen: seen.here.power,
    "start": lambda seen: seen.found.standstill,
    "thrust": lambda seen: seen.here.thrust,
    "energy": lambda seen: spin_up(seen.assembly, seen.found, WINDOW).energy,
}


def _first(number):
    return float(np.ravel(number)[0])


def _machine(seen):
    return generator.generator_data(seen.turbine.generator)


def _air(seen):
    part = seen.turbine.air
    return "barometer" if part.pressure is not None else "height above the sea"


# name, symbol, words, unit, number and source, and the explanation it opens
_KNOWN = {
    "density": ("ρ", "density of the air", "kg/m^3", lambda s: s.assembly.air.density, _air, "density"),
    "temperature": ("T", "air temperature", "degC", lambda s: s.turbine.air.temperature, "as typed", ""),
    "humidity": ("φ", "humidity", "", lambda s: s.turbine.air.humidity, "as typed", ""),
    "radius": ("R", "axis to blade tip", "mm", lambda s: s.turbine.rotor.radius, "as typed", ""),
    "wind": ("v", "wind over the disc", "m/s", lambda s: s.speed.number, lambda s: s.speed.source, ""),
    "blades": ("n", "number of blades", "", lambda s: s.turbine.rotor.blade_count, "as typed", ""),
    "pitch": ("β", "pitch at the tip", "deg", lambda s: s.turbine.rotor.pitch, "as typed", ""),
    "wind_power": ("P_wind", "power of the wind", "W", lambda s: s.here.wind_power, "computed", "wind_power"),
    "rotor_power": (
        "rotor power",
        "power of the rotor",
        "W",
        lambda s: s.here.rotor_torque * s.here.rotor_speed,
        "computed",
        "",
    ),
    "rotor_speed": ("ω", "speed of the rotor", "rpm", lambda s: s.here.rotor_speed, "computed", "rotor_speed"),
    "torque": ("M_rotor", "torque of the rotor", "mN*m", lambda s: s.here.rotor_torque, "computed", "torque"),
    "step_up": ("i", "step-up", "", lambda s: s.assembly.train.step_up, "teeth and diameters as typed", "step_up"),
    "constant": (
        "k",
        "volts per speed of the generator",
        "V*s/rad",
        lambda s: _machine(s).emf_constant.number,
        lambda s: _machine(s).emf_constant.source,
        "",
    ),
    "generator_speed": (
        "ω_generator",
        "speed of the generator",
        "rpm",
        lambda s: s.here.generator_speed,
        "computed",
        "",
    ),
    "winding": (
        "R_winding",
        "resistance of the winding",
        "ohm",
        lambda s: _machine(s).resistance.number,
        lambda s: _machine(s).resistance.source,
        "",
    ),
    "load": (
        "R_load",
        "resistance of the load",
        "ohm",
        lambda s: s.assembly.machine.circuit.load_resistance,
        "as typed",
        "",
    ),
    "emf": ("E", "voltage inside the generator", "V", lambda s: s.here.emf, "computed", "emf"),
    "voltage": ("U", "voltage at the load", "V", lambda s: s.here.voltage, "computed", "voltage"),
    "current": ("I", "current through the load", "mA", lambda s: s.here.current, "computed", "current"),
    "power": ("P", "power into the load", "W", lambda s: s.here.power, "computed", "power"),
    "standstill": ("M_0", "torque of the wind at rest", "mN*m", lambda s: s.found.standstill, "computed", ""),
    "breakaway": (
        "M_b",
        "torque that breaking away takes",
        "mN*m",
        lambda s: s.found.breakaway,
        "friction of the parts",
        "",
    ),
    "thrust_coefficient": ("Ct", "thrust coefficient", "", lambda s: s.here.thrust_coefficient, "computed", ""),
    "inertia": ("J", "inertia of all that turns", "g*cm^2", lambda s: s.assembly.inertia, "masses of the parts", ""),
    "time": ("t", "scored time", "s", lambda s: WINDOW, "usual for a run", ""),
}
_INPUTS = {
    "density": ("temperature", "humidity"),
    "wind_power": ("density", "radius", "wind"),
    "power_coefficient": ("rotor_power", "wind_power"),
    "tip_speed_ratio": ("rotor_speed", "radius", "wind"),
    "rotor_speed": ("torque", "step_up", "load", "wind"),
    "torque": ("rotor_power", "rotor_speed"),
    "step_up": ("rotor_speed", "generator_speed"),
    "emf": ("constant", "generator_speed"),
    "voltage": ("emf", "current", "winding"),
    "current": ("voltage", "load"),
    "power": ("voltage", "current"),
    "start": ("standstill", "breakaway", "pitch", "blades", "step_up"),
    "thrust": ("density", "radius", "wind", "thrust_coefficient"),
    "energy": ("power", "time", "inertia"),
}


def _input(seen, name):
    symbol, words, unit, number, source, opens = _KNOWN[name]
    value = _first(number(seen))
    shown = _text(value, unit) if math.isfinite(value) else "none"
    said = source(seen) if callable(source) else source
    return Input(symbol=symbol, name=words, shown=shown, source=said, opens=opens)
