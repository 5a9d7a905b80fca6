"""The picture of a sound: the spectrum of its swell and whose lines stand in it."""

from dataclasses import dataclass

import numpy as np

from whirlbench.measure.sound_lines import TOP, mask

_SHOWN = 600  # points of the picture
_LAST = 5.5  # blade-pass lines that the picture reaches to
_CLEAR = {"shaft": 7.0, "mains": 7.0}  # [dB] these are shown only where they stand out


@dataclass(frozen=True)
class Mark:
    """A line worth marking in the picture.

    Attributes
    ----------
    frequency : float
        [Hz].
    height : float
        Over the noise [dB].
    kind : str
        ``blade pass``, ``shaft``, ``fan`` or ``mains``.
    """

    frequency: float
    height: float
    kind: str


def heights(spectrum):
    """Height of every frequency over the noise, mean of the bands.

    Parameters
    ----------
    spectrum : Lines
        Of the recording.

    Returns
    -------
    ndarray, shape (m,)
        [dB].
    """
    return 10 * np.log10(np.maximum(spectrum.power.mean(axis=0), 0.1))


def picture(spectrum, pass_frequency):
    """Spectrum in at most some hundred points up to the fifth blade-pass line, the highest of each small stretch.

    Parameters
    ----------
    spectrum : Lines
        Of the recording.
    pass_frequency : float
        Blade-pass frequency [Hz].

    Returns
    -------
    ndarray, shape (2, k)
        Frequency [Hz] and height [dB].
    """
    last = np.searchsorted(spectrum.frequency, min(TOP, _LAST * pass_frequency))
    height = heights(spectrum)[1:last]
    stretch = max(1, -(-height.size // _SHOWN))
    starts = range(0, height.size, stretch)
    tops = np.array([start + height[start : start + stretch].argmax() for start in starts], dtype=int)
    return np.array([spectrum.frequency[1:last][tops], height[tops]])


def marks(spectrum, shaft_frequency, *, blade_count, fan=(), mains=()):
    """Lines of the rotor within the picture, and those of fan and mains that were left out.

    Parameters
    ----------
    spectrum : Lines
        Of the recording.
    shaft_frequency : float
        Of the rotor [Hz].
    blade_count : int
        Of the rotor.
    fan, mains : array, shape (k, 2)
        Ranges that were left out [Hz].

    Returns
    -------
    tuple of Mark
        By kind.
    """
    end, height = min(TOP, _LAST * blade_count * shaft_frequency), heights(spectrum)
    kinds = {"blade pass": [], "shaft": [], "fan": fan, "mains": mains}
    for order in range(1, int(end / shaft_frequency) + 1):
        around = shaft_frequency * np.array([order - 0.1, order + 0.1])
        kinds["shaft" if order % blade_count else "blade pass"].append(around)
    every = [
        _mark(spectrum, height, ends, kind) for kind, ranges in kinds.items() for ends in ranges if ends[1] < 1.05 * end
    ]
    return tuple(mark for mark in every if mark.height > _CLEAR.get(mark.kind, 0.0))


def _mark(spectrum, height, ends, kind):
    inside = np.flatnonzero(mask(spectrum.frequency, [ends]))
    top = inside[height[inside].argmax()] if inside.size else 0
    return Mark(float(spectrum.frequency[top]), float(height[top]), kind)
