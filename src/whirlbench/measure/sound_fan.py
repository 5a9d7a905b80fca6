"""The fan's own lines in the sound, from a recording of the fan alone or from its speed and blades."""

from dataclasses import dataclass

import numpy as np

from whirlbench.errors import within
from whirlbench.measure.sound_lines import TOP, envelopes, evidence, lines, mask

TOO_LOUD = 5.0  # [dB] between 0, where the method held, and 10, where it failed
_CLEAR = 2.5  # evidence at which a line of the fan alone counts
_DRIFT = 0.007  # a fan's speed differs a little between two recordings
_NEAR = 0.15  # share of the way between two shaft lines that still counts as on the line
_STANDS_OUT = 40.0  # surplus of a line, bands added up, that noise alone never reaches
_SPEED_DOUBT = 0.01  # a speed that somebody read or counted


@dataclass(frozen=True)
class Fan:
    """Where the fan sounds.

    Attributes
    ----------
    centres : ndarray, shape (k,)
        Its lines [Hz].
    doubt : float
        How far each may have moved, over its frequency [-].
    """

    centres: np.ndarray
    doubt: float

    def ranges(self, step):
        """Ranges of frequency that belong to the fan.

        Parameters
        ----------
        step : float
            Distance of two frequencies of the spectrum [Hz].

        Returns
        -------
        ndarray, shape (k, 2)
            Ends [Hz].
        """
        half = self.doubt * self.centres + 4 * step
        return np.column_stack([self.centres - half, self.centres + half])


NO_FAN = Fan(np.empty(0), 0.0)  # none can be heard


def fan_alone(recording):
    """Fan as a recording of it alone shows it.

    Parameters
    ----------
    recording : Recording
        Phone at the same place, turbine held still or away.

    Returns
    -------
    Fan
        With no lines where it runs smoothly.
    """
    spectrum = lines(envelopes(recording))
    proof = evidence(spectrum)[1]
    inside = (proof > _CLEAR) & (spectrum.frequency > 1.0)
    peak = inside & (proof >= np.roll(proof, 1)) & (proof > np.roll(proof, -1))
    return Fan(spectrum.frequency[peak], _DRIFT)


def fan_of_speed(fan_speed, blade_count):
    """Fan as its speed and blades foretell it.

    Parameters
    ----------
    fan_speed : float
        [rad/s].
    blade_count : int
        Blades of the fan.

    Returns
    -------
    Fan
        Six lines of its blades and the first of its shaft.

    Raises
    ------
    OutOfRange
        A speed or a number of blades that no fan has.
    """
    within("fan speed", fan_speed, low=5, high=1000, unit="rad/s", try_="write it as '1200 rpm'")
    within("fan blades", blade_count, low=1, high=30, unit="", try_="count the fan's blades")
    shaft = fan_speed / (2 * np.pi)
    centres = shaft * np.union1d(np.arange(1, 2 * blade_count), blade_count * np.arange(1, 7))
    return Fan(centres[centres < TOP], _SPEED_DOUBT)


def level(spectrum, pass_frequency, fan_ranges):
    """Swell of the fan's lines over that of the turbine's in one recording.

    Parameters
    ----------
    spectrum : Lines
        Of fan and turbine together: a phone that turns its gain between two recordings cannot mislead this way.
    pass_frequency : float
        Blade-pass frequency of the turbine [Hz].
    fan_ranges : array, shape (k, 2)
        The fan's lines [Hz].

    Returns
    -------
    float
        [dB]; the power of a swell's line goes with the square of the sound's power.
    """
    surplus = np.maximum(spectrum.power - 3, 0).sum(axis=0)
    orders = pass_frequency * np.arange(1, 5)
    fan = mask(spectrum.frequency, fan_ranges)
    own = mask(spectrum.frequency, np.column_stack([0.985 * orders, 1.015 * orders])) & ~fan
    return float(5 * np.log10((surplus[fan].sum() + 1) / (surplus[own].sum() + 1)))


def stranger(spectrum, shaft_frequency, *, blade_count, width, silent):
    """Strongest line that a rotor would not make, against the strongest that it would.

    Parameters
    ----------
    spectrum : Lines
        Of the recording.
    shaft_frequency : float
        Of the rotor believed in [Hz].
    blade_count : int
        Its blades.
    width : float
        Half width of its lines over their frequency [-].
    silent : array, shape (k, 2)
        Ranges already explained by fan and mains [Hz].

    Returns
    -------
    frequency : float
        Of the stranger [Hz].
    lead : float
        Its swell over that of the rotor [dB]; minus infinity where it does not stand out of the noise.
    """
    surplus = np.where(mask(spectrum.frequency, silent), 0.0, np.maximum(spectrum.power - 1, 0).sum(axis=0))
    order = spectrum.frequency / shaft_frequency
    off = np.abs(order - np.round(order))
    foreign = (off > np.maximum(_NEAR, width * order)) & (spectrum.frequency > 1.0)
    passes = np.abs(order / blade_count - np.round(order / blade_count)) * blade_count < np.maximum(
        _NEAR, width * order
    )
    own = surplus[passes & (spectrum.frequency > 1.0)].max(initial=1.0)
    place = int(np.where(foreign, surplus, 0.0).argmax())
    lead = 5 * np.log10(surplus[place] / own) if foreign[place] and surplus[place] > _STANDS_OUT else -np.inf
    return float(spectrum.frequency[place]), float(lead)
