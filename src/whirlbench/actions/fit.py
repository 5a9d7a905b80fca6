"""Calibrate a turbine's model by readings at the fan, and say what they taught and what they could not."""

import collections
import math

import numpy as np

from whirlbench.actions.lesson import BeliefReport, Learned, Question, belief_report, learned, questions, tied
from whirlbench.actions.report import Report
from whirlbench.advise.learn import learn
from whirlbench.errors import InputError
from whirlbench.measure.derived import OPEN_CIRCUIT
from whirlbench.measure.gather import gathered
from whirlbench.parts.load import Resistor
from whirlbench.predict import turbine as whole
from whirlbench.predict import wind, world

_WINDS, _LOADS = 9, 9
_SHOWN = 500  # readings shown one by one
_FAR = 3.0  # doubts by which a reading is missed even after learning
_TOO_MUCH = 0.01  # chance of a misfit as great if the doubts were right


class Residual(Report):
    """A number that was read against the model; gaps in standard uncertainties of reading and model."""

    line: int
    quantity: str
    unit: str
    read: float
    before: float
    after: float
    relative_sd: float
    gap_before: float | None
    gap_after: float | None


class BandPoint(Report):
    """Power in one wind with one load, before and after learning; low and high hold 8 of 10 believed cases."""

    wind_speed_m_s: float
    load_resistance_ohm: float | None
    before_W: float
    before_low_W: float
    before_high_W: float
    after_W: float
    after_low_W: float
    after_high_W: float


class SeenPower(Report):
    """A reading's own power, or the mean of many under one condition."""

    line: int
    readings: int
    wind_speed_m_s: float
    load_resistance_ohm: float | None
    electrical_power_W: float


class FitReport(Report):
    """Answer of ``fit``."""

    turbine: str
    pushed: bool
    learned: tuple[Learned, ...]
    cannot_tell_apart: tuple[str, ...]
    readings: tuple[Residual, ...]
    misfit: float | None
    questions: tuple[Question, ...]
    over_wind: tuple[BandPoint, ...]
    over_load: tuple[BandPoint, ...]
    seen: tuple[SeenPower, ...]
    notes: tuple[str, ...]
    beliefs: BeliefReport


_UNITS = {"voltage": "V", "current": "A", "rotor_speed": "rad/s", "tip_deflection": "m", "start": ""}


def fit(turbine, readings):
    """Learn from readings and report what came of it.

    Parameters
    ----------
    turbine : Turbine
        The turbine as built.
    readings : sequence of Reading
        At the fan, and pulls on the tower; very many are brought together under fewer conditions.

    Returns
    -------
    FitReport
        Learned, not learned, tied, residuals, bands before and after, questions.

    Raises
    ------
    InputError
        Every reading was asked about, so that none is left to learn from.
    """
    readings = gathered(readings)
    winds = [one.wind_speed for one in readings if one.wind_speed is not None]
    own = wind.disc_speed(turbine.wind, turbine.rotor.radius).number
    turbine = whole.settled(turbine, sorted(set(winds)) or [own])
    prior = whole.priors(turbine)
    lesson = learn(turbine, readings, prior)
    if lesson.fit is None:
        asked = "; ".join(f"line {slip.row}: {slip.question}" for slip in lesson.asked)
        raise InputError("readings", f"only readings to ask about ({asked})", "one that can be", try_="check them")
    found, beliefs = lesson.fit, (prior, lesson.fit.beliefs)
    pushed = bool(winds) and all(one.pushed for one in lesson.believed if one.wind_speed is not None)
    return FitReport(
        turbine=turbine.name,
        pushed=pushed,
        learned=learned(found),
        cannot_tell_apart=tied(found),
        readings=tuple(_residual(row) for row in found.rows),
        misfit=_misfit(found.rows),
        questions=questions(lesson.asked),
        over_wind=_over_wind(turbine, winds or [own], beliefs, pushed=pushed),
        over_load=_over_load(turbine, lesson.believed, beliefs, pushed=pushed),
        seen=_seen(lesson.believed),
        notes=tuple(_notes(lesson.believed, found.rows)),
        beliefs=belief_report(found.beliefs),
    )


def _residual(row):
    before, after = row.gaps
    return Residual(
        line=row.row,
        quantity=row.quantity,
        unit=_UNITS[row.quantity],
        read=row.read,
        before=row.before,
        after=row.after,
        relative_sd=row.doubt,
        gap_before=before,
        gap_after=after,
    )


def _gaps(rows):
    return np.array([row.gaps[1] for row in rows if row.doubt])


def _misfit(rows):
    """Root mean square of what the model still misses, in doubts."""
    gaps = _gaps(rows)
    return float(np.sqrt(np.mean(gaps**2))) if len(gaps) else None


def _seen(readings):
    """Power of every reading; of very many one mean for each condition."""
    groups = collections.defaultdict(list)
    for one in readings:
        if one.wind_speed is not None and one.power is not None:
            alone = one.row if len(readings) <= _SHOWN else None
            groups[one.wind_speed, one.load_resistance, one.pushed, alone].append(one)
    return tuple(
        SeenPower(
            line=group[0].row,
            readings=len(group),
            wind_speed_m_s=group[0].wind_speed,
            load_resistance_ohm=group[0].load_resistance,
            electrical_power_W=math.fsum(one.power for one in group) / len(group),
        )
        for group in groups.values()
    )


def _over_wind(turbine, winds, beliefs, *, pushed):
    """Power with the turbine's own load, in winds from below the slowest to above the fastest that was read."""
    speeds = np.linspace(0.8 * min(winds), 1.2 * max(winds), _WINDS)
    assemblies = [whole.assemble(turbine, world.draw(one, world.COUNT)) for one in beliefs]
    ohms = assemblies[0].machine.circuit.load_resistance
    found = [[_power(one, float(speed), pushed=pushed) for one in assemblies] for speed in speeds]
    return tuple(_band(float(speed), ohms, *both) for speed, both in zip(speeds, found, strict=True))


def _over_load(turbine, readings, beliefs, *, pushed):
    """Power in the wind that was read most, with loads from half the smallest to twice the largest that was read."""
    at_fan = [one for one in readings if one.wind_speed is not None and one.load_resistance]
    loads = [one.load_resistance for one in at_fan if one.load_resistance < OPEN_CIRCUIT]
    if not loads:
        return ()
    speed = collections.Counter(one.wind_speed for one in at_fan).most_common(1)[0][0]
    worlds = [world.draw(one, world.COUNT) for one in beliefs]
    rotors = [whole.rotor_in_wind(whole.assemble(turbine, one), speed) for one in worlds]
    points = []
    for exact in np.geomspace(0.5 * min(loads), 2 * max(loads), _LOADS):
        ohms = float(f"{exact:.2g}")
        built = turbine.changed(load=Resistor(resistance=ohms))
        powers = [
            _power(whole.assemble(built, one), speed, rotor, pushed=pushed)
            for one, rotor in zip(worlds, rotors, strict=True)
        ]
        points.append(_band(speed, ohms, *powers))
    return tuple(points)


def _power(assembly, speed, rotor=None, *, pushed):
    found = whole.predict(assembly, speed, rotor)
    return (found.pushed if pushed else found.rest).power


def _band(speed, ohms, before, after):
    fields = {}
    for name, power in (("before", before), ("after", after)):
        low, high = np.quantile(power, [0.1, 0.9])
        fields |= {f"{name}_W": float(power[0]), f"{name}_low_W": float(low), f"{name}_high_W": float(high)}
    return BandPoint(wind_speed_m_s=speed, load_resistance_ohm=ohms if np.isfinite(ohms) else None, **fields)


def _notes(readings, rows):
    """What would teach more, and what does not fit."""
    at_fan = [one for one in readings if one.wind_speed is not None]
    if at_fan and not any(one.rotor_speed for one in at_fan):
        yield "No reading has a rotor speed: volts alone cannot part the rotor from the generator. Read rpm as well."
    if at_fan and len({one.load_resistance for one in at_fan}) == 1:
        yield (
            "All readings have one load, so the generator's volts and its resistance stay tied: take a second "
            "resistor, three times larger or smaller."
        )
    if at_fan and len({one.wind_speed for one in at_fan}) == 1:
        yield "All readings have one wind: a second fan speed tells where the blades stall and what friction takes."
    for row in rows:
        if row.doubt and abs(row.gaps[1]) > _FAR:
            yield (
                f"Line {row.row}: the {row.quantity.replace('_', ' ')} lies {abs(row.gaps[1]):.1f} of its doubts from "
                "the model even after learning. Read it again, or look for what the model does not know."
            )
    gaps = _gaps(rows)
    if len(gaps) and float(gaps @ gaps) > _limit(len(gaps)):
        yield (
            f"All in all the readings scatter {np.sqrt(np.mean(gaps**2)):.1f} times as far as their doubts allow: do "
            "not trust the narrow band before you have repeated a few."
        )


def _limit(count):
    """Sum of squares that readings with right doubts exceed once in a hundred."""
    from scipy.special import chdtri

    return float(chdtri(count, _TOO_MUCH))
