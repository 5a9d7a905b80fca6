"""What is believed of a factor, and what readings have taught of it, in plain words."""

import math

from whirlbench import units
from whirlbench.predict.world import MEANING

ANGLE = "angle"  # the one factor that is no factor but an angle that is added [rad]
_PLURAL = ("emf", "brush")
_TIMES = 0.5  # a change beyond this share is told as a multiple
_NOTHING = 0.005


def unit_of(factor):
    """Unit of a factor and of its doubt.

    Parameters
    ----------
    factor : str
        One of ``FACTORS``.

    Returns
    -------
    str
        ``rad`` for the angle, empty for all others.
    """
    return "rad" if factor == ANGLE else ""


def size_of(factor, mean):
    """Factor from its entry in a belief.

    Parameters
    ----------
    factor : str
        One of ``FACTORS``.
    mean : float
        Logarithm; of the angle the angle itself [rad].

    Returns
    -------
    float
        [-]; of the angle [rad].
    """
    return float(mean) if factor == ANGLE else math.exp(mean)


def doubt_of(factor, sigma):
    """Doubt of a factor.

    Parameters
    ----------
    factor : str
        One of ``FACTORS``.
    sigma : float
        Standard uncertainty of its logarithm; of the angle [rad].

    Returns
    -------
    str
        Such as ``4 %`` or ``0.8 deg``.
    """
    return units.show(sigma, "deg", 2) if factor == ANGLE else f"{100 * sigma:.2g} %"


def sentence(factor, mean, sigma):
    """What is now believed of a factor, against what was believed before.

    Parameters
    ----------
    factor : str
        One of ``FACTORS``.
    mean : float
        Logarithm; of the angle the angle itself [rad].
    sigma : float
        Its standard uncertainty.

    Returns
    -------
    str
        Such as ``the wind speed is 7 % lower than believed (+- 4 %)``.
    """
    doubt = f"(+- {doubt_of(factor, sigma)})"
    if factor == ANGLE:
        way = "more" if mean > 0 else "less"
        turned = units.show(abs(mean), "deg", 2)
        return f"the blades are turned {turned} {way} out of the rotor plane than believed {doubt}"
    size = size_of(factor, mean)
    verb = "are" if factor in _PLURAL else "is"
    if abs(size - 1) < _NOTHING:
        return f"{MEANING[factor]} {verb} as believed {doubt}"
    if abs(size - 1) > _TIMES:
        return f"{MEANING[factor]} {verb} {size:.2g} times what was believed {doubt}"
    way = "higher" if size > 1 else "lower"
    return f"{MEANING[factor]} {verb} {100 * abs(size - 1):.2g} % {way} than believed {doubt}"
