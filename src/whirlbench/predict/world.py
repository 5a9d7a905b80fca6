"""Believed worlds: what we do not know about a turbine, as factors on what we know.

A world is one set of factors. The first world of a set is the best estimate. All predictions take a set of
worlds and answer with one number a world, so doubt, correlation and the chance of a gain come out by counting.
"""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.errors import UnknownKey, nearest, within

AERODYNAMIC = ("wind", "lift", "drag", "stall", "angle")  # all that a rotor sees of a world
FACTORS = (*AERODYNAMIC, "friction", "teeth", "emf", "resistance", "brush", "start", "joint", "grip")
COUNT = 65  # worlds in which answers are given: a chance is good to a few per cent
MEANING = {
    "wind": "the wind speed",
    "lift": "the lift of the blade section",
    "drag": "the drag of the blade section",
    "stall": "the angle at which the blades stall",
    "angle": "the angle at which the blades are set to the air",
    "friction": "the running friction of bearings and generator",
    "teeth": "the friction of gear teeth and belts",
    "emf": "the generator's volts per speed",
    "resistance": "the generator's resistance",
    "brush": "the volts lost at the generator's brushes",
    "start": "what it takes to break away from rest",
    "joint": "the stiffness of the tower's foot joint",
    "grip": "the grip of the base on the floor",
}


@dataclass(frozen=True)
class Beliefs:
    """Joint normal belief about the logarithms of all factors; of ``angle`` about the angle itself [rad].

    Attributes
    ----------
    mean : array, shape (13,)
        Logarithms of the best estimates, in the order of ``FACTORS``.
    covariance : array, shape (13, 13)
        Covariance of the logarithms.
    """

    mean: np.ndarray
    covariance: np.ndarray

    def sigma(self, factor):
        """Relative standard uncertainty of one factor; of ``angle`` in [rad].

        Parameters
        ----------
        factor : str
            One of ``FACTORS``.

        Returns
        -------
        float
            Standard deviation of its logarithm [-].
        """
        i = FACTORS.index(factor)
        return float(np.sqrt(self.covariance[i, i]))


@dataclass(frozen=True)
class Worlds:
    """A set of believed worlds; the first is the best estimate.

    Attributes
    ----------
    log_factors : array, shape (n, 13)
        Logarithms of the factors, one world a row; of ``angle`` the angle itself [rad].
    lessons : tuple of Lesson
        What readings of other builds have taught, oldest first: a part that comes back is no stranger.
    """

    log_factors: np.ndarray
    lessons: tuple = ()

    def __len__(self):
        return len(self.log_factors)

    def only(self, chosen):
        """Return some of the worlds.

        Parameters
        ----------
        chosen : slice or sequence of int
            Numbers of worlds.

        Returns
        -------
        Worlds
            In that order.
        """
        return replace(self, log_factors=self.log_factors[chosen])

    @property
    def rotor_key(self):
        """Bytes that are the same for worlds in which a rotor does the same."""
        return self.log_factors[:, : len(AERODYNAMIC)].tobytes()

    @property
    def angle(self):
        """Angle by which the blades are turned out of the rotor plane beyond what was believed, shape (n, 1) [rad]."""
        return self.log_factors[:, FACTORS.index("angle")][:, None]

    def factor(self, name):
        """Return one factor in every world.

        Parameters
        ----------
        name : str
            One of ``FACTORS``.

        Returns
        -------
        array, shape (n, 1)
            Factors [-].
        """
        return np.exp(self.log_factors[:, FACTORS.index(name)])[:, None]


def prior(**sigmas):
    """Belief before any reading: independent factors around 1.

    Parameters
    ----------
    **sigmas : float
        Relative standard uncertainty of each factor, ``angle`` in [rad]; a factor left out is taken as known.

    Returns
    -------
    Beliefs
        Zero mean, diagonal covariance.

    Raises
    ------
    UnknownKey
        A factor that no world has.
    """
    for name in sigmas.keys() - set(FACTORS):
        raise UnknownKey(name, "an unknown factor", "a factor of a world", try_=nearest(name, FACTORS))
    spread = np.array([sigmas.get(name, 0.0) for name in FACTORS])
    return Beliefs(np.zeros(len(FACTORS)), np.diag(spread**2))


def best_estimate(beliefs=None):
    """Return the one world of best estimates.

    Parameters
    ----------
    beliefs : Beliefs, optional
        Without it every factor is 1.

    Returns
    -------
    Worlds
        A single world.
    """
    mean = np.zeros(len(FACTORS)) if beliefs is None else beliefs.mean
    return Worlds(mean[None, :])


def draw(beliefs, count, seed=0, *, lessons=()):
    """Worlds drawn from a belief, the best estimate first.

    Parameters
    ----------
    beliefs : Beliefs
        Joint belief about the factors.
    count : int
        Number of worlds, 3 or more and odd: drawn in mirrored pairs so that odd errors cancel.
    seed : int
        Same seed, same worlds.
    lessons : sequence of Lesson
        What readings of other builds have taught.

    Returns
    -------
    Worlds
        ``count`` worlds.

    Raises
    ------
    OutOfRange
        Fewer than 3 worlds.

    Notes
    -----
    From 53 worlds on the draw is stretched so that its own covariance is the believed one exactly: 32 pairs left to
    chance give a band that is wrong by an eighth or more.
    """
    within("number of worlds", count, low=3, high=1e6, unit="", try_="65 worlds")
    pairs = (count - 1) // 2
    values, vectors = np.linalg.eigh(beliefs.covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    normal = np.random.default_rng(seed).standard_normal((pairs, len(FACTORS)))
    if pairs >= 2 * len(FACTORS):
        normal = np.linalg.solve(np.linalg.cholesky(normal.T @ normal / pairs), normal.T).T
    half = normal @ root.T
    spread = np.concatenate([np.zeros((1, len(FACTORS))), half, -half])
    return Worlds(beliefs.mean + spread, tuple(lessons))
