"""Power curve of a turbine as measured: bins of wind, brought to one air density, one curve a load."""

import collections
from dataclasses import replace

import numpy as np

from whirlbench.actions.doubt import bench_at, bench_of
from whirlbench.actions.report import Report
from whirlbench.errors import InputError
from whirlbench.measure import derived
from whirlbench.measure.power_curve import BIN_WIDTH, REFERENCE_DENSITY, RULES, normalised, power_curve


class CurveBin(Report):
    """Runs in one bin of wind; the standard errors are missing where there is one run only."""

    centre_m_s: float
    wind_speed_m_s: float
    electrical_power_W: float
    scatter_W: float | None
    count: int
    repeat_sd_W: float | None
    instrument_sd_W: float
    electrical_power_sd_W: float | None


class CurveRun(Report):
    """One run, as measured and as it counts in the curve: at the reference density."""

    line: int
    wind_speed_m_s: float
    electrical_power_W: float
    air_density_kg_m3: float
    normal_wind_speed_m_s: float
    normal_power_W: float


class LoadCurve(Report):
    """Power curve of one variant with one load."""

    build: str
    load_resistance_ohm: float | None
    bins: tuple[CurveBin, ...]
    runs: tuple[CurveRun, ...]


class CurveReport(Report):
    """Answer of ``curve``."""

    turbine: str
    bin_width_m_s: float
    density_rule: str
    density_words: str
    reference_density_kg_m3: float
    curves: tuple[LoadCurve, ...]
    notes: tuple[str, ...]


def curve(turbine, readings, *, width=BIN_WIDTH, rule="power", meters=()):
    """Power curves by bins of wind, one for each variant and load in the readings.

    Parameters
    ----------
    turbine : Turbine
        Rotor, air and the doubt of the wind.
    readings : sequence of Reading
        At the fan.
    width : float
        Of a bin [m/s].
    rule : str
        How the density is taken out: a key of ``RULES``.
    meters : sequence of str
        Accuracy of each instrument.

    Returns
    -------
    CurveReport
        The curves, the one of most runs first.

    Raises
    ------
    InputError
        No reading with a wind and a power.
    """
    usable = [one for one in readings if one.wind_speed and one.power is not None and not derived.is_open(one)]
    if not usable:
        needs = "readings with a wind, volts, and the load's ohms or amps"
        raise InputError("readings", "no power in any wind", needs, try_="write down the load's ohms")
    bench, notes = bench_of(turbine, usable, meters)
    groups = collections.defaultdict(list)
    for one in usable:
        groups[one.build, one.load_resistance].append(one)
    ranked = sorted(groups.items(), key=lambda each: -len(each[1]))
    left_out = sum(one.power is not None and derived.is_open(one) for one in readings)
    if left_out:
        notes.append(f"Readings without a load are left out, since they give no power: {left_out}.")
    notes.append("Gusts add power (3 % at a turbulence of 10 %): compare curves taken in the same stream only.")
    return CurveReport(
        turbine=turbine.name,
        bin_width_m_s=width,
        density_rule=rule,
        density_words=RULES.get(rule, ""),
        reference_density_kg_m3=REFERENCE_DENSITY,
        curves=tuple(_curve(turbine, runs, bench, width=width, rule=rule) for _, runs in ranked),
        notes=tuple(notes),
    )


def _curve(turbine, readings, bench, *, width, rule):
    winds, powers = (np.array([getattr(one, name) for one in readings]) for name in ("wind_speed", "power"))
    densities = np.array([derived.room_density(turbine.air, one).number for one in readings])
    found = power_curve(
        *(winds, powers, densities),
        width=width,
        rule=rule,
        wind_doubt=bench.wind_doubt,
        power_doubt=_shared_doubt(turbine, readings, replace(bench, scatter={})),
    )
    normal = normalised(winds, powers, densities, rule=rule)
    runs = zip(readings, winds, powers, densities, *normal, strict=True)
    return LoadCurve(
        build=readings[0].build,
        load_resistance_ohm=readings[0].load_resistance,
        bins=tuple(_bin(each) for each in found.bins),
        runs=tuple(
            CurveRun(
                line=one.row,
                wind_speed_m_s=wind,
                electrical_power_W=power,
                air_density_kg_m3=density,
                normal_wind_speed_m_s=normal_wind,
                normal_power_W=normal_power,
            )
            for one, wind, power, density, normal_wind, normal_power in runs
        ),
    )


def _shared_doubt(turbine, readings, bench):
    """Relative doubt of power that all runs share: that of the instruments."""
    found = [derived.derive(one, bench_at(turbine, one, bench))[0].estimate for one in readings if one.power]
    return float(np.mean([each.sigma / each.number for each in found])) if found else 0.0


def _bin(each):
    return CurveBin(
        centre_m_s=each.centre,
        wind_speed_m_s=each.wind_speed,
        electrical_power_W=each.power,
        scatter_W=each.scatter,
        count=each.count,
        repeat_sd_W=each.repeat_sigma,
        instrument_sd_W=each.instrument_sigma,
        electrical_power_sd_W=each.sigma,
    )
