"""The blade rods: what pulls and bends them at the hub, and what they can bear."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import within
from whirlbench.physics.base import GRAVITY
from whirlbench.tables import load

ALLOWABLE_FACTOR = 4.0  # a design choice for grain run-out, drilled holes and fatigue, not a published number
PULL_TEST_FACTOR = 4.0  # common practice: four times the running pull is the pull at twice the running speed


@dataclass(frozen=True)
class RodStrength:
    """What a round wooden rod can bear.

    Attributes
    ----------
    mass_per_length : float
        Mass of a metre [kg/m].
    bending_stiffness : float
        E I [N*m^2].
    breaking_moment : float
        Bending moment that breaks clear wood [N*m].
    allowable_moment : float
        ``breaking_moment`` over ``ALLOWABLE_FACTOR`` [N*m].
    rupture_stress : float
        Modulus of rupture of the wood [Pa].
    """

    mass_per_length: float
    bending_stiffness: float
    breaking_moment: float
    allowable_moment: float
    rupture_stress: float


@dataclass(frozen=True)
class RodLoad:
    """What a running rotor asks of one rod where it leaves the hub.

    Attributes
    ----------
    pull : float or array
        Centrifugal pull [N].
    flap_moment : float or array
        Bending downwind, from the thrust [N*m].
    edge_moment : float or array
        Bending in the rotor plane, driving torque and weight together at their worst [N*m].
    moment : float or array
        Both as one [N*m].
    stress : float or array
        Greatest stress, bending and pull together [Pa].
    """

    pull: float
    flap_moment: float
    edge_moment: float
    moment: float
    stress: float


def rod_area(diameter):
    """Cross-section of a round rod.

    Parameters
    ----------
    diameter : float or array
        Diameter [m].

    Returns
    -------
    float or array
        Area [m^2].

    Raises
    ------
    OutOfRange
        A diameter of no blade rod, outside 0.5 to 50 mm.
    """
    _check_diameter(diameter)
    return math.pi / 4 * np.asarray(diameter) ** 2


def rod_second_moment(diameter):
    """Second moment of area of a round rod.

    Parameters
    ----------
    diameter : float or array
        Diameter [m].

    Returns
    -------
    float or array
        Second moment of area, pi d^4/64 [m^4].

    Raises
    ------
    OutOfRange
        A diameter of no blade rod, outside 0.5 to 50 mm.
    """
    _check_diameter(diameter)
    return math.pi / 64 * np.asarray(diameter) ** 4


def section_modulus(diameter):
    """Bending moment that a round rod carries for each unit of stress at its surface.

    Parameters
    ----------
    diameter : float or array
        Diameter [m].

    Returns
    -------
    float or array
        Section modulus, pi d^3/32 [m^3].

    Raises
    ------
    OutOfRange
        A diameter of no blade rod, outside 0.5 to 50 mm.
    """
    _check_diameter(diameter)
    return math.pi / 32 * np.asarray(diameter) ** 3


def rod_strength(diameter, wood):
    """Mass, stiffness and strength of a round wooden rod.

    Parameters
    ----------
    diameter : float
        Diameter [m].
    wood : str
        Row of the shipped table ``rod/woods``, for example ``birch, paper``.

    Returns
    -------
    RodStrength
        Per-metre mass [kg/m], bending stiffness [N*m^2], breaking and allowable moment [N*m].

    Raises
    ------
    OutOfRange
        A diameter of no blade rod, outside 0.5 to 50 mm.
    UnknownKey
        No such wood; the message names the nearest.

    Notes
    -----
    Clear straight-grained wood; a shop dowel with grain run-out breaks earlier, hence the factor of 4.

    References
    ----------
    .. [1] USDA Wood Handbook, FPL-GTR-190; moduli of rupture from memory.
    """
    row = load("rod/woods").find(species=wood)
    rupture = row.MOR_MPa * 1e6
    breaking = rupture * section_modulus(diameter)
    return RodStrength(
        mass_per_length=row.density_12pct_kg_per_m3 * rod_area(diameter),
        bending_stiffness=row.E_GPa * 1e9 * rod_second_moment(diameter),
        breaking_moment=breaking,
        allowable_moment=breaking / ALLOWABLE_FACTOR,
        rupture_stress=rupture,
    )


def root_pull(blade_mass, mass_radius, rotor_speed):
    """Centrifugal pull of one blade on the hub.

    Parameters
    ----------
    blade_mass : float or array
        Mass of the blade with its rod [kg].
    mass_radius : float or array
        Axis to its centre of mass [m].
    rotor_speed : float or array
        Speed of the rotor [rad/s].

    Returns
    -------
    float or array
        Pull, m omega^2 r [N].

    Raises
    ------
    OutOfRange
        A mass, radius or speed of no bench rotor.
    """
    within("mass of a blade", blade_mass, low=0, high=5, unit="kg", try_="weigh the blade with its rod, in kilograms")
    try_ = "balance the blade on an edge and add the radius of the hub"
    within("centre of mass of a blade", mass_radius, low=0, high=2, unit="m", try_=try_)
    within("rotor speed", rotor_speed, low=0, high=1e4, unit="rad/s", try_="give rad/s: rpm times 0.1047")
    return np.asarray(blade_mass) * np.asarray(rotor_speed) ** 2 * mass_radius


def rod_load(blade_mass, mass_radius, rotor_speed, *, diameter, hub_radius, thrust, thrust_radius, torque=0.0):
    """Pull, bending and stress of one rod where it leaves the hub.

    Parameters
    ----------
    blade_mass : float or array
        Mass of the blade with its rod [kg].
    mass_radius : float or array
        Axis to its centre of mass [m].
    rotor_speed : float or array
        Speed of the rotor [rad/s].
    diameter : float
        Diameter of the rod [m].
    hub_radius : float
        Axis to the place where the rod leaves the hub [m].
    thrust : float or array
        Thrust of one blade [N].
    thrust_radius : float or array
        Axis to the line of that thrust; about two thirds of the rotor radius [m].
    torque : float or array
        Driving torque of one blade about the axis [N*m].

    Returns
    -------
    RodLoad
        Pull [N], moments [N*m] and stress [Pa].

    Raises
    ------
    OutOfRange
        A mass, radius, speed or diameter of no bench rotor, or a centre of mass or thrust inside the hub.

    Notes
    -----
    Flap F (r_F - r_h), edge Q (r_F - r_h)/r_F + m g (r_m - r_h) with the blade level, stress M/Z + pull/A.
    That spinning straightens a bent rod, and so relieves it, is left out: safe side. Stress of a notch or a
    screw hole at the hub comes on top. No published check found for the sum; the terms are textbook.
    """
    pull = root_pull(blade_mass, mass_radius, rotor_speed)
    mass_arm, thrust_arm = np.subtract(mass_radius, hub_radius), np.subtract(thrust_radius, hub_radius)
    try_ = "measure both radii from the axis of the shaft, in metres"
    within("centre of mass outside the hub by", mass_arm, low=0, high=2, unit="m", try_=try_)
    within("thrust outside the hub by", thrust_arm, low=1e-6, high=2, unit="m", try_=try_)
    flap = np.abs(thrust) * thrust_arm
    edge = np.abs(torque) * thrust_arm / thrust_radius + np.asarray(blade_mass) * GRAVITY * mass_arm
    moment = np.hypot(flap, edge)
    return RodLoad(pull, flap, edge, moment, moment / section_modulus(diameter) + pull / rod_area(diameter))


def pull_test_force(root_pull, test_factor=PULL_TEST_FACTOR):
    """Force by which to pull each blade, by hand and scale, before the rotor may run.

    Parameters
    ----------
    root_pull : float or array
        Centrifugal pull at the highest running speed [N].
    test_factor : float
        Test pull over running pull [-].

    Returns
    -------
    float or array
        Force [N].

    Raises
    ------
    OutOfRange
        A factor below 1: such a test shows nothing.

    Notes
    -----
    The strength of a glued or clamped rod in a hub is not published; it is tested. The factor is common practice.
    """
    within("test factor", test_factor, low=1, high=100, unit="", try_="4 stands for twice the running speed")
    return test_factor * np.asarray(root_pull)


def _check_diameter(diameter):
    try_ = "measure the rod across and give metres"
    within("diameter of the rod", diameter, low=0.5e-3, high=50e-3, unit="m", try_=try_)
