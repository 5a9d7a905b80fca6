"""Lines in the swell of a sound: how often a noise comes and goes, and how sure that is.

Blades are heard as noise that swells at every pass, seldom as a tone. So the sound is parted into bands, the swell of
each band is taken, and the spectrum of that swell is compared with its own neighbourhood.
"""

from dataclasses import dataclass

import numpy as np
from scipy import fft, ndimage

from whirlbench.measure.sound_file import RATE

ENVELOPE_RATE = 2000  # [Hz]
TOP = 500.0  # [Hz] swell of 12 blades at 2000 rpm is 400 Hz
BANDS = np.array([(250, 500), (500, 1000), (1000, 2000), (2000, 4000), (4000, 7500)], dtype=float)  # [Hz]
WIDTHS = (0.0, 0.003, 0.01, 0.03)  # half width of a line over its frequency: how far a speed may stray
_FASTEST = 0.5 * (BANDS[:, 1] - BANDS[:, 0])  # [Hz] a band cannot swell faster than its width allows
_PADDING = 2
_LINE_BINS = 1.5  # bins that a line fills through a Hann window
_LOUDEST_SWELL = 4.0  # a click counts no more than this many times the mean


@dataclass(frozen=True)
class Lines:
    """Spectrum of the swell in every band, over its neighbourhood.

    Attributes
    ----------
    frequency : ndarray, shape (m,)
        Rising evenly from 0 [Hz].
    power : ndarray, shape (bands, m)
        Power over the mean power of noise there [-]; 1 where a band knows nothing.
    """

    frequency: np.ndarray
    power: np.ndarray

    @property
    def step(self):
        """Distance of two frequencies [Hz]."""
        return self.frequency[1]


def envelopes(recording):
    """Swell of each band over time, its slow part divided out, so that a phone's gain drops out too.

    Parameters
    ----------
    recording : Recording
        The sound.

    Returns
    -------
    ndarray, shape (bands, n)
        Loudness over its mean of a second, less one [-], at ``ENVELOPE_RATE``; bands above the file's top left out.
    """
    samples = recording.samples
    spectrum, frequency = fft.rfft(samples), fft.rfftfreq(samples.size, 1 / RATE)
    count = round(samples.size * ENVELOPE_RATE / RATE)
    swells = []
    for low, high in BANDS[BANDS[:, 0] < 0.8 * recording.top_frequency]:
        one_sided = np.zeros(samples.size, dtype=complex)
        one_sided[: spectrum.size] = spectrum * ((frequency >= low) & (frequency < high))
        loudness = fft.rfft(np.abs(fft.ifft(one_sided)))[: count // 2 + 1]
        swell = fft.irfft(loudness, count)
        mean = ndimage.uniform_filter1d(np.abs(swell), ENVELOPE_RATE)
        swells.append(np.clip(swell / np.maximum(mean, 1e-12 * mean.max() + 1e-300) - 1, -1, _LOUDEST_SWELL))
    return np.array(swells)


def lines(swells):
    """Spectrum of the swells over the median of its neighbourhood.

    Parameters
    ----------
    swells : array, shape (bands, n)
        As ``envelopes`` gives them, or a stretch of that.

    Returns
    -------
    Lines
        Up to 500 Hz.
    """
    count = swells.shape[1]
    power = np.abs(fft.rfft(swells * np.hanning(count), _PADDING * count, axis=1)) ** 2
    frequency = fft.rfftfreq(_PADDING * count, 1 / ENVELOPE_RATE)
    kept = frequency <= TOP
    frequency, power = frequency[kept], power[:, kept]
    ratio = power / np.maximum(_floor(frequency, power), 1e-300)
    fastest = _FASTEST[: len(swells), None]
    return Lines(frequency, np.where(frequency[None, :] > fastest, 1.0, ratio))


def _floor(frequency, power):
    """Mean power of the noise around each frequency; lines are too few to move a median."""
    centres = np.geomspace(0.5, TOP, 70)
    pieces = [slice(*np.searchsorted(frequency, [max(0.3, c / 1.25 - 2), 1.25 * c + 2])) for c in centres]
    medians = np.array([np.median(power[:, piece], axis=1) for piece in pieces]).T
    at = np.log(np.maximum(frequency, 0.3))
    logs = [np.interp(at, np.log(centres), np.log(np.maximum(each, 1e-300))) for each in medians]
    return np.exp(logs) / np.log(2)  # noise power is exponential: its median is ln 2 of its mean


def evidence(spectrum, silent=()):
    """Evidence for a line at every frequency, for each of the line widths in ``WIDTHS``.

    Parameters
    ----------
    spectrum : Lines
        As ``lines`` gives it.
    silent : array, shape (k, 2)
        Ranges that say nothing, because something else sounds there [Hz].

    Returns
    -------
    ndarray, shape (widths, m)
        Logarithm of one plus the log-likelihood ratio of a line against none, less its median around [-].

    Notes
    -----
    The mean of n exponential numbers of mean one is gamma; the likelihood of a raised mean z against one differs by
    n (z - 1 - ln z), summed over the bands because their noises are independent. The outer logarithm keeps one loud
    line from deciding what several lines should. No published check found.
    """
    deaf = mask(spectrum.frequency, silent)
    heard = Lines(spectrum.frequency, np.where(deaf, 1.0, spectrum.power))  # before a wide line gathers its neighbours
    spaced = 16  # the median changes slowly: look at every 16th frequency
    found = []
    for width in WIDTHS:
        logs = np.log1p(_likelihood_ratio(heard, width))
        around = ndimage.median_filter(logs[::spaced], size=max(3, int(30 / (spaced * spectrum.step))))
        found.append(logs - np.repeat(around, spaced)[: logs.size])
    found = np.array(found)
    found[:, deaf] = 0.0
    return found


def _likelihood_ratio(spectrum, width):
    frequency, power = spectrum.frequency, spectrum.power
    half = np.maximum(1.0, width * frequency / spectrum.step)
    place = np.arange(frequency.size)
    low, high = np.clip(place - half, 0, place[-1]), np.clip(place + half + 1, 1, frequency.size)
    edges = np.arange(frequency.size + 1)
    sums = np.concatenate([np.zeros((len(power), 1)), np.cumsum(power, axis=1)], axis=1)
    means = [(np.interp(high, edges, each) - np.interp(low, edges, each)) / (high - low) for each in sums]
    means = np.maximum(means, 1.0)
    freedom = np.maximum((2 * half + 1) / (_PADDING * _LINE_BINS), 1.0)
    return (freedom * (means - 1 - np.log(means))).sum(axis=0)


def mask(frequency, ranges):
    """True where a frequency lies in one of some ranges.

    Parameters
    ----------
    frequency : array, shape (m,)
        Rising [Hz].
    ranges : array, shape (k, 2)
        Lower and upper ends [Hz].

    Returns
    -------
    ndarray of bool, shape (m,)
        Inside or not.
    """
    inside = np.zeros(frequency.size, dtype=bool)
    for low, high in ranges:
        inside[slice(*np.searchsorted(frequency, [low, high], side="left"))] = True
    return inside
