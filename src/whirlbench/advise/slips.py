"""Readings that cannot be: a slip of the pen or the meter, asked about before anything is learned from them."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.advise.contradictions import CLOSER, QUANTITIES, RPM, Slip, contradictions, usual_slip
from whirlbench.parts.load import Resistor
from whirlbench.physics.optimum import BETZ
from whirlbench.predict import turbine as whole
from whirlbench.predict import world

_WORLDS = 33
_FAR = np.log(2.5)  # beyond every believed world by this much, a reading is asked about
_OFF = np.log(1.5)  # the same for volts per speed, which wind and blades have no part in
_TRAIN = np.log(1.2)  # both shafts' speeds and the gears agree within this
_CLOSE = np.log(2)  # a ratio so near to the factor of a usual slip is taken for it


def slips(turbine, readings, prior):
    """Readings that contradict themselves, or lie far beyond anything the turbine could do.

    Parameters
    ----------
    turbine : Turbine
        The turbine as built.
    readings : sequence of Reading
        At the fan.
    prior : Beliefs
        What is believed of the parts.

    Returns
    -------
    list of Slip
        At most one a reading.
    """
    worlds = world.draw(prior, _WORLDS)
    found = {slip.row: slip for slip in contradictions(readings)}
    shown = {}  # a condition that was read more than once is computed once
    for reading in readings:
        if reading.row not in found and reading.wind_speed is not None:
            condition = reading.wind_speed, reading.load_resistance
            if condition not in shown:
                shown[condition] = _shown(turbine, *condition, worlds)
            question = _against_turbine(reading, shown[condition])
            if question:
                found[reading.row] = Slip(reading.row, question)
    return [found[row] for row in sorted(found)]


@dataclass(frozen=True)
class _Span:
    """Least, middle and most of what the believed worlds show."""

    low: float
    middle: float
    high: float

    def holds(self, number, beyond):
        """Whether a number lies in it, or beyond it by no more than a factor's logarithm."""
        return self.low * math.exp(-beyond) < number < self.high * math.exp(beyond)


@dataclass(frozen=True)
class _Shown:
    """What the turbine shows in one wind with one load: spans by quantity, where it shows anything."""

    spans: dict
    most_power: float
    step_up: float


def _shown(turbine, speed, ohms, worlds):
    built = whole.settled(turbine, speed)
    if ohms is not None:
        built = built.changed(load=Resistor(resistance=ohms))
    assembly = whole.assemble(built, worlds)
    found = whole.predict(assembly, speed)
    numbers = {name: np.concatenate([getattr(found.rest, name), getattr(found.pushed, name)]) for name in QUANTITIES}
    turning = (numbers["voltage"] > 0) & (numbers["rotor_speed"] > 0)
    numbers["volts per speed"] = numbers["voltage"][turning] / numbers["rotor_speed"][turning]
    seen = {name: each[each > 0] for name, each in numbers.items()}
    spans = {
        name: _Span(float(each.min()), float(np.median(each)), float(each.max()))
        for name, each in seen.items()
        if each.size
    }
    return _Shown(spans, BETZ * 1.6 * float(found.pushed.wind_power[0]), float(assembly.train.step_up))


def _against_turbine(reading, shown):
    """A reading beyond every believed world, or more power than any rotor can take."""
    question = _against_train(reading, shown.step_up) or _against_worlds(reading, shown)
    if question:
        return question
    power, most = reading.power, shown.most_power
    if power is not None and power > most:
        told = f"{power:.3g} W is more than any rotor could take from this wind ({most:.2g} W)"
        return f"{told}{_hint('power', power / most)}"
    return _volts_per_speed(reading, shown)


def _against_train(reading, step_up):
    """Speeds of the two shafts that the gears do not join."""
    if not (reading.rotor_speed and reading.generator_speed):
        return ""
    ratio = reading.generator_speed / reading.rotor_speed
    if abs(np.log(ratio / step_up)) < _TRAIN:
        return ""
    told = f"the generator's speed is {ratio:.3g} times the rotor's, where the drive gives {step_up:.3g}"
    return f"{told}; check which shaft each was read on"


def _against_worlds(reading, shown):
    """Volts, amps or speed far beyond what the turbine shows in any believed world."""
    for name, (unit, word, scale) in QUANTITIES.items():
        read, possible = getattr(reading, name), shown.spans.get(name)
        if read and possible and not possible.holds(read, _FAR):
            span = f"{scale * possible.low:.3g} to {scale * possible.high:.3g} {unit}"
            hint = _hint(name, read / possible.middle, shown.step_up)
            return f"{word} of {scale * read:.5g} {unit}, where this turbine should show {span}{hint}"
    return ""


def _volts_per_speed(reading, shown):
    """Volts that the generator does not give at this speed into this load."""
    possible = shown.spans.get("volts per speed")
    if not (reading.voltage and reading.rotor_speed and reading.load_resistance and possible):
        return ""
    read = reading.voltage / reading.rotor_speed
    if possible.holds(read, _OFF):
        return ""
    expected, step_up = possible.middle, shown.step_up
    usual = usual_slip("rotor_speed", expected / read, CLOSER, step_up) or usual_slip(
        "voltage", read / expected, CLOSER
    )
    told = f"{reading.voltage:.3g} V at {RPM * reading.rotor_speed:.4g} rpm"
    told += f", where this generator gives about {expected * reading.rotor_speed:.3g} V"
    return f"{told} into {reading.load_resistance:.4g} ohm; {_check(usual, 'the resistor, the speed and the meter')}"


def _hint(name, ratio, step_up=1.0):
    """The usual slip behind a ratio."""
    return "; " + _check(usual_slip(name, ratio, _CLOSE, step_up), "the unit, the resistor and the leads")


def _check(usual, otherwise):
    return f"check for {usual}" if usual else f"check {otherwise}"
