"""The base: whether the wind tips or slides the turbine, and how much ballast stops it."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import within
from whirlbench.tables import load
from whirlbench.value import Value

GRAVITY = 9.80665  # [m/s^2] standard gravity; a real place differs by less than 0.3 %
WANTED_FACTOR = 2.0  # common practice for a thing that people stand near


@dataclass(frozen=True)
class Ballast:
    """Mass to add to a base; 0 where it already holds.

    Attributes
    ----------
    against_sliding : float or array
        Mass to add so that it does not slide [kg].
    against_tipping : float or array
        Mass to add over the middle of the base so that it does not tip [kg].
    needed : float or array
        The larger of the two [kg].
    """

    against_sliding: float
    against_tipping: float
    needed: float


def tipping_safety(thrust, thrust_height, mass, *, base_width, mass_offset=0.0):
    """Times the present thrust that tips the turbine over the edge of its base.

    Parameters
    ----------
    thrust : float or array
        Push on the rotor [N].
    thrust_height : float or array
        Floor to the rotor shaft [m].
    mass : float or array
        Mass of the whole turbine [kg].
    base_width : float or array
        Full width of the base along the wind [m].
    mass_offset : float or array
        Centre of mass downwind of the middle of the base [m].

    Returns
    -------
    float or array
        Safety factor [-]; 1 is the brink.

    Raises
    ------
    OutOfRange
        A thrust, height, mass or width that is not positive, or a centre of mass outside the base.

    Notes
    -----
    m g (b/2 - offset) / (F h).
    """
    _check_thrust(thrust)
    _check_height(thrust_height)
    _check_mass(mass)
    arm = _arm(base_width, mass_offset)
    return np.asarray(mass) * GRAVITY * arm / (np.asarray(thrust) * thrust_height)


def sliding_safety(thrust, mass, friction_coefficient):
    """Times the present thrust that slides the turbine along the floor.

    Parameters
    ----------
    thrust : float or array
        Push on the rotor [N].
    mass : float or array
        Mass of the whole turbine [kg].
    friction_coefficient : float or array
        Friction of base on floor [-].

    Returns
    -------
    float or array
        Safety factor [-]; 1 is the brink.

    Raises
    ------
    OutOfRange
        A thrust, mass or friction that is not positive.

    Notes
    -----
    mu m g / F.
    """
    _check_thrust(thrust)
    _check_mass(mass)
    _check_friction(friction_coefficient)
    return np.asarray(friction_coefficient) * mass * GRAVITY / thrust


def tipping_first_height(base_width, friction_coefficient):
    """Height of the thrust above which the turbine tips before it slides.

    Parameters
    ----------
    base_width : float or array
        Full width of the base along the wind [m].
    friction_coefficient : float or array
        Friction of base on floor [-].

    Returns
    -------
    float or array
        Height [m].

    Raises
    ------
    OutOfRange
        A width or friction that is not positive.

    Notes
    -----
    h = b/(2 mu), whatever the mass.
    """
    _check_friction(friction_coefficient)
    return _arm(base_width, 0.0) / np.asarray(friction_coefficient)


def friction_coefficient(pair):
    """Friction of a base on a floor from the shipped table.

    Parameters
    ----------
    pair : str
        Name of the row, for example ``plywood on laminate table``.

    Returns
    -------
    Value
        Middle of the published span [-], its half-width over sqrt(3) as doubt, at least 10 % of the middle.

    Raises
    ------
    UnknownKey
        No such pair; the message names the nearest.

    Notes
    -----
    The 10 % floor is our own: one printed figure is not an exact one. A tilt test of the real pair beats this table.
    """
    table = load("base/friction")
    row = table.find("surface", pair=pair)
    middle, half = (row.mu_high + row.mu_low) / 2, (row.mu_high - row.mu_low) / 2
    return Value(middle, max(half / math.sqrt(3), 0.1 * middle), f"base/friction, {row.how}: {row.source}")


def friction_from_tilt(slip_angle):
    """Friction of a base on a board from the angle at which it slips.

    Parameters
    ----------
    slip_angle : float or Value
        Angle of the board to the level when the base starts to move [rad].

    Returns
    -------
    Value
        Friction coefficient [-], the doubt of the angle carried over.

    Raises
    ------
    OutOfRange
        Below 0.02 or above 1.05 rad (60 degrees): most often degrees were passed, or it tipped instead.

    Notes
    -----
    mu = tan(angle), exact for static friction.
    """
    angle = slip_angle if isinstance(slip_angle, Value) else Value(float(slip_angle))
    try_ = "give radians, and lay the heavy part low so that it slips before it tips"
    within("slip angle", angle.number, low=0.02, high=1.05, unit="rad", try_=try_)
    return Value(math.tan(angle.number), angle.sigma / math.cos(angle.number) ** 2, "tilt test")


def ballast(thrust, thrust_height, mass, *, base_width, friction_coefficient, wanted_factor=WANTED_FACTOR):
    """Mass to add to a base for a wanted safety on sliding and on tipping.

    Parameters
    ----------
    thrust : float or array
        Push on the rotor [N].
    thrust_height : float or array
        Floor to the rotor shaft [m].
    mass : float or array
        Mass of the whole turbine now [kg].
    base_width : float or array
        Full width of the base along the wind [m].
    friction_coefficient : float or array
        Friction of base on floor [-].
    wanted_factor : float
        Safety factor to reach [-].

    Returns
    -------
    Ballast
        Mass to add [kg], for sliding, for tipping, and for both.

    Raises
    ------
    OutOfRange
        A thrust, height, mass, width, friction or factor that is not positive.

    Notes
    -----
    Both safeties grow in step with the mass, so m (wanted/present - 1) is missing. A wanted factor of 2 is
    common practice.
    """
    within("wanted safety factor", wanted_factor, low=1, high=100, unit="", try_="2 is common practice")
    mass = np.asarray(mass, dtype=float)
    sliding = mass * (wanted_factor / sliding_safety(thrust, mass, friction_coefficient) - 1)
    tipping = mass * (wanted_factor / tipping_safety(thrust, thrust_height, mass, base_width=base_width) - 1)
    sliding, tipping = np.maximum(sliding, 0.0), np.maximum(tipping, 0.0)
    return Ballast(sliding, tipping, np.maximum(sliding, tipping))


def ballast_volume(ballast_mass, material):
    """Volume of a ballast of given mass.

    Parameters
    ----------
    ballast_mass : float or array
        Mass [kg].
    material : str
        Row of the shipped table: ``concrete``, ``sand``, ``water`` and others.

    Returns
    -------
    float or array
        Volume [m^3].

    Raises
    ------
    UnknownKey
        No such material; the message names the nearest.
    """
    return np.asarray(ballast_mass) / load("base/ballast").find(material=material).density_kg_per_m3


def _arm(base_width, mass_offset):
    within("base width", base_width, low=1e-3, high=10, unit="m", try_="measure the base along the wind, in metres")
    arm = np.asarray(base_width) / 2 - mass_offset
    try_ = "bring the centre of mass over the base; it falls over without wind"
    within("centre of mass inside the base edge by", arm, low=0, high=10, unit="m", try_=try_)
    return arm


def _check_thrust(thrust):
    try_ = "give the largest thrust of the run; without wind nothing tips"
    within("thrust", thrust, low=1e-6, high=1e4, unit="N", try_=try_)


def _check_height(height):
    within("height of the thrust", height, low=1e-3, high=10, unit="m", try_="measure floor to rotor shaft, in metres")


def _check_mass(mass):
    within("mass of the turbine", mass, low=1e-3, high=1e3, unit="kg", try_="weigh the whole turbine, in kilograms")


def _check_friction(friction):
    within("friction coefficient", friction, low=0.01, high=2, unit="", try_="measure it by the tilt test")
