"""Readings that contradict themselves or their own repeats, and the usual slips behind it; no turbine is asked."""

from dataclasses import dataclass

import numpy as np

from whirlbench.measure import repeats
from whirlbench.measure.readings import doubts

_OHM = np.log(1.25)  # volts, amps and ohms of one row agree within this
RPM = 30 / np.pi
QUANTITIES = {"voltage": ("V", "volts", 1.0), "current": ("A", "amps", 1.0), "rotor_speed": ("rpm", "speed", RPM)}
_DIGIT = (10.0, "a wrong digit or the meter's range", "a wrong digit or the meter's range")
_USUAL = {  # factor of a usual slip, and its words where the reading is too high, and too low
    "voltage": ((1000.0, "mV written as V", "V written as mV"), _DIGIT),
    "current": ((1000.0, "mA written as A", "A written as mA"), _DIGIT),
    "rotor_speed": ((RPM, "rpm written as rad/s, or a wrong digit", "rad/s written as rpm, or a wrong digit"),),
    "power": ((1e6, "m for a full unit in volts and amps", ""), (1000.0, "mV or mA written as V or A", ""), _DIGIT),
}
CLOSER = np.log(1.35)  # a ratio so near to the factor of a usual slip is taken for it, though gears may lie behind
_GEARED = np.log(1.5)  # from here on a drive's ratio is told from a wrong reading of the speed


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
            unit, word, _ = QUANTITIES[name]
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
    usual = usual_slip("current", ratio, CLOSER)
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
        for name, (unit, word, scale) in QUANTITIES.items():
            rows = [one for one in group if getattr(one, name)]
            values = [getattr(one, name) * scale for one in rows]
            for place in repeats.apart(values, doubt=doubts()["rotor_speed" if name == "rotor_speed" else "voltage"]):
                told = f"{word} of {values[place]:.4g} {unit}, where its {len(rows) - 1} repeats lie around"
                yield rows[place].row, f"{told} {np.median(values):.4g} {unit}; check it against your notes"


def usual_slip(name, ratio, close, step_up=1.0):
    """Words of the usual slip whose factor is nearest to a ratio, if one is close.

    Parameters
    ----------
    name : str
        ``voltage``, ``current``, ``rotor_speed`` or ``power``.
    ratio : float
        What was read over what should have been.
    close : float
        How near, as the logarithm of a factor.
    step_up : float
        Of the drive: the generator's speed may have been read for the rotor's.

    Returns
    -------
    str
        Empty where none is close.
    """
    known = list(_USUAL[name])
    if name == "rotor_speed" and abs(np.log(step_up)) > _GEARED:
        known.insert(0, (step_up, f"the generator's speed, {step_up:.3g} times the rotor's", "a speed that is too low"))
    gaps = [abs(abs(np.log(ratio)) - abs(np.log(factor))) for factor, *_ in known]
    near = int(np.argmin(gaps))
    return known[near][1 if ratio > 1 else 2] if gaps[near] < close else ""
