"""Readings that cannot be: a slip of the pen or the meter, asked about before anything is learned from them."""

from dataclasses import dataclass

import numpy as np

from whirlbench.parts.load import Resistor
from whirlbench.physics.optimum import BETZ
from whirlbench.predict import turbine as whole
from whirlbench.predict import world

_WORLDS = 33
_FAR = np.log(2.5)  # beyond every believed world by this much, a reading is asked about
_OHM = np.log(1.25)  # volts, amps and ohms of one row agree within this
_RPM = 30 / np.pi
_QUANTITIES = {"voltage": ("V", "volts", 1.0), "current": ("A", "amps", 1.0), "rotor_speed": ("rpm", "speed", _RPM)}


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
    found = []
    for reading in readings:
        if reading.wind_speed is None:
            continue
        question = _against_itself(reading) or _against_turbine(turbine, reading, worlds)
        if question:
            found.append(Slip(reading.row, question))
    return found


def _against_itself(reading):
    """Volts, amps and ohms that do not belong together."""
    if not (reading.voltage and reading.current and reading.load_resistance):
        return ""
    by_ohm = reading.voltage / reading.load_resistance
    gap = abs(np.log(reading.current / by_ohm))
    if gap < _OHM:
        return ""
    return f"{reading.current:.3g} A was read, but volts over ohms give {by_ohm:.3g} A{_hint(reading.current / by_ohm)}"


def _against_turbine(turbine, reading, worlds):
    """A reading beyond every believed world, or more power than any rotor can take."""
    built = whole.settled(turbine, reading.wind_speed)
    if reading.load_resistance is not None:
        built = built.changed(load=Resistor(resistance=reading.load_resistance))
    found = whole.predict(whole.assemble(built, worlds), reading.wind_speed)
    for name, (unit, word, scale) in _QUANTITIES.items():
        read = getattr(reading, name)
        if not read:
            continue
        possible = np.concatenate([getattr(found.rest, name), getattr(found.pushed, name)])
        possible = possible[possible > 0]
        if possible.size and not np.log(possible.min()) - _FAR < np.log(read) < np.log(possible.max()) + _FAR:
            span = f"{scale * possible.min():.3g} to {scale * possible.max():.3g} {unit}"
            hint = _hint(read / np.median(possible))
            return f"{word} of {scale * read:.5g} {unit}, where this turbine should show {span}{hint}"
    power, most = reading.power, BETZ * 1.6 * float(found.pushed.wind_power[0])
    if power is not None and power > most:
        return f"{power:.3g} W is more than any rotor could take from this wind ({most:.2g} W){_hint(power / most)}"
    return ""


def _hint(ratio):
    """The usual slip behind a ratio."""
    for factor, words in ((1000, "m for a full unit, such as mV written as V"), (10, "a digit or the meter's range")):
        for turned in (ratio, 1 / ratio):
            if abs(np.log(turned / factor)) < np.log(2):
                return f"; check {words}"
    return "; check the unit, the resistor and the leads"
