"""Rotation speed by eye: a stroboscope that makes the rotor stand still, or turns counted by hand."""

import numpy as np

from whirlbench.errors import InputError, within
from whirlbench.value import Value

_TIMING_DOUBT = 0.25  # [s] starting and stopping a watch by hand, 0.2 to 0.3 s together: common practice
_FLASH_DOUBT = 0.003  # setting and reading a stroboscope until the picture stands: common practice
_WHOLE = 0.25  # how far from a whole number the passes between two flashes may come out


def counted_speed(counted_turns, duration, *, timing_doubt=_TIMING_DOUBT):
    """Rotor speed from turns counted against a watch.

    Parameters
    ----------
    counted_turns : float
        Whole turns of one marked blade [-].
    duration : float
        Time they took [s].
    timing_doubt : float
        Standard uncertainty of that time, start and stop together [s].

    Returns
    -------
    Value
        Rotor speed [rad/s]; the count itself is taken as right.

    Raises
    ------
    OutOfRange
        No turns, or no time to speak of.
    InputError
        More turns a second than an eye can count.

    Notes
    -----
    The doubt of 0.25 s is common practice. No published check found.
    """
    within("turns", counted_turns, low=1, high=1e5, unit="", try_="count 20 turns or more")
    within("time", duration, low=1, high=1e5, unit="s", try_="count for 15 s or more, or the watch decides the answer")
    if counted_turns / duration > 5:
        got = f"{counted_turns / duration:.1f} turns a second"
        raise InputError("turns", got, "5 or fewer, as many as can be counted", try_="film it slowly, or use a sound")
    speed = 2 * np.pi * counted_turns / duration
    return Value(float(speed), float(speed * timing_doubt / duration), f"{counted_turns:g} turns counted by hand")


def strobe_speed(flash_rates, *, blade_count, flash_doubt=_FLASH_DOUBT):
    """Rotor speed from the flash rates at which the rotor stands still with no more blades than it has.

    Parameters
    ----------
    flash_rates : sequence of float
        Either the highest such rate alone, or neighbouring ones with none left out between them [Hz].
    blade_count : int
        Blades that look alike; 1 where one blade is marked and only its standing still counts.
    flash_doubt : float
        Standard uncertainty of a rate over the rate [-].

    Returns
    -------
    Value
        Rotor speed [rad/s].

    Raises
    ------
    OutOfRange
        Blades or rates that cannot be.
    InputError
        Rates that are no neighbours, or too low to tell how many blades pass between two flashes.

    Notes
    -----
    Alike blades stand still when m = 1, 2, 3... of them pass between two flashes, at f_m = B n / m for n turns a
    second. So the highest such rate is B n; any faster, as 2 B n, shows more blades than there are. Where the highest
    is beyond the lamp, 1/f_(m+1) - 1/f_m = 1/(B n) gives B n = k f_1 f_2 / (f_1 - f_2) for two rates k steps apart.
    That difference is poorly known, but it has to make m = B n / f_1 a whole number; with m rounded, B n = m f_1 is
    as good as the lamp. From memory and derived here; no published check found.
    """
    within("blades", blade_count, low=1, high=12, unit="", try_="count the blades that look alike")
    within("flash rate", flash_rates, low=0.5, high=1000, unit="Hz", try_="write it as '20 Hz' or '1200 rpm'")
    if not np.size(flash_rates):
        raise InputError("flash rates", "none", "one or more", try_="find the highest rate at which the rotor stands")
    rates = np.sort(np.atleast_1d(np.asarray(flash_rates, dtype=float)))[::-1]
    passes = 1 if rates.size == 1 else _passes_between(rates, flash_doubt)
    every = rates * (passes + np.arange(rates.size))  # each rate gives B n anew
    speed = 2 * np.pi * every.mean() / blade_count
    kind = "highest flash rate" if rates.size == 1 else f"{rates.size} neighbouring flash rates"
    return Value(float(speed), float(speed * flash_doubt), f"stroboscope, {kind}")


def _passes_between(rates, doubt):
    """Blades that pass between two flashes at the highest of some neighbouring rates."""
    steps = rates.size - 1
    if not rates[0] > rates[-1]:
        raise InputError("flash rates", "the same rate twice", "different rates", try_="give each rate once")
    passes = steps * rates[-1] / (rates[0] - rates[-1])
    vague = passes * (passes + steps) / steps * np.sqrt(2) * doubt
    whole = max(1, round(passes))
    if vague > _WHOLE:
        try_ = "look for standing pictures at higher rates, or give more neighbours in a row"
        raise InputError("flash rates", "rates too close together", "rates further apart", try_=try_)
    expected = rates[0] * whole / (whole + np.arange(rates.size))
    if abs(passes - whole) > _WHOLE or np.abs(rates / expected - 1).max() > 5 * doubt:
        needs = "neighbours, such as 60, 40 and 30 Hz, whose inverses lie evenly"
        raise InputError(
            "flash rates",
            ", ".join(f"{each:.4g}" for each in rates) + " Hz",
            needs,
            try_="look for a rate between them",
        )
    return whole
