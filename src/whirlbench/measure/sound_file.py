"""Sound files to samples."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy import signal

from whirlbench.errors import InputError

RATE = 16000  # [Hz] all that follows works at this rate
_LOWEST_RATE = 8000
_SHORTEST, _LONGEST = 4.0, 60.0  # [s] less holds too few turns, more only takes time


@dataclass(frozen=True)
class Recording:
    """A recording, ready to be listened to.

    Attributes
    ----------
    samples : ndarray, shape (n,)
        One channel at 16 kHz; full scale is 1.
    top_frequency : float
        Highest frequency that the file can hold [Hz].
    clipped : float
        Share of samples at the end of the scale [-].
    """

    samples: np.ndarray
    top_frequency: float
    clipped: float = 0.0


def read_sound(path):
    """Recording from a WAV, FLAC, OGG or MP3 file, its channels mixed and at most its first minute.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    Recording
        Samples at 16 kHz.

    Raises
    ------
    InputError
        A file that cannot be read as sound, is too short, silent, or made for a telephone line.
    """
    import soundfile  # brings a library of its own: only where a file is read

    what = Path(path).name
    try:
        with soundfile.SoundFile(path) as file:
            rate = file.samplerate
            samples = file.read(int(_LONGEST * rate), dtype="float64", always_2d=True)
    except (OSError, RuntimeError, ValueError, TypeError):
        try_ = "send the recording as WAV, FLAC, OGG or MP3; other phone formats need converting first"
        raise InputError("recording", f"'{what}'", "a sound file that can be read", try_=try_) from None
    if rate < _LOWEST_RATE:
        raise InputError(what, f"{rate} samples a second", f"{_LOWEST_RATE} or more", try_="record in better quality")
    return recording(samples, rate, what=what)


def recording(samples, rate, *, what="recording"):
    """Recording from samples that are already in memory.

    Parameters
    ----------
    samples : array, shape (n,) or (n, channels)
        Full scale is 1.
    rate : int
        Samples a second.
    what : str
        Name for the error.

    Returns
    -------
    Recording
        Samples at 16 kHz.

    Raises
    ------
    InputError
        Too short, silent, or with numbers that are none.
    """
    samples = np.asarray(samples, dtype=float)
    mono = samples.mean(axis=1) if samples.ndim == 2 else samples
    if mono.size < _SHORTEST * rate:
        needs = f"{_SHORTEST:g} s or more"
        raise InputError(what, f"{mono.size / rate:.1f} s of sound", needs, try_="record 8 to 30 s of steady running")
    if not np.isfinite(mono).all():
        raise InputError(what, "samples that are no numbers", "sound", try_="export the recording again")
    peak = np.abs(mono).max()
    if peak < 1e-5 or np.ptp(mono) < 1e-6:
        raise InputError(what, "silence", "a sound", try_="check the microphone, and hold the phone nearer")
    clipped = float(np.mean(np.abs(mono) > 0.999 * peak)) if peak > 0.1 else 0.0
    if rate != RATE:
        common = np.gcd(RATE, int(rate))
        mono = signal.resample_poly(mono, RATE // common, int(rate) // common)
    return Recording(mono, min(rate, RATE) / 2, clipped)
