"""How large a gain so many runs can see: the arithmetic between scatter, number of runs and chance.

All tests are two-sided at 5 %: by luck "better" or "worse" is said in at most 1 of 20 comparisons, "better" alone in
1 of 40. The chance of seeing a gain counts the right direction only.
"""

import functools

import numpy as np

from whirlbench.errors import within

ALPHA = 0.05
CHANCE = 0.80  # of seeing the gain that was planned for
_SHARES = (np.arange(200) + 0.5) / 200


@functools.lru_cache(maxsize=4096)
def critical(freedom, *, levels=2, alpha=ALPHA):
    """Standard errors that a difference must exceed to be more than luck.

    Parameters
    ----------
    freedom : float
        Degrees of freedom of the scatter [-].
    levels : int
        Settings that are all compared with each other; 2 is Student's t, more is Tukey's range.
    alpha : float
        Chance of any false alarm among them [-].

    Returns
    -------
    float
        Multiple of the standard error of the difference [-].

    References
    ----------
    .. [1] J. W. Tukey, "The problem of multiple comparisons", 1953.
    """
    from scipy import stats

    if levels == 2:
        return float(stats.t.ppf(1 - alpha / 2, freedom))
    return float(stats.studentized_range.ppf(1 - alpha, levels, freedom) / np.sqrt(2))


def each_alpha(count, alpha=ALPHA):
    """Chance of a false alarm that each of several questions may have for all of them together to keep theirs.

    Parameters
    ----------
    count : int
        Questions that one set of runs answers, such as the factors of a factorial plan.
    alpha : float
        Of all together [-].

    Returns
    -------
    float
        Of each [-].

    References
    ----------
    .. [1] Z. Sidak, J. Am. Stat. Assoc. 62 (1967) 626-633.
    """
    return 1 - (1 - alpha) ** (1 / count)


def chance(separation, threshold, freedom):
    """Chance that a true difference is seen in its own direction.

    Parameters
    ----------
    separation : float or array
        True difference over its standard error [-].
    threshold : float or array
        Multiple that it must exceed, as ``critical`` gives it [-].
    freedom : float
        Degrees of freedom of the scatter [-].

    Returns
    -------
    float or array
        [-].

    Notes
    -----
    The non-central t of the library gives no number far in the tail; there the normal approximation of [1]_ stands in.

    References
    ----------
    .. [1] M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.7.10.
    """
    from scipy import stats

    with np.errstate(all="ignore"):
        exact = stats.nct.sf(threshold, freedom, separation)
        bend = 1 - 1 / (4 * freedom)
        far = stats.norm.sf((np.asarray(threshold) * bend - separation) / np.sqrt(1 + threshold**2 / (2 * freedom)))
    return np.where(np.isfinite(exact), np.clip(exact, 0, 1), far)[()]


def welch_chance(effect, count):
    """Chance that Welch's test sees a true gain between two settings of equal scatter.

    Parameters
    ----------
    effect : float
        Gain over run-to-run standard deviation [-].
    count : int
        Runs of each setting, 2 or more.

    Returns
    -------
    float
        [-].

    Notes
    -----
    With equal counts the statistic is Student's, but the threshold follows the two variances that happen to be found.
    The share of one of them is beta distributed and independent of their sum, so the chance is a mean over that share.
    """
    from scipy import stats

    within("runs of each setting", count, low=2, high=np.inf, unit="", try_="plan two runs of each or more")
    half = (count - 1) / 2
    share = stats.beta.ppf(_SHARES, half, half)
    threshold = stats.t.ppf(1 - ALPHA / 2, (count - 1) / (share**2 + (1 - share) ** 2))
    return float(np.mean(chance(effect * np.sqrt(count / 2), threshold, 2 * (count - 1))))


@functools.lru_cache(maxsize=4096)
def separation(threshold, freedom, wanted=CHANCE):
    """True difference, in standard errors, that is seen with a wanted chance.

    Parameters
    ----------
    threshold : float
        Multiple that it must exceed, as ``critical`` gives it [-].
    freedom : float
        Degrees of freedom of the scatter [-].
    wanted : float
        The chance [-].

    Returns
    -------
    float
        [-].
    """
    from scipy.optimize import brentq

    return float(brentq(lambda apart: chance(apart, threshold, freedom) - wanted, 0, 10 + 4 * threshold))


def welch_effect(count, wanted=CHANCE):
    """Gain over run-to-run standard deviation that Welch's test sees with a wanted chance.

    Parameters
    ----------
    count : int
        Runs of each setting, 2 or more.
    wanted : float
        The chance [-].

    Returns
    -------
    float
        [-].
    """
    from scipy.optimize import brentq

    return float(brentq(lambda effect: welch_chance(effect, count) - wanted, 0, 100, xtol=1e-6))
