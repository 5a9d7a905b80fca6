"""The blades in their holes: how far out of balance the rotor is, and which order and trim would mend it."""

from dataclasses import dataclass

from whirlbench.physics import hub

_NOTHING = 1e-9  # of the sum of all blade moments: rounding, no imbalance


@dataclass(frozen=True)
class HubBalance:
    """Static balance of a rotor; holes count from 1, as they do on the part.

    Attributes
    ----------
    weighed : bool
        From weighed blades; otherwise all blades are taken as equal.
    evenly_spaced : bool
        The holes in use stand at equal steps.
    pattern_balances : bool
        Equal blades in these holes balance.
    imbalance : float
        Mass times distance from the axis, as built [kg*m].
    angle : float
        Direction of the heavy side, from hole 1 in the order of the hole numbers [rad].
    rotor_mass : float
        Hub and blades [kg].
    velocity : float
        Speed of the centre of mass about the axis while running [m/s].
    grade : str or None
        Finest listed balance grade kept while running; None if none, or if it does not turn.
    shaking_force, runaway_force : float
        Turning force on the tower while running and at runaway speed [N].
    best_holes : tuple of int
        Hole for each blade, in the order of weighing, that leaves the least imbalance; empty if not weighed.
    best_imbalance : float
        What that order leaves [kg*m].
    trim_mass, trim_radius : float
        Mass to add after that order [kg], at this radius [m].
    trim_hole : int
        Beside which hole it goes.
    trim_residual : float
        What is left after all that [kg*m].
    better_holes : tuple of int
        Holes for as many equal blades that do balance; empty where these do, or none do.
    """

    weighed: bool
    evenly_spaced: bool
    pattern_balances: bool
    imbalance: float
    angle: float
    rotor_mass: float
    velocity: float
    grade: str | None
    shaking_force: float
    runaway_force: float
    best_holes: tuple
    best_imbalance: float
    trim_mass: float
    trim_radius: float
    trim_hole: int
    trim_residual: float
    better_holes: tuple


def hub_balance(rotor, blade, *, rotor_speed, runaway_speed):
    """Balance of a rotor, and what would mend it.

    Parameters
    ----------
    rotor : Rotor
        Hub, holes and weighed masses.
    blade : BladeMass
        Mass and balance point of the mean blade.
    rotor_speed, runaway_speed : float
        While running, and without the load [rad/s].

    Returns
    -------
    HubBalance
        As built, in the best order, and trimmed at the rim of the hub.

    Raises
    ------
    OutOfRange
        A weighed blade without mass, or a balance point at the axis.
    """
    count = rotor.hub.holes
    holes = tuple(hole - 1 for hole in rotor.holes)  # the physics counts them from 0
    equal = _without_rounding(hub.imbalance([1.0] * len(holes), 1.0, holes, hole_count=count), len(holes))
    if rotor.weighed:
        masses, total = rotor.weighed, sum(rotor.weighed)
        built = hub.imbalance(masses, blade.mass_radius, holes, hole_count=count)
        built = _without_rounding(built, total * blade.mass_radius)
    else:
        masses, total = None, len(holes) * blade.mass
        built = hub.Imbalance(equal.size * blade.mass * blade.mass_radius, equal.angle)
    best = hub.best_assignment(masses, blade.mass_radius, holes, hole_count=count) if masses else None
    left = _without_rounding(best.imbalance, total * blade.mass_radius) if best else built
    trim = hub.trim(left, trim_radius=rotor.hub.radius, hole_count=count)
    rotor_mass = total + rotor.hub.mass
    kept = hub.grade_reached(built.size, rotor_mass, rotor_speed) if rotor_speed >= 0.1 else None
    mended = () if equal.size == 0 else hub.balanced_placements(len(holes), count)
    return HubBalance(
        weighed=bool(rotor.weighed),
        evenly_spaced=evenly_spaced(rotor.holes, count),
        pattern_balances=equal.size == 0,
        imbalance=built.size,
        angle=built.angle,
        rotor_mass=rotor_mass,
        velocity=kept.velocity if kept else 0.0,
        grade=kept.grade if kept else None,
        shaking_force=built.size * rotor_speed**2,
        runaway_force=built.size * runaway_speed**2,
        best_holes=tuple(hole + 1 for hole in best.holes) if best else (),
        best_imbalance=left.size,
        trim_mass=max(trim.hole_mass, 0.0),
        trim_radius=rotor.hub.radius,
        trim_hole=trim.hole + 1,
        trim_residual=trim.residual,
        better_holes=tuple(hole + 1 for hole in mended[0].holes) if mended else (),
    )


def evenly_spaced(holes, hole_count):
    """Whether blades in these holes stand at equal steps.

    Parameters
    ----------
    holes : sequence of int
        Holes in use.
    hole_count : int
        Holes around the hub.

    Returns
    -------
    bool
        True for equal gaps; a single blade has one gap.
    """
    around = sorted(holes)
    gaps = {(after - before) % hole_count for before, after in zip(around, around[1:] + around[:1], strict=True)}
    return len(gaps) == 1


def _without_rounding(found, total):
    return hub.Imbalance(0.0, 0.0) if found.size < _NOTHING * total else found
