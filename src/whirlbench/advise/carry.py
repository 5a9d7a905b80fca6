"""What readings of earlier builds tell about a later one: parts that come along bring what was learned of them."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.advise.kin import PLACES, priors, same_section, section_belief
from whirlbench.predict.world import FACTORS, Beliefs

_GROUPS = (  # factors that one part stands behind
    ("wind",),
    ("lift", "drag", "stall"),
    ("angle",),
    ("friction",),
    ("teeth",),
    ("emf", "resistance", "brush"),
    ("start",),
    ("joint",),
    ("grip",),
)


@dataclass(frozen=True, eq=False)
class Lesson:
    """A build that was read, and what is believed of it since.

    Attributes
    ----------
    turbine : Turbine
        The build.
    beliefs : Beliefs
        After its readings.
    worlds : Worlds
        Drawn from these, all in agreement with the readings.
    """

    turbine: object
    beliefs: Beliefs
    worlds: object


def lesson(turbine, beliefs, worlds):
    """What a build has taught.

    Parameters
    ----------
    turbine : Turbine
        The build.
    beliefs : Beliefs
        After its readings.
    worlds : Worlds
        In agreement with the readings, the best estimate first.

    Returns
    -------
    Lesson
        Its best estimate is that of the worlds.
    """
    return Lesson(turbine, replace(beliefs, mean=worlds.log_factors[0]), worlds)


@dataclass(frozen=True)
class Known:
    """What is known of some factors of a build; ``k`` factors.

    Attributes
    ----------
    places : array of int, shape (k,)
        Which of ``FACTORS``.
    mean : array, shape (k,)
        As in ``Beliefs``.
    covariance : array, shape (k, k)
        As in ``Beliefs``.
    log_factors : array, shape (n, k)
        As in ``Worlds``.
    """

    places: np.ndarray
    mean: np.ndarray
    covariance: np.ndarray
    log_factors: np.ndarray


def known(lessons, turbine, names=FACTORS):
    """What earlier builds have taught about the parts of a build.

    Parameters
    ----------
    lessons : sequence of Lesson
        Oldest first; may be empty.
    turbine : Turbine
        The build.
    names : sequence of str
        Factors asked about.

    Returns
    -------
    list of Known
        Each factor at most once, from the latest build that shares the part behind it.
    """
    found, left = [], [group for group in _GROUPS if group[0] in names]
    for lesson in reversed(lessons):
        here = [group for group in left if _shared(group[0], lesson.turbine, turbine)]
        at = np.array([FACTORS.index(name) for group in here for name in group], dtype=int)
        if at.size:
            mean, covariance = lesson.beliefs.mean[at], lesson.beliefs.covariance[np.ix_(at, at)]
            found.append(Known(at, mean, covariance, lesson.worlds.log_factors[:, at]))
        left = [group for group in left if group not in here]
    return found


def believed(lessons, turbine):
    """Belief about a build from what earlier builds have taught.

    Parameters
    ----------
    lessons : sequence of Lesson
        Oldest first; may be empty.
    turbine : Turbine
        The build, not read yet.

    Returns
    -------
    Beliefs
        What it shares with the last build as it was left, covariances included; what it shares with an older one as
        that was left; the rest as ``unread``.
    """
    stranger = unread(lessons, turbine)
    mean, covariance = stranger.mean.copy(), stranger.covariance.copy()
    for one in known(lessons, turbine):
        mean[one.places] = one.mean
        covariance[np.ix_(one.places, one.places)] = one.covariance
    return Beliefs(mean, covariance)


def unread(lessons, turbine):
    """Belief about a build none of whose parts was read.

    Parameters
    ----------
    lessons : sequence of Lesson
        Of other builds, oldest first; may be empty.
    turbine : Turbine
        The build.

    Returns
    -------
    Beliefs
        As its parts say; of its section as other sections have taught.
    """
    prior = priors(turbine)
    if not lessons:
        return prior
    mean, covariance = prior.mean.copy(), prior.covariance.copy()
    mean[PLACES], covariance[np.ix_(PLACES, PLACES)] = section_belief(lessons, turbine)
    return Beliefs(mean, covariance)


def _shared(factor, one, other):
    """Whether two builds share the part that a factor speaks of."""
    same = {
        "wind": lambda: one.wind == other.wind,
        "lift": lambda: same_section(one.rotor.section, other.rotor.section),
        "angle": lambda: one.rotor == other.rotor,
        "friction": lambda: (one.generator, one.bearing) == (other.generator, other.bearing),
        "teeth": lambda: _teeth(one.drivetrain) == _teeth(other.drivetrain),
        "emf": lambda: one.generator == other.generator,
        "start": lambda: one.generator == other.generator and same_section(one.rotor.section, other.rotor.section),
        "joint": lambda: one.tower == other.tower,
        "grip": lambda: (one.base.surface, one.base.friction) == (other.base.surface, other.base.friction),
    }
    return same[factor]()


def _teeth(stages):
    """What rubs on what; none in direct drive."""
    return {stage.teeth if stage.kind == "gears" else stage.belt for stage in stages}
