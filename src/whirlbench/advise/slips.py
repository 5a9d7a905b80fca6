"""Readings that cannot be: a slip of the pen or the meter, asked about before anything is learned from them."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.measure import repeats
from whirlbench.measure.readings import doubts
from whirlbench.parts.load import Resistor
from whirlbench.physics.optimum import BETZ
from whirlbench.predict import turbine as whole
from whirlbench.predict import world

_WORLDS = 33
_FAR = np.log(2.5)  # beyond every believed world by this much, a reading is asked about
_OFF = np.log(1.5)  # the same for volts per speed, which wind and blades have no part in
_OHM = np.log(1.25)  # volts, amps and ohms of one row agree within this
_TRAIN = np.log(1.2)  # both shafts' speeds and the gears agree within this
_RPM = 30 / np.pi
_QUANTITIES = {"voltage": ("V", "volts", 1.0), "current": ("A", "amps", 1.0), "rotor_speed": ("rpm", "speed", _RPM)}
_DIGIT = (10.0, "a wrong digit or the meter's range", "a wrong digit or the meter's range")
_USUAL = {  # factor of a usual slip, and its words where the reading is too high, and too low
    "voltage": ((1000.0, "mV written as V", "V written as mV"), _DIGIT),
    "current": ((1000.0, "mA written as A", "A written as mA"), _DIGIT),
    "rotor_speed": ((_RPM, "rpm written as rad/s, or a wrong digit", "rad/s written as rpm, or a wrong digit"),),
    "power": ((1e6, "m for a full unit in volts and amps", ""), (1000.0, "mV or mA written as V or A", ""), _DIGIT),
}
_CLOSE = np.log(2)  # a ratio so near to the factor of a usual slip is taken for it
_CLOSER = np.log(1.35)  # the same where gears may lie behind it


@dataclass(frozen=True)
class Slip:
    """A reading that is asked about and not learned from.

    Attributes
    ----------
    row : int
        Line in the file.
    question : str
        What to check.
    """

    row: int
    question: str


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


def contradictions(readings):
    """Readings that contradict themselves or their own repeats; nothing of the turbine is asked.

    Parameters
    ----------
    readings : sequence of Reading
        At the fan.

    Returns
    -------
    list of Slip
        At most one a reading, in order of lines.
    """
    found = {reading.row: _signs(reading) or _against_itself(reading) for reading in readings}
    for row, question in _against_repeats([reading for reading in readings if not found[reading.row]]):
        found[row] = found[row] or question
    return [Slip(row, found[row]) for row in sorted(found) if found[row]]


def _signs(reading):
    """Leads the wrong way round."""
    for name in ("voltage", "current"):
        value = getattr(reading, name)
        if value is not None and value < 0:
            unit, word, _ = _QUANTITIES[name]
            return f"{word} of {value:.3g} {unit}; check whether the meter's leads are swapped"
    return ""


def _against_itself(reading):
    """Volts, amps and ohms that do not belong together."""
    if not (reading.voltage and reading.current and reading.load_resistance):
        return ""
    by_ohm = reading.voltage / reading.load_resistance
    ratio = reading.current / by_ohm
    if abs(np.log(ratio)) < _OHM:
        return ""
    usual = _usual("current", ratio, _CLOSER)
    hint = (
        f"check for {usual}"
        if usual
        else f"check the resistor: volts over amps give {reading.load_resistance / ratio:.3g} ohm"
    )
    return f"{reading.current:.3g} A was read, but volts over ohms give {by_ohm:.3g} A; {hint}"


def _against_repeats(readings):
    """Line and question of every reading that stands apart from its repeats."""
    alike = {}
    for reading in readings:
        same = (reading.wind_speed, reading.load_resistance, reading.pushed, reading.build, reading.block)
        if reading.wind_speed is not None:
            alike.setdefault(same, []).append(reading)
    for group in alike.values():
        for name, (unit, word, scale) in _QUANTITIES.items():
            rows = [one for one in group if getattr(one, name)]
            values = [getattr(one, name) * scale for one in rows]
            for place in repeats.apart(values, doubt=doubts()["rotor_speed" if name == "rotor_speed" else "voltage"]):
                told = f"{word} of {values[place]:.4g} {unit}, where its {len(rows) - 1} repeats lie around"
                yield rows[place].row, f"{told} {np.median(values):.4g} {unit}; check it against your notes"


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
    numbers = {name: np.concatenate([getattr(found.rest, name), getattr(found.pushed, name)]) for name in _QUANTITIES}
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
    for name, (unit, word, scale) in _QUANTITIES.items():
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
    usual = _usual("rotor_speed", expected / read, _CLOSER, step_up) or _usual("voltage", read / expected, _CLOSER)
    told = f"{reading.voltage:.3g} V at {_RPM * reading.rotor_speed:.4g} rpm"
    told += f", where this generator gives about {expected * reading.rotor_speed:.3g} V"
    return f"{told} into {reading.load_resistance:.4g} ohm; {_check(usual, 'the resistor, the speed and the meter')}"


def _usual(name, ratio, close, step_up=1.0):
    """Words of the usual slip whose factor is nearest to a ratio, if one is close."""
    known = list(_USUAL[name])
    if name == "rotor_speed" and abs(np.log(step_up)) > _OFF:
        known.insert(0, (step_up, f"the generator's speed, {step_up:.3g} times the rotor's", "a speed that is too low"))
    gaps = [abs(abs(np.log(ratio)) - abs(np.log(factor))) for factor, *_ in known]
    near = int(np.argmin(gaps))
    return known[near][1 if ratio > 1 else 2] if gaps[near] < close else ""


def _hint(name, ratio, step_up=1.0):
    """The usual slip behind a ratio."""
    return "; " + _check(_usual(name, ratio, _CLOSE, step_up), "the unit, the resistor and the leads")


def _check(usual, otherwise):
    return f"check for {usual}" if usual else f"check {otherwise}"
