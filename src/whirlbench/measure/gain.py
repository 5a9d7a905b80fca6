"""One setting against another: the gain with its interval, and the word for it."""

import math
from dataclasses import dataclass

from whirlbench import units
from whirlbench.measure import detectable

_HOPELESS = 0.5  # runs that would miss a gain of half the output are too few, whatever they say
_SHOWN_AS = {"rad/s": "rpm", "K": "degC", "m": "mm"}


@dataclass(frozen=True)
class Gain:
    """What the second setting gives more than the first.

    Attributes
    ----------
    factor, first, second : str
        What was changed, from what to what.
    first_mean, second_mean : float
        Mean outcome of each, in the runs' unit.
    gain, low, high : float
        Difference of the means and its 95 % interval; the ends are NaN where the scatter is not known.
    share, share_low, share_high : float or None
        The same over the first mean [-]; None where that is not clearly above zero.
    seen : float
        Gain that these runs see in 8 of 10 cases; infinite where the scatter is not known.
    freedom : float
        Degrees of freedom of the scatter.
    verdict : str
        ``better``, ``worse``, ``no difference`` or ``not enough runs``.
    sentence : str
        The verdict for the team.
    """

    factor: str
    first: str
    second: str
    first_mean: float
    second_mean: float
    gain: float
    low: float
    high: float
    share: float | None
    share_low: float | None
    share_high: float | None
    seen: float
    freedom: float
    verdict: str
    sentence: str


def gain_between(names, means, variances, *, freedom, threshold=None, wanted=None, unit="W"):
    """Gain of a second setting over a first.

    Parameters
    ----------
    names : tuple of str
        Factor, first setting, second setting.
    means : sequence of float
        Mean of the first and of the second.
    variances : array, 2 by 2
        Variances and covariance of these means.
    freedom : float
        Degrees of freedom of the variances; 0 where the scatter is not known.
    threshold : float, optional
        Standard errors of the interval's half width; without it Student's t at 5 %.
    wanted : float, optional
        Gain that must not be missed.
    unit : str
        SI unit of the means.

    Returns
    -------
    Gain
        With its sentence.
    """
    first, second = (float(mean) for mean in means)
    gain = second - first
    if freedom < 1:
        low, high, seen, shares, verdict = math.nan, math.nan, math.inf, (None, None), "not enough runs"
    else:
        near = round(freedom, 1)  # Welch's are no whole numbers; the gain that is seen hardly feels the difference
        apart = detectable.separation(threshold or detectable.critical(near), near)
        threshold = threshold or detectable.critical(freedom)
        error = math.sqrt(variances[0][0] + variances[1][1] - 2 * variances[0][1])
        low, high = gain - threshold * error, gain + threshold * error
        seen = error * apart
        shares = _shares(first, second, variances, threshold)
        verdict = _verdict(low, high, seen, wanted if wanted is not None else _HOPELESS * abs(first))
    share = gain / first if first > 0 else None
    found = {
        "first_mean": first,
        "second_mean": second,
        "gain": gain,
        "low": low,
        "high": high,
        "share": share,
        "seen": seen,
    }
    sentence = _sentence(names, found, verdict, unit)
    ends = {"share_low": shares[0], "share_high": shares[1], "freedom": float(freedom)}
    return Gain(*names, **found, **ends, verdict=verdict, sentence=sentence)


def _verdict(low, high, seen, wanted):
    if low > 0:
        return "better"
    if high < 0:
        return "worse"
    return "not enough runs" if seen > wanted and high > wanted else "no difference"


def _shares(first, second, variances, threshold):
    """Interval of the gain over the first mean, after Fieller; it holds zero just when the plain interval does."""
    square = threshold**2
    a = first**2 - square * variances[0][0]
    if first <= 0 or a <= 0:
        return None, None
    b = first * second - square * variances[0][1]
    c = second**2 - square * variances[1][1]
    root = math.sqrt(max(0.0, b * b - a * c))
    return (b - root) / a - 1, (b + root) / a - 1


def _sentence(names, found, verdict, unit):
    factor, first, second = names
    first, second = _called(factor, first), _called(factor, second)
    if verdict in ("better", "worse"):
        percent = "" if found["share"] is None else f" ({100 * found['share']:+.2g} %)"
        ends = f"{_size(found['low'], unit)} to {_size(found['high'], unit)}"
        return f"{second} is {verdict} than {first}: {_size(found['gain'], unit)}{percent}, 95 % interval {ends}."
    if math.isinf(found["seen"]):
        return f"Not enough runs to compare {second} with {first}: nothing shows how far equal runs scatter."
    missed = _size(found["seen"], unit).lstrip("+")
    missed += f" ({100 * found['seen'] / found['first_mean']:.2g} %)" if found["first_mean"] > 0 else ""
    if verdict == "not enough runs":
        return f"Not enough runs to compare {second} with {first}: even a gain of {missed} would often be missed."
    return f"No difference seen between {first} and {second}; a gain below {missed} would have been missed."


def _called(factor, level):
    """A setting by name; a bare number needs its factor."""
    return f"{factor} {level}" if level[:1].isdigit() else level


def _size(number, unit):
    """Signed size in a unit that a person would choose."""
    shown = _SHOWN_AS.get(unit, unit)
    if unit in ("W", "V", "A") and abs(number) < 0.0995:
        shown = f"m{unit}"
    return ("+" if number > 0 else "") + units.show(number, shown, digits=2)
