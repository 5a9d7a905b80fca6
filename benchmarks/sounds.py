"""Two families of made-up recordings, so that the listener is judged on sounds it was not set with.

``tuning`` is the plain family that the weights and limits of ``measure/sound.py`` were set on: noise that swells with
every blade, in other noise. ``trial`` is built on other rules and from other seeds: swishes that sweep through the
bands, blades that are uneven in angle too, a room, a phone that turns its gain, clipping, MP3. Neither is a recording.
"""

import io
from dataclasses import dataclass

import numpy as np
from scipy import signal

RATE = 16000  # [Hz]
SECONDS = 8.0
KINDS = (
    "plain",
    "room",
    "gain control",
    "clipped",
    "mp3",
    "uneven blades",
    "speed wander",
    "wind on the phone",
    "hum",
    "all of it",
)


@dataclass(frozen=True)
class Sound:
    """A made-up recording and the truth about it.

    Attributes
    ----------
    samples : ndarray, shape (n,)
        The recording at ``RATE``.
    rotor_speed : float
        Mean speed of the turbine's shaft [rad/s].
    blade_count : int
        Of the turbine.
    guess : float
        What the team believes, within 25 % of the truth [rad/s].
    fan : ndarray or None
        The fan alone, another half minute of the same fan.
    """

    samples: np.ndarray
    rotor_speed: float
    blade_count: int
    guess: float
    fan: np.ndarray | None = None


def tuning(seed, *, snr=0.0, turbine=True, fan_level=None, hum=None):
    """One sound of the plain family."""
    rng = np.random.default_rng([1, seed])
    speed, blades = _drawn(rng)
    phase, mean_speed = _phase(rng, speed, wander=rng.uniform(0.001, 0.02))
    swish = _plain_swish(rng, phase, blades, uneven=rng.choice([0.0, 0.05, 0.15, 0.3]))
    noise = _coloured(rng, swish.size, slope=rng.uniform(-1.2, 0.0))
    total = _level(noise) * 10 ** (-snr / 20) + turbine * _level(swish)
    alone = None
    if fan_level is not None:
        fan_speed, fan_blades = rng.uniform(900, 1500) * np.pi / 30, int(rng.integers(3, 6))
        total, alone = _with_fan(rng, total, (fan_speed, fan_blades, fan_level, snr), _plain_swish)
    if hum is not None:
        total = total + _hum(rng, total.size, hum)
    return Sound(0.05 * total, mean_speed, blades, mean_speed * rng.uniform(0.8, 1.25), _small(alone))


def trial(seed, kind="plain", *, snr=0.0, turbine=True, fan_level=None):
    """One sound of the judging family."""
    rng = np.random.default_rng([2, seed])
    every = kind == "all of it"
    speed, blades = _drawn(rng)
    wander = rng.uniform(0.003, 0.03) if every or kind == "speed wander" else rng.uniform(0.0005, 0.003)
    phase, mean_speed = _phase(rng, speed, wander=wander)
    uneven = rng.uniform(0.1, 0.5) if every or kind == "uneven blades" else rng.uniform(0, 0.1)
    swish = _swept_swish(rng, phase, blades, uneven)
    noise = _coloured(rng, swish.size, slope=rng.uniform(-1.0, 0.3)) + 0.3 * _murmur(rng, swish.size)
    total = _level(noise) * 10 ** (-snr / 20) + turbine * _level(swish)
    alone = None
    if fan_level is not None:
        fan_speed, fan_blades = rng.uniform(700, 1700) * np.pi / 30, int(rng.integers(3, 8))
        total, alone = _with_fan(rng, total, (fan_speed, fan_blades, fan_level, snr), _swept_swish)
    if every or kind == "room":
        total = _in_room(rng, total)
    if every or kind == "wind on the phone":
        total = total + _gusts(rng, total.size)
    if every or kind == "hum":
        total = total + _hum(rng, total.size, level=rng.uniform(-10, 10))
    total = 0.05 * total
    if every or kind == "gain control":
        total = _gain_control(rng, total)
    if every or kind == "clipped":
        total = np.clip(total, *(np.array([-1, 1]) * rng.uniform(1.0, 2.0) * total.std()))
    if every or kind == "mp3":
        total = _mp3(total)
    return Sound(total, mean_speed, blades, mean_speed * rng.uniform(0.8, 1.25), _small(alone))


def _small(sound):
    return None if sound is None else 0.05 * sound


def _drawn(rng):
    """Speed [rad/s], even in its logarithm over 100 to 2000 rpm, and 2 to 12 blades."""
    return np.exp(rng.uniform(np.log(100), np.log(2000))) * np.pi / 30, int(rng.integers(2, 13))


def _phase(rng, speed, *, wander, seconds=SECONDS):
    """Shaft angle over time for a speed that strays slowly by ``wander`` (one sd), and the mean speed [rad/s]."""
    count = int(seconds * RATE)
    slow = signal.lfilter(
        [1], [1, -np.exp(-1 / (50 * rng.uniform(0.5, 3)))], rng.standard_normal(int(50 * seconds) + 500)
    )
    slow = np.interp(np.arange(count) * 50 / RATE, np.arange(slow.size - 500), slow[500:])
    slow = (slow - slow.mean()) / slow.std()
    speeds = speed * (1 + wander * slow)
    return 2 * np.pi * rng.random() + np.cumsum(speeds) / RATE, float(speeds.mean())


def _plain_swish(rng, phase, blades, uneven):
    """Noise times a bell-shaped swell for each blade."""
    turn = phase * blades / (2 * np.pi)
    heights = 1 + uneven * rng.standard_normal(blades)
    bell = np.exp(-0.5 * ((turn % 1 - 0.5) / rng.uniform(0.1, 0.25)) ** 2)
    swell = rng.uniform(0, 0.5) + bell * heights[turn.astype(int) % blades]
    return _coloured(rng, phase.size, slope=rng.uniform(-0.8, 0)) * swell


def _swept_swish(rng, phase, blades, uneven):
    """Three bands of noise that swell one after the other, quick up and slow down; blades uneven in angle too."""
    heights = np.maximum(0.1, 1 + uneven * rng.standard_normal(blades))
    angles = np.arange(blades) + 0.15 * uneven * rng.standard_normal(blades)
    total = np.zeros(phase.size)
    turn = phase * blades / (2 * np.pi)
    lag, floor = rng.uniform(0, 0.3), rng.uniform(0.1, 0.8)
    for i, (low, high) in enumerate(((200, 900), (700, 2500), (1800, 7000))):
        width = rng.uniform(0.1, 0.35)
        swell = np.full(phase.size, floor)
        for height, angle in zip(heights, angles, strict=True):
            away = (turn - angle - i * lag + 0.5 * blades) % blades - 0.5 * blades
            swell += height * np.where(away < 0, np.exp(away / (0.3 * width)), np.exp(-away / width))
        noise = signal.sosfilt(
            signal.butter(2, (low, high), "band", fs=RATE, output="sos"), rng.standard_normal(phase.size)
        )
        total += rng.uniform(0.3, 1) * _level(noise) * swell
    thump = sum(rng.uniform(0, 0.2) / k * np.cos(k * blades * phase + rng.uniform(0, 6)) for k in range(1, 4))
    return _level(total) + thump


def _with_fan(rng, total, fan, swish):
    """The sound with a fan in it, and the fan alone in a second recording at the same place."""
    speed, blades, level, snr = fan
    state = rng.integers(1 << 30)
    count, loudness = total.size, 10 ** (level / 20)
    both = []
    for drift in (0.0, rng.normal(0, 0.002)):  # the fan warms up, or the turbine takes some of its wind
        own = np.random.default_rng(state)  # the same fan: the same widths and unevenness
        phase, _ = _phase(own, speed * (1 + drift), wander=0.001)
        both.append(loudness * _level(swish(own, phase, blades, 0.1)))
    noise = _level(_coloured(rng, count, slope=-0.5)) * 10 ** (-snr / 20)
    return total + both[0], np.roll(both[1], count // 3) + noise


def _level(sound):
    """The sound at a power of one in 200 to 7000 Hz, where the listener listens."""
    heard = signal.sosfilt(signal.butter(4, (200, 7000), "band", fs=RATE, output="sos"), sound)
    return sound / heard.std()


def _coloured(rng, count, slope):
    """Noise whose amplitude goes with frequency to the power ``slope``."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    frequency = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 50)
    return np.fft.irfft(spectrum * (frequency / 1000) ** slope, count)


def _murmur(rng, count):
    """Voices far away: noise in the speech bands that comes and goes a few times a second, without a beat."""
    slow = signal.sosfilt(signal.butter(2, (1, 8), "band", fs=100, output="sos"), rng.standard_normal(count // 160 + 2))
    swell = np.interp(np.arange(count) / 160, np.arange(slow.size), np.exp(1.0 * slow / slow.std()))
    return _coloured(rng, count, -0.8) * swell


def _hum(rng, count, level):
    """Mains hum: 50 or 60 Hz with harmonics to 2 kHz, each with its own height; ``level`` in dB of the turbine."""
    time, mains = np.arange(count) / RATE, rng.choice([50, 60]) * (1 + rng.normal(0, 3e-4))
    tones = sum(
        rng.exponential() / k**0.7 * np.cos(2 * np.pi * k * mains * time + rng.uniform(0, 6)) for k in range(1, 41)
    )
    return tones / tones.std() * 10 ** (level / 20)


def _in_room(rng, sound):
    """The sound in a room of 0.2 to 0.8 s, the direct way 0 to 8 dB above the rest."""
    decay, count = rng.uniform(0.2, 0.8), int(0.8 * RATE)
    tail = rng.standard_normal(count) * 10 ** (-3 * np.arange(count) / RATE / decay)
    tail[: int(0.005 * RATE)] = 0
    response = tail / np.linalg.norm(tail) * 10 ** (-rng.uniform(0, 8) / 20)
    response[0] = 1
    return signal.fftconvolve(sound, response)[: sound.size]


def _gusts(rng, count):
    """Wind on the microphone: rumble 10 dB above the turbine that comes in gusts, with a crackle of overload."""
    swell = np.exp(0.8 * np.interp(np.arange(count) / RATE * 2, np.arange(40), rng.standard_normal(40)))
    rumble = _coloured(rng, count, -2.0)
    crackle = rng.standard_normal(count) * (rng.random(count) < 2e-4) * 20
    return (rumble / rumble.std() * 3 + crackle) * swell


def _gain_control(rng, sound):
    """A phone's gain: follows the level, quick down and slow up, ratio of 2 to 8."""
    block = 160
    level = np.sqrt(np.mean(sound[: sound.size // block * block].reshape(-1, block) ** 2, axis=1))
    follow, state = np.empty(level.size), level[0]
    quick, slow = rng.uniform(0.2, 0.6), rng.uniform(0.005, 0.05)
    for i, each in enumerate(level):
        state += (quick if each > state else slow) * (each - state)
        follow[i] = state
    gain = (follow / follow.mean()) ** (1 / rng.uniform(2, 8) - 1)
    return sound * np.interp(np.arange(sound.size) / block, np.arange(gain.size), gain)


def _mp3(sound):
    """The sound after MP3 coding and back."""
    import soundfile

    held = io.BytesIO()
    soundfile.write(held, sound / (1.1 * np.abs(sound).max()), RATE, format="MP3", subtype="MPEG_LAYER_III")
    held.seek(0)
    return soundfile.read(held)[0]
