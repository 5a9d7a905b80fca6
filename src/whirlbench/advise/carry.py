"""What readings of earlier builds tell about a later one: parts that come along bring what was learned of them."""

from dataclasses import dataclass

import numpy as np

from whirlbench.predict import turbine as whole
from whirlbench.predict.world import FACTORS, Beliefs

_SAME_CAMBER = 0.02  # bent sheets nearer than this in camber fly alike: judgement
_GROUPS = (
    ("wind",),
    ("lift", "drag"),
    ("friction",),
    ("teeth",),
    ("emf", "resistance"),
    ("start",),
    ("joint",),
    ("grip",),
)


@dataclass(frozen=True)
class Lesson:
    """A build that was read, and what is believed of it since.

    Attributes
    ----------
    turbine : Turbine
        The build.
    beliefs : Beliefs
        After its readings.
    """

    turbine: object
    beliefs: Beliefs


def same_section(one, other):
    """Whether readings on blades of one section tell of another.

    Parameters
    ----------
    one, other : Sheet, Airfoil or OwnPolar
        Two sections.

    Returns
    -------
    bool
        True for the same stock bent alike.
    """
    if one.kind != other.kind:
        return False
    if one.kind != "sheet":
        return one == other
    alike = one.changed(camber=other.camber) == other
    return alike and abs(one.camber - other.camber) <= _SAME_CAMBER and (one.camber > 0) == (other.camber > 0)


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
        that was left; the rest as its parts say.
    """
    prior = whole.priors(turbine)
    mean, covariance = prior.mean.copy(), prior.covariance.copy()
    open_groups = set(_GROUPS)
    for lesson in reversed(lessons):
        known = [group for group in open_groups if _shared(group[0], lesson.turbine, turbine)]
        at = np.array([FACTORS.index(name) for group in known for name in group], dtype=int)
        mean[at] = lesson.beliefs.mean[at]
        covariance[np.ix_(at, at)] = lesson.beliefs.covariance[np.ix_(at, at)]
        open_groups -= set(known)
    return Beliefs(mean, covariance)


def _shared(factor, one, other):
    """Whether two builds share the part that a factor speaks of."""
    if factor in ("lift", "start") and not same_section(one.rotor.section, other.rotor.section):
        return False
    if factor == "teeth":
        return _teeth(one.drivetrain) == _teeth(other.drivetrain)
    if factor in ("friction", "emf", "start") and one.generator != other.generator:
        return False
    parts = {
        "wind": lambda each: each.wind,
        "friction": lambda each: each.bearing,
        "joint": lambda each: (each.tower.joint, each.tower.joint_stiffness, each.tower.tube),
        "grip": lambda each: (each.base.surface, each.base.friction),
    }
    return factor not in parts or parts[factor](one) == parts[factor](other)


def _teeth(stages):
    return {(stage.kind, getattr(stage, "teeth", None) or getattr(stage, "belt", None)) for stage in stages}
