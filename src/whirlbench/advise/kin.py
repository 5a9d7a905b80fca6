"""What readings on blades of one section tell of another: one model speaks for all of them."""

import functools

import numpy as np

from whirlbench.predict import turbine as whole
from whirlbench.predict.world import FACTORS

NAMES = ("lift", "drag", "stall")  # what a section is doubted in
PLACES = np.array([FACTORS.index(name) for name in NAMES])
ALIKE = 0.5  # correlation between the doubts of two sections: judgement
_SAME_CAMBER = 0.02  # bent sheets nearer than this in camber fly alike: judgement


def same_section(one, other):
    """Whether readings on blades of one section tell all of another.

    Parameters
    ----------
    one, other : Sheet, Airfoil or OwnPolar
        Two sections.

    Returns
    -------
    bool
        True for the same stock bent alike.
    """
    if one.kind != "sheet" or other.kind != "sheet":
        return one == other
    bent_alike = abs(one.camber - other.camber) <= _SAME_CAMBER and (one.camber > 0) == (other.camber > 0)
    return bent_alike and one.changed(camber=other.camber) == other


def section_belief(lessons, turbine):
    """What is believed of a section that was not read itself.

    Parameters
    ----------
    lessons : tuple of Lesson
        Oldest first; may be empty.
    turbine : Turbine
        With blades of the section.

    Returns
    -------
    tuple of array, shapes (3,) and (3, 3)
        Mean and covariance of the logarithms of ``NAMES``.

    Notes
    -----
    In units of their own doubts all sections are one joint normal belief with the correlation ``ALIKE``. Every lesson
    sets the part of its section to what was found, and the others follow as far as they are correlated.
    """
    mean, covariance = _joint(tuple(lessons))
    sigma = _sigmas(turbine)
    return sigma * mean, np.outer(sigma, sigma) * covariance


@functools.lru_cache(maxsize=512)  # asked for every build that a search looks at
def _joint(lessons):
    """Mean and covariance of one more section in units of its own doubts."""
    read = []
    for lesson in lessons:
        if not any(same_section(lesson.turbine.rotor.section, one) for one in read):
            read.append(lesson.turbine.rotor.section)
    size, count = len(NAMES), len(read) + 1
    mean = np.zeros(size * count)
    covariance = np.kron(np.full((count, count), ALIKE) + (1 - ALIKE) * np.eye(count), np.eye(size))
    for lesson in lessons:
        number = next(i for i, one in enumerate(read) if same_section(lesson.turbine.rotor.section, one))
        at, sigma = slice(size * number, size * (number + 1)), _sigmas(lesson.turbine)
        found = lesson.beliefs.covariance[np.ix_(PLACES, PLACES)] / np.outer(sigma, sigma)
        gain = np.linalg.solve(covariance[at, at], covariance[at]).T
        mean = mean + gain @ (lesson.beliefs.mean[PLACES] / sigma - mean[at])
        covariance = covariance + gain @ (found - covariance[at, at]) @ gain.T
    return mean[-size:], covariance[-size:, -size:]


@functools.lru_cache(maxsize=512)  # several questions are asked about every build
def priors(turbine):
    """Belief about a turbine before any reading, remembered.

    Parameters
    ----------
    turbine : Turbine
        The build.

    Returns
    -------
    Beliefs
        As ``predict.turbine.priors``.
    """
    return whole.priors(turbine)


def _sigmas(turbine):
    return np.array([priors(turbine).sigma(name) for name in NAMES])
