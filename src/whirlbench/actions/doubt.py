"""Say what each reading is worth: power, power coefficient and tip-speed ratio with interval, and what to blame."""

import collections
from dataclasses import replace

import numpy as np

from whirlbench import units
from whirlbench.actions.report import Report
from whirlbench.errors import InputError
from whirlbench.measure import derived, meter
from whirlbench.measure.uncertainty import MONTE_CARLO, pooled_scatter
from whirlbench.predict import drivetrain, wind
from whirlbench.value import Value

_RULER = 0.001  # [m] a tip seen against a ruler: common practice
# quantity of a reading, and its key in the report without and with its unit
QUANTITIES = {
    "electrical_power": ("electrical power", "W"),
    "power_coefficient": ("power coefficient", ""),
    "tip_speed_ratio": ("tip-speed ratio", ""),
    "generator_speed": ("generator speed", "rad_s"),
}


class Share(Report):
    """Share of one input in the variance of one result."""

    input: str
    share: float


class Budget(Report):
    """Where the doubt of one quantity comes from."""

    quantity: str
    sentence: str
    shares: tuple[Share, ...]


class DoubtPoint(Report):
    """One reading and what follows from it; low and high hold the truth 19 times in 20."""

    line: int
    wind_speed_m_s: float | None
    load_resistance_ohm: float | None
    air_density_kg_m3: float
    air_density_sd_kg_m3: float
    electrical_power_W: float | None = None
    electrical_power_sd_W: float | None = None
    electrical_power_low_W: float | None = None
    electrical_power_high_W: float | None = None
    power_coefficient: float | None = None
    power_coefficient_sd: float | None = None
    power_coefficient_low: float | None = None
    power_coefficient_high: float | None = None
    tip_speed_ratio: float | None = None
    tip_speed_ratio_sd: float | None = None
    tip_speed_ratio_low: float | None = None
    tip_speed_ratio_high: float | None = None
    generator_speed_rad_s: float | None = None
    generator_speed_sd_rad_s: float | None = None
    generator_speed_low_rad_s: float | None = None
    generator_speed_high_rad_s: float | None = None
    lopsided: bool
    budgets: tuple[Budget, ...]
    advice: str


class DoubtReport(Report):
    """Answer of ``doubt``."""

    turbine: str
    wind_doubt: float
    power_scatter: float | None
    repeats: int
    points: tuple[DoubtPoint, ...]
    budgets: tuple[Budget, ...]
    notes: tuple[str, ...]


def doubt(turbine, readings, meters=()):
    """Power, power coefficient and tip-speed ratio of every reading, with interval and budget.

    Parameters
    ----------
    turbine : Turbine
        Rotor, drivetrain, air and the doubt of the wind.
    readings : sequence of Reading
        At the fan.
    meters : sequence of str
        Accuracy of each instrument, as ``read_meter`` takes it.

    Returns
    -------
    DoubtReport
        One point a reading that has a power or a speed.

    Raises
    ------
    InputError
        No such reading, or an accuracy that cannot be used.
    """
    bench, notes = bench_of(turbine, readings, meters)
    found = [(reading, *_derived(turbine, reading, bench)) for reading in readings]
    points = tuple(_point(*each) for each in found if each[2])
    if not points:
        needs = "volts with the load's ohms or with amps, or a rotor speed"
        raise InputError("readings", "nothing to work with", needs, try_="write down the load's ohms")
    if turbine.wind.kind == "tunnel":
        notes.append("Walls speed the wind up past the rotor: compare coefficients only inside the same tunnel.")
    scatter, freedom = bench.scatter["power"]
    return DoubtReport(
        turbine=turbine.name,
        wind_doubt=bench.wind_doubt,
        power_scatter=scatter if freedom else None,
        repeats=freedom,
        points=points,
        budgets=_typical(points),
        notes=tuple(notes),
    )


def bench_of(turbine, readings, meters=()):
    """What all readings of a session have in common.

    Parameters
    ----------
    turbine : Turbine
        Rotor, drivetrain, air and the doubt of the wind.
    readings : sequence of Reading
        At the fan: repeats at one setting say how much they scatter, written digits how fine a meter is read.
    meters : sequence of str
        Accuracy of each instrument.

    Returns
    -------
    tuple of (Bench, list of str)
        The bench, and what was taken for granted.

    Raises
    ------
    InputError
        An accuracy that cannot be used, or a wind without a speed.
    """
    instruments, notes = {}, []
    for text in meters:
        name, instruments[name], step = _with_step(text, readings)
        if step:
            size = units.plain(step, instruments[name].unit)
            notes.append(f"One digit of the {meter.word_of(name)} is taken as {size}, the last digit written.")
    groups = collections.defaultdict(list)
    for reading in (one for one in readings if not derived.is_open(one)):
        groups[reading.build, reading.wind_speed, reading.load_resistance, reading.pushed].append(reading)
    scatter = {
        name: pooled_scatter([[found for one in group if (found := getattr(one, name))] for group in groups.values()])
        for name in ("power", "rotor_speed")
    }
    if not scatter["power"][1]:
        notes.append("No setting was repeated, so scatter from run to run is not in the doubt: repeat one three times.")
    radius = turbine.rotor.radius
    bench = derived.Bench(
        rotor_radius=Value(radius, _RULER, "ruler"),
        air_density=derived.room_density(turbine.air, readings[0]),
        wind_doubt=_wind_doubt(turbine, readings, instruments.get("wind_speed")),
        step_up=float(np.prod([drivetrain.step_up(stage) for stage in turbine.drivetrain])),
        meters=instruments,
        scatter=scatter,
    )
    return bench, notes


def _wind_doubt(turbine, readings, anemometer):
    """Relative doubt of the wind: of the anemometer where it is named, of the turbine's wind where it is not."""
    winds = np.array([reading.wind_speed for reading in readings if reading.wind_speed])
    if anemometer is None or not len(winds):
        return wind.disc_speed(turbine.wind, turbine.rotor.radius).relative
    return float(np.mean(anemometer.sigma(winds) / winds))


def bench_at(turbine, reading, bench):
    """Bench of one reading, with its own air and its own meter.

    Parameters
    ----------
    turbine : Turbine
        Its air stands in for what was not read.
    reading : Reading
        At the fan.
    bench : Bench
        Of the session.

    Returns
    -------
    Bench
        Of this reading.
    """
    own = dict([_with_step(reading.meter, [reading])[:2]]) if reading.meter else {}
    density = derived.room_density(turbine.air, reading)
    return replace(bench, air_density=density, meters=bench.meters | own)


def _with_step(text, readings):
    """Name of the reading, its instrument, and the step that was taken from the digits written where none was told."""
    name, instrument = meter.read_meter(text)
    if not instrument.digits or instrument.resolution is not None:
        return name, instrument, None
    step = meter.last_digit([getattr(reading, name) for reading in readings])
    return name, replace(instrument, resolution=step), step


def _derived(turbine, reading, bench):
    bench = bench_at(turbine, reading, bench)
    if reading.rotor_speed is None and reading.generator_speed is not None:
        reading = replace(reading, rotor_speed=reading.generator_speed / bench.step_up)
    return bench, derived.derive(reading, bench)


def _point(reading, bench, found):
    fields = {}
    for one in found:
        unit = QUANTITIES[one.quantity][1]
        for part, number in (("", "number"), ("sd", "sigma"), ("low", "low"), ("high", "high")):
            fields["_".join(filter(None, (one.quantity, part, unit)))] = getattr(one.estimate, number)
    volts = bench.meters.get("voltage")
    return DoubtPoint(
        line=reading.row,
        wind_speed_m_s=reading.wind_speed,
        load_resistance_ohm=reading.load_resistance,
        air_density_kg_m3=bench.air_density.number,
        air_density_sd_kg_m3=bench.air_density.sigma,
        lopsided=any(one.estimate.method == MONTE_CARLO for one in found),
        budgets=tuple(_budget(one.quantity, one.estimate.shares) for one in found),
        advice=meter.lower_range_advice(volts, reading.voltage) if volts and reading.voltage else "",
        **fields,
    )


def _budget(quantity, shares):
    told = tuple(Share(input=name, share=share) for name, share in shares)
    return Budget(quantity=quantity, sentence=derived.in_words(shares), shares=told)


def _typical(points):
    """Mean share of every input over all readings, for each quantity."""
    found = []
    for quantity in QUANTITIES:
        budgets = [budget for point in points for budget in point.budgets if budget.quantity == quantity]
        total = collections.Counter()
        for budget in budgets:
            total.update({each.input: each.share / len(budgets) for each in budget.shares})
        if budgets:
            found.append(_budget(quantity, total.most_common()))
    return tuple(found)
