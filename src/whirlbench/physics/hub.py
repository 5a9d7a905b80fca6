"""The hub: which holes balance, which blade goes in which hole, and how much trim mass is left to add."""

import itertools
import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError, within
from whirlbench.tables import load

_EXACT_BLADES = 8  # 8! = 40320 orders are tried in some hundredths of a second
_STARTS = 64  # seeded random orders from which swapping starts when there are more blades


@dataclass(frozen=True)
class Imbalance:
    """Static imbalance of a rotor, as a vector in the plane of the hub.

    Attributes
    ----------
    size : float
        Mass times distance from the axis [kg*m].
    angle : float
        Direction of the heavy side, from hole 0 in the order of the hole numbers, 0 to 2 pi [rad].
    """

    size: float
    angle: float


@dataclass(frozen=True)
class Placement:
    """A set of holes in which equal blades balance.

    Attributes
    ----------
    holes : tuple of int
        Hole numbers, counted from 0.
    kind : str
        ``even`` (equal steps), ``symmetric`` (repeats within a turn) or ``uneven`` (balances, repeats never).
    """

    holes: tuple
    kind: str


@dataclass(frozen=True)
class Assignment:
    """Which hole each blade goes in.

    Attributes
    ----------
    holes : tuple of int
        Hole of each blade, in the order in which the blades were given.
    imbalance : Imbalance
        What is left.
    exact : bool
        True if no other order is better; False if found by swapping from many starts, not proven best.
    """

    holes: tuple
    imbalance: Imbalance
    exact: bool


@dataclass(frozen=True)
class Trim:
    """Mass to add against an imbalance, at the best angle or in the nearest hole.

    Attributes
    ----------
    mass : float
        Mass that cancels the imbalance at ``angle`` [kg].
    angle : float
        Its direction, from hole 0, 0 to 2 pi [rad].
    hole : int
        The hole nearest to that direction.
    hole_mass : float
        Best mass in that hole [kg].
    residual : float
        Imbalance left with ``hole_mass`` in ``hole`` [kg*m].
    """

    mass: float
    angle: float
    hole: int
    hole_mass: float
    residual: float


@dataclass(frozen=True)
class GradeReached:
    """How finely a rotor is balanced at its speed.

    Attributes
    ----------
    velocity : float
        Speed of the centre of mass about the axis, the number of a grade in metres per second [m/s].
    grade : str or None
        Finest listed grade that this keeps; None if it keeps none.
    """

    velocity: float
    grade: str | None


def can_balance(blade_count, hole_count):
    """Whether equal blades can balance in equally spaced holes at all.

    Parameters
    ----------
    blade_count : int
        Number of blades, 1 to ``hole_count``.
    hole_count : int
        Number of holes around the hub.

    Returns
    -------
    bool
        True if some choice of holes balances.

    Raises
    ------
    OutOfRange
        More blades than holes, or a hole count outside 2 to 360.

    Notes
    -----
    Blades and empty holes must both be sums of prime divisors of the hole count, repetition allowed.
    5 blades balance in 12 holes (3 + 2 and 3 + 2 + 2), 3 blades in 8 never.

    References
    ----------
    .. [1] G. Sivek, On vanishing sums of distinct roots of unity, Integers 10 (2010) A31.
    .. [2] T.Y. Lam, K.H. Leung, On vanishing sums of roots of unity, J. Algebra 224 (2000) 91-109.
    """
    _check_counts(blade_count, hole_count, most_holes=360)
    primes = _prime_divisors(hole_count)
    reachable = {0}
    for total in range(1, hole_count + 1):
        if any(total - prime in reachable for prime in primes):
            reachable.add(total)
    return blade_count in reachable and hole_count - blade_count in reachable


def balanced_placements(blade_count, hole_count):
    """Every set of holes in which equal blades balance, the most regular first.

    Parameters
    ----------
    blade_count : int
        Number of blades, 1 to ``hole_count``.
    hole_count : int
        Number of equally spaced holes, 2 to 29.

    Returns
    -------
    tuple of Placement
        Even ones, then symmetric, then uneven; most repeats, then evenest gaps first. Empty if none balances.

    Raises
    ------
    OutOfRange
        More blades than holes, or a hole count outside 2 to 29.

    Notes
    -----
    Below 30 a hole count has at most two prime divisors, and then every balanced set is a union of regular
    polygons with a prime number of corners that share no hole [1]_. Those unions are built one polygon at a
    time, sets as bit patterns. Static balance is not aerodynamic balance: uneven blades shade each other.

    References
    ----------
    .. [1] T.Y. Lam, K.H. Leung, On vanishing sums of roots of unity, J. Algebra 224 (2000) 91-109.
    """
    _check_counts(blade_count, hole_count, most_holes=29)
    found = [{0}] + [set() for _ in range(blade_count)]
    for prime in _prime_divisors(hole_count):
        for first in range(hole_count // prime):
            polygon = sum(1 << hole for hole in range(first, hole_count, hole_count // prime))
            for size in range(blade_count, prime - 1, -1):
                found[size] |= {part | polygon for part in found[size - prime] if not part & polygon}
    sets = (tuple(hole for hole in range(hole_count) if pattern >> hole & 1) for pattern in found[blade_count])
    ordered = sorted(sets, key=lambda holes: _regularity(holes, hole_count))
    return tuple(Placement(holes, _kind(holes, hole_count)) for holes in ordered)


def imbalance(masses, radii, holes, *, hole_count):
    """Static imbalance of a rotor from its weighed blades.

    Parameters
    ----------
    masses : array, shape (blades,)
        Mass of each blade with its rod [kg].
    radii : float or array, shape (blades,)
        Axis to the centre of mass of each blade, as mounted [m].
    holes : sequence of int, shape (blades,)
        Hole of each blade, counted from 0.
    hole_count : int
        Number of equally spaced holes.

    Returns
    -------
    Imbalance
        Size [kg*m] and direction [rad] of the heavy side.

    Raises
    ------
    OutOfRange
        A mass or radius that is not positive, or a hole that is not on the hub.
    InputError
        Two blades in one hole, or not one hole for each blade.

    Notes
    -----
    Sum of m r exp(2 pi i hole/holes): balance the moments, not the masses alone.
    """
    return _as_imbalance(_moments(masses, radii) @ _spots(holes, hole_count, len(masses)))


def best_assignment(masses, radii, holes, *, hole_count):
    """Order of weighed blades in given holes that leaves the least imbalance.

    Parameters
    ----------
    masses : array, shape (blades,)
        Mass of each blade with its rod [kg].
    radii : float or array, shape (blades,)
        Axis to the centre of mass of each blade, as mounted [m].
    holes : sequence of int, shape (blades,)
        Holes to fill, counted from 0.
    hole_count : int
        Number of equally spaced holes.

    Returns
    -------
    Assignment
        Hole of each blade, what is left, and whether that is proven best.

    Raises
    ------
    OutOfRange
        A mass or radius that is not positive, or a hole that is not on the hub.
    InputError
        Two blades in one hole, or not one hole for each blade.

    Notes
    -----
    Up to 8 blades (9 if evenly spaced, where the first blade may stay put) every order is tried. Above that the
    best pair is swapped while it helps, from the given order and 63 shuffled ones: not proven best.
    """
    moments, spots = _moments(masses, radii), _spots(holes, hole_count, len(masses))
    fixed = int(_kind(tuple(sorted(holes)), hole_count) == "even")
    exact = len(moments) - fixed <= _EXACT_BLADES
    order = _best_of_all(moments, spots, fixed) if exact else _best_by_swaps(moments, spots)
    return Assignment(tuple(int(holes[i]) for i in order), _as_imbalance(moments @ spots[order]), exact)


def trim(imbalance, *, trim_radius, hole_count):
    """Mass that cancels an imbalance, and the best one for the nearest hole.

    Parameters
    ----------
    imbalance : Imbalance
        What is to be cancelled.
    trim_radius : float
        Axis to the added mass [m].
    hole_count : int
        Number of equally spaced holes.

    Returns
    -------
    Trim
        Mass [kg] and direction [rad], the nearest hole, its mass [kg] and what it leaves [kg*m].

    Raises
    ------
    OutOfRange
        A radius that is not positive or a hole count outside 2 to 360.
    """
    within("radius of the trim mass", trim_radius, low=1e-3, high=2, unit="m", try_="measure from the shaft, in metres")
    _check_counts(1, hole_count, most_holes=360)
    angle = (imbalance.angle + math.pi) % (2 * math.pi)
    hole = round(angle / (2 * math.pi) * hole_count) % hole_count
    off = angle - 2 * math.pi * hole / hole_count
    mass = imbalance.size / trim_radius
    return Trim(mass, angle, hole, mass * math.cos(off), imbalance.size * abs(math.sin(off)))


def permissible_imbalance(grade, rotor_mass, rotor_speed):
    """Greatest imbalance that a balance grade allows.

    Parameters
    ----------
    grade : str
        Row of the shipped table, ``G6.3`` for fans.
    rotor_mass : float or array
        Mass of the rotor [kg].
    rotor_speed : float or array
        Highest running speed [rad/s].

    Returns
    -------
    float or array
        Imbalance [kg*m].

    Raises
    ------
    UnknownKey
        No such grade; the message names the nearest.
    OutOfRange
        A mass or speed that is not positive.

    Notes
    -----
    U = G m / omega; the old rule 9549 G m/n in g*mm with n in rpm is the same.

    References
    ----------
    .. [1] ISO 21940-11 (formerly ISO 1940-1), through pages that quote it.
    """
    _check_rotor(rotor_mass, rotor_speed)
    return load("hub/balance_grades").find(grade=grade).G_mm_per_s / 1000 * rotor_mass / rotor_speed


def grade_reached(imbalance_size, rotor_mass, rotor_speed):
    """Balance grade that a rotor with a known imbalance keeps.

    Parameters
    ----------
    imbalance_size : float
        Imbalance left [kg*m].
    rotor_mass : float
        Mass of the rotor [kg].
    rotor_speed : float
        Highest running speed [rad/s].

    Returns
    -------
    GradeReached
        Speed of the centre of mass [m/s] and the finest listed grade kept.

    Raises
    ------
    OutOfRange
        A mass or speed that is not positive.

    References
    ----------
    .. [1] ISO 21940-11 (formerly ISO 1940-1), through pages that quote it.
    """
    _check_rotor(rotor_mass, rotor_speed)
    velocity = imbalance_size * rotor_speed / rotor_mass
    # a rotor trimmed exactly to a limit keeps it, whatever the last bit says
    kept = [row for row in load("hub/balance_grades").rows if velocity * 1000 <= row.G_mm_per_s * (1 + 1e-12)]
    return GradeReached(velocity, min(kept, key=lambda row: row.G_mm_per_s).grade if kept else None)


def _best_of_all(moments, spots, fixed):
    tails = itertools.permutations(range(fixed, len(moments)))
    orders = np.array([(*range(fixed), *tail) for tail in tails])
    return orders[np.argmin(np.abs(spots[orders] @ moments))]


def _best_by_swaps(moments, spots):
    shuffle = np.random.default_rng(0).permutation
    starts = [np.arange(len(moments)), *(shuffle(len(moments)) for _ in range(_STARTS - 1))]
    tried = [_swapped(moments, spots, order) for order in starts]
    return min(tried, key=lambda order: abs(spots[order] @ moments))


def _swapped(moments, spots, order):
    """Swap the pair that helps most until none helps."""
    order = order.copy()
    while True:
        here, total = spots[order], spots[order] @ moments
        after = np.abs(total + np.subtract.outer(moments, moments) * np.subtract.outer(here, here).T)
        i, j = np.unravel_index(np.argmin(after), after.shape)
        if after[i, j] >= abs(total) * (1 - 1e-9):
            return order
        order[[i, j]] = order[[j, i]]


def _gaps(holes, hole_count):
    return np.diff((*holes, holes[0] + hole_count))


def _repeats(gaps):
    """Times within one turn that the pattern of gaps looks the same."""
    return sum(np.array_equal(gaps, np.roll(gaps, k)) for k in range(len(gaps)))


def _kind(holes, hole_count):
    repeats = _repeats(_gaps(holes, hole_count))
    return "even" if repeats == len(holes) else "symmetric" if repeats > 1 else "uneven"


def _regularity(holes, hole_count):
    gaps = _gaps(holes, hole_count)
    return -_repeats(gaps), int(gaps @ gaps), holes


def _prime_divisors(number):
    divisors = [d for d in range(2, number + 1) if number % d == 0]
    return [d for d in divisors if not any(d % smaller == 0 for smaller in range(2, d))]


def _as_imbalance(vector):
    return Imbalance(float(abs(vector)), float(np.angle(vector) % (2 * math.pi)))


def _moments(masses, radii):
    within("mass of a blade", masses, low=1e-6, high=5, unit="kg", try_="weigh each blade with its rod, in kilograms")
    try_ = "balance the blade on an edge and add the radius of the hub"
    within("centre of mass of a blade", radii, low=1e-3, high=2, unit="m", try_=try_)
    return np.asarray(masses, dtype=float) * np.asarray(radii, dtype=float)


def _spots(holes, hole_count, blade_count):
    _check_counts(blade_count, hole_count, most_holes=360)
    try_ = "count the holes from 0"
    within("hole number", holes, low=0, high=hole_count - 1, unit="", try_=try_)
    if not len(holes) == len(set(holes)) == blade_count:
        got = f"{len(holes)} holes, {len(set(holes))} different, for {blade_count} blades"
        raise InputError("holes", got, "one hole for each blade", try_="name every hole once")
    return np.exp(2j * math.pi * np.asarray(holes) / hole_count)


def _check_counts(blade_count, hole_count, *, most_holes):
    try_ = "count the holes around the hub"
    within("hole count", hole_count, low=2, high=most_holes, unit="", try_=try_)
    within("blade count", blade_count, low=1, high=hole_count, unit="", try_="use no more blades than holes")


def _check_rotor(rotor_mass, rotor_speed):
    within("mass of the rotor", rotor_mass, low=1e-3, high=50, unit="kg", try_="weigh hub and blades together")
    try_ = "give the highest running speed; standing still has no grade"
    within("rotor speed", rotor_speed, low=0.1, high=1e4, unit="rad/s", try_=try_)
