"""What readings say: power, power coefficient, tip-speed ratio, each with the share of every doubt in it."""

import math
from dataclasses import dataclass, field

from whirlbench.errors import InputError, within
from whirlbench.measure.meter import reading_value
from whirlbench.measure.readings import Reading, doubts
from whirlbench.measure.uncertainty import FIRST_ORDER, MONTE_CARLO, Input, evaluate
from whirlbench.physics import air
from whirlbench.value import Value

OPEN_CIRCUIT = 1e6  # [ohm] a load above it is none: what a hand meter itself draws
CURVED = 0.05  # relative doubt of the wind above which first order is too coarse for its cube
_WORST = 0.2  # above it the wind may as well have been nothing, and its cube divides
_DRAWS = 20_000
# relative standard uncertainties where no instrument is named: common practice
_CURRENT_DOUBT = 0.02
_RESISTANCE_DOUBT = 0.05 / math.sqrt(3)  # a gold ring
_TEMPERATURE_DOUBT, _BAROMETER_DOUBT, _WEATHER_DOUBT, _HUMIDITY_DOUBT = 1.0, 200.0, 1500.0, 0.1  # [K], [Pa], [Pa], [-]
_FINE, _RULES = 0.1, 0.5  # shares of the doubt
_MANY = ("volts", "amps", "ohms")
_READ = (*_MANY, "rotor speed", "wind speed", "rotor radius")


@dataclass(frozen=True)
class Bench:
    """What all readings of a session have in common.

    Attributes
    ----------
    rotor_radius : Value
        Axis to blade tip [m].
    air_density : Value
        [kg/m^3].
    wind_doubt : float
        Relative standard uncertainty of the wind over the disc, where no anemometer is named [-].
    step_up : float
        Generator turns per rotor turn [-].
    meters : dict of str to Meter
        Instruments by the name of the reading, such as ``voltage``.
    scatter : dict of str to (float, int)
        Relative scatter of one reading's ``power`` and ``rotor_speed`` [-] with its degrees of freedom.
    """

    rotor_radius: Value
    air_density: Value
    wind_doubt: float
    step_up: float = 1.0
    meters: dict = field(default_factory=dict)
    scatter: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Derived:
    """A result of one reading.

    Attributes
    ----------
    quantity : str
        ``electrical_power``, ``power_coefficient``, ``tip_speed_ratio`` or ``generator_speed``.
    unit : str
        SI unit.
    estimate : Estimate
        Number, doubt, interval and shares.
    sentence : str
        Where the doubt comes from, in plain words.
    """

    quantity: str
    unit: str
    estimate: object
    sentence: str


def density(temperature, pressure, humidity):
    """Density of the room's air with its doubt.

    Parameters
    ----------
    temperature, pressure, humidity : Value
        [K], station pressure [Pa], relative humidity [-].

    Returns
    -------
    Value
        [kg/m^3].
    """
    named = {"temperature": temperature, "pressure": pressure, "humidity": humidity}

    def formula(kelvin, pascal, share):
        return air.density(kelvin, pascal, min(max(share, 0.0), 1.0))  # a slope is taken a step beyond dry or full

    found = evaluate(formula, [_input(name, value) for name, value in named.items()])
    return Value(found.number, found.sigma, "from temperature, pressure and humidity")


def room_density(room, reading):
    """Density of the air at one reading: what was read there, and the room's air for the rest.

    Parameters
    ----------
    room : Air
        Of the turbine's description.
    reading : Reading
        May hold temperature, pressure and humidity of its own.

    Returns
    -------
    Value
        [kg/m^3].

    Notes
    -----
    Doubts of 1 K, 2 hPa for a barometer, 15 hPa for a pressure from the altitude alone (the weather) and 10 % of
    humidity: common practice.
    """

    def read(own, given):
        return given if own is None else own

    pressure = read(reading.air_pressure, room.pressure)
    weather = pressure is None
    pascal = float(air.pressure_at(room.altitude or 0.0)) if weather else pressure
    return density(
        Value(read(reading.air_temperature, room.temperature), _TEMPERATURE_DOUBT),
        Value(pascal, _WEATHER_DOUBT if weather else _BAROMETER_DOUBT),
        Value(read(reading.humidity, room.humidity), _HUMIDITY_DOUBT),
    )


def electrical_power(voltage, *, current=None, load_resistance=None, scatter=(0.0, 0)):
    """Electrical power into the load.

    Parameters
    ----------
    voltage : Value
        Over the load [V].
    current, load_resistance : Value, optional
        One of them: amps are used where both are there [A], [ohm].
    scatter : tuple of (float, int)
        Relative scatter of one reading's power [-] and its degrees of freedom.

    Returns
    -------
    Estimate
        [W].

    Raises
    ------
    InputError
        Neither amps nor ohms.
    """
    names, formula = _power(voltage, current, load_resistance)
    return evaluate(lambda repeat, *given: repeat * formula(*given), [_repeats(scatter), *names])


def power_coefficient(voltage, *, wind_speed, bench, current=None, load_resistance=None):
    """Electrical power over the wind's power through the disc.

    Parameters
    ----------
    voltage : Value
        Over the load [V].
    wind_speed : Value
        Over the disc, rotor away [m/s].
    bench : Bench
        Rotor, air and scatter.
    current, load_resistance : Value, optional
        One of them: amps are used where both are there [A], [ohm].

    Returns
    -------
    Estimate
        [-].

    Raises
    ------
    OutOfRange
        A wind that is nothing, or known to no better than 20 %.

    Notes
    -----
    It goes with the cube of the wind: 5 % of wind is 15 % here, and above that the interval is lopsided, so it is
    found by Monte Carlo.
    """
    given, power = _power(voltage, current, load_resistance)
    inputs = [_repeats(bench.scatter.get("power", (0.0, 0))), _input("wind speed", wind_speed)]
    inputs += [_input("rotor radius", bench.rotor_radius), _input("air density", bench.air_density), *given]

    def formula(repeat, wind, radius, air_density, *electric):
        return repeat * power(*electric) / (0.5 * air_density * math.pi * radius**2 * wind**3)

    return evaluate(formula, inputs, method=_method(wind_speed), count=_DRAWS)


def tip_speed_ratio(rotor_speed, *, wind_speed, bench):
    """Tip speed over wind speed.

    Parameters
    ----------
    rotor_speed : Value
        [rad/s].
    wind_speed : Value
        Over the disc, rotor away [m/s].
    bench : Bench
        Rotor and scatter.

    Returns
    -------
    Estimate
        [-].

    Raises
    ------
    OutOfRange
        A wind that is nothing, or known to no better than 20 %.
    """
    inputs = [_repeats(bench.scatter.get("rotor_speed", (0.0, 0))), _input("rotor speed", rotor_speed)]
    inputs += [_input("rotor radius", bench.rotor_radius), _input("wind speed", wind_speed)]
    return evaluate(
        lambda repeat, speed, radius, wind: repeat * speed * radius / wind,
        inputs,
        method=_method(wind_speed),
        count=_DRAWS,
    )


def energy(joules, *, amps_read):
    """Energy of a run: all its powers come from the same instruments, so its relative doubt is that of one of them.

    Parameters
    ----------
    joules : float
        From the record of its power [J].
    amps_read : bool
        Power came from volts and amps; else from volts and the load's ohms.

    Returns
    -------
    Estimate
        [J]; scatter from sample to sample averages out and plays no part.
    """
    typical = Reading(row=0, voltage=1.0, current=1.0 if amps_read else None, load_resistance=1.0)
    bench = Bench(rotor_radius=Value(1.0), air_density=Value(1.0), wind_doubt=0.0)
    inputs, formula = _power(*(_measured(name, typical, bench) for name in ("voltage", "current", "load_resistance")))
    return evaluate(lambda *given: joules * formula(*given), inputs)


def derive(reading, bench):
    """Everything that one reading says about the turbine.

    Parameters
    ----------
    reading : Reading
        At the fan.
    bench : Bench
        What it shares with the others.

    Returns
    -------
    tuple of Derived
        As many as can be had from what was read.
    """
    seen = {name: _measured(name, reading, bench) for name in ("voltage", "current", "load_resistance", "rotor_speed")}
    wind, found = _measured("wind_speed", reading, bench), {}
    if is_open(reading):  # the volts of an open circuit are no power
        seen["voltage"] = None
    volts, electric = seen["voltage"], {name: seen[name] for name in ("current", "load_resistance")}
    if volts and any(electric.values()):
        scatter = bench.scatter.get("power", (0.0, 0))
        found["electrical_power", "W"] = electrical_power(volts, **electric, scatter=scatter)
        if wind:
            found["power_coefficient", ""] = power_coefficient(volts, **electric, wind_speed=wind, bench=bench)
    if seen["rotor_speed"]:
        if wind:
            found["tip_speed_ratio", ""] = tip_speed_ratio(seen["rotor_speed"], wind_speed=wind, bench=bench)
        repeats = _repeats(bench.scatter.get("rotor_speed", (0.0, 0)))
        turns = [repeats, _input("rotor speed", seen["rotor_speed"])]
        found["generator_speed", "rad/s"] = evaluate(lambda repeat, speed: repeat * bench.step_up * speed, turns)
    return tuple(Derived(*name, estimate, in_words(estimate.shares)) for name, estimate in found.items())


def is_open(reading):
    """Whether nothing was connected.

    Parameters
    ----------
    reading : Reading
        At the fan.

    Returns
    -------
    bool
        True for a load written as ``open``.
    """
    return reading.load_resistance is not None and reading.load_resistance >= OPEN_CIRCUIT


def _measured(name, reading, bench):
    """A number of a reading with its doubt, or None."""
    number = getattr(reading, name)
    if not number:
        return None
    if name in bench.meters:
        return reading_value(bench.meters[name], number)
    usual = {"current": _CURRENT_DOUBT, "load_resistance": _RESISTANCE_DOUBT, "wind_speed": bench.wind_doubt}
    return Value(number, (usual | doubts())[name] * number, "common practice")


def in_words(shares):
    """Sentence that says where a doubt comes from.

    Parameters
    ----------
    shares : sequence of (str, float)
        Share of each input in the variance, greatest first [-].

    Returns
    -------
    str
        Such as ``Your ohms are fine; the wind speed is 80 % of the doubt.``; empty where there is none.
    """
    shares = [(name, share) for name, share in shares if share > 0]
    if not shares:
        return ""
    (worst, most), rest = shares[0], shares[1:]
    fine = [name for name, share in rest if share < _FINE and name in _READ]
    praise = f"Your {_listed(fine)} {'is' if len(fine) == 1 and fine[0] not in _MANY else 'are'} fine; " if fine else ""
    if most >= _RULES:
        verb = "are" if worst in _MANY else "is"
        return _opened(f"{praise}the {worst} {verb} {100 * most:.0f} % of the doubt.")
    parts = [f"the {name} ({100 * share:.0f} %)" for name, share in shares if share >= _FINE]
    return _opened(f"{praise}the doubt comes from {_listed(parts)}.")


def _opened(text):
    return text[0].upper() + text[1:]


def _listed(words):
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def _power(voltage, current, load_resistance):
    """Inputs of the electrical power, and the formula that takes them."""
    if current is not None:
        return [_input("volts", voltage), _input("amps", current)], lambda volts, amps: volts * amps
    if load_resistance is None:
        raise InputError("power", "volts alone", "amps or the ohms of the load", try_="write down the load's ohms")
    return [_input("volts", voltage), _input("ohms", load_resistance)], lambda volts, ohms: volts**2 / ohms


def _input(name, value):
    return Input(name, value.number, value.sigma)


def _repeats(scatter):
    size, freedom = scatter
    return Input("scatter between repeats", 1.0, size, freedom or math.inf)


def _method(wind_speed):
    within("wind speed", wind_speed.number, low=0.1, high=60, unit="m/s", try_="the wind over the disc")
    try_ = "map the wind over the disc again; as it is, nothing can be said of coefficients"
    within("relative doubt of the wind", wind_speed.relative, low=0, high=_WORST, unit="", try_=try_)
    return MONTE_CARLO if wind_speed.relative > CURVED else FIRST_ORDER
