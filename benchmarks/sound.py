"""How often the listener is sure, right, and sure but wrong, on made-up recordings of another kind than it was set on.

Run: python benchmarks/sound.py [sounds a row]
"""

import functools
import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import sounds

from whirlbench.measure import sound_fan
from whirlbench.measure.sound import heard_speed
from whirlbench.measure.sound_file import recording

PROMISE = 0.01
ROWS = {f"{kind}, 0 dB": {"kind": kind} for kind in sounds.KINDS} | {
    "plain, +10 dB": {"snr": 10.0},
    "plain, -10 dB": {"snr": -10.0},
    "all of it, +10 dB": {"kind": "all of it", "snr": 10.0},
    "fan as loud, recorded alone too": {"fan_level": 0.0},
    "fan as loud, never told of": {"fan_level": 0.0, "told": ""},
    "fan as loud, said to be none": {"fan_level": 0.0, "told": "none"},
    "fan 10 dB louder, recorded alone too": {"fan_level": 10.0},
    "no turbine": {"turbine": False},
    "no turbine, wind on the phone": {"turbine": False, "kind": "wind on the phone"},
    "no turbine, hum": {"turbine": False, "kind": "hum"},
    "no turbine, fan recorded alone too": {"turbine": False, "fan_level": 0.0},
    "no guess": {"ask": ("blade_count",)},
    "no blade count": {"ask": ("guess",)},
    "the tuning family, 0 dB": {"make": "tuning"},
}


def judged(number, *, make="trial", told="truth", ask=("blade_count", "guess"), **how):
    """Error [-] of one answer and whether it was sure."""
    sound = getattr(sounds, make)(number, **how)
    known = {name: getattr(sound, name) for name in ask}
    if told == "truth" and sound.fan is not None:
        known["fan"] = sound_fan.fan_alone(recording(sound.fan, sounds.RATE))
    elif told:
        known["fan"] = sound_fan.NO_FAN
    heard = heard_speed(recording(sound.samples, sounds.RATE), **known)
    return heard.rotor_speed / sound.rotor_speed - 1, heard.sure


def main(count):
    """Print the table."""
    print("| sound | sure | best guess within 1 % | sure and wrong by more than 1 % |\n|---|---|---|---|")
    with ProcessPoolExecutor(2) as pool:
        for place, (name, how) in enumerate(ROWS.items()):
            first = 3_000_000 + 10_000 * place  # seeds of its own for every row, none used while the limits were set
            numbers = range(first, first + count)
            results = list(pool.map(functools.partial(judged, **how), numbers, chunksize=4))
            error, sure = np.abs([each for each, _ in results]), np.array([each for _, each in results])
            # without a turbine there is no right answer: every sure one is wrong
            right = (error < PROMISE) & how.get("turbine", True)
            shares = f"{100 * sure.mean():.0f} % | {100 * right.mean():.0f} %"
            print(f"| {name} | {shares} | {(sure & ~right).sum()} of {count} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
