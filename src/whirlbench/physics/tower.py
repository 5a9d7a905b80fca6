"""The tower: how far it bends and tilts under the thrust, and at which rotor speeds it shakes."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import OutOfRange, within
from whirlbench.physics.base import GRAVITY
from whirlbench.value import Value

FREQUENCY_MARGIN = 0.20  # common practice: run at least this far, as a fraction, from a resonance
_CLAMPED_ROOT = 1.8752  # just above 1.87510, the first root of a clamped bare beam: no joint or tip mass raises it


@dataclass(frozen=True)
class Lean:
    """What the top of a tower does under a push; arrays where the thrust is one.

    Attributes
    ----------
    foot_moment : float or array
        Bending moment at the foot [N*m].
    tube_deflection : float or array
        Way of the top from bending of the tube alone [m].
    tube_slope : float or array
        Turn of the top from bending of the tube alone [rad].
    joint_rotation : float or array
        Turn of the joint at the foot, spring and free play together [rad].
    deflection : float or array
        Way of the top in all [m].
    tilt : float or array
        Turn of the top in all [rad].
    """

    foot_moment: float
    tube_deflection: float
    tube_slope: float
    joint_rotation: float
    deflection: float
    tilt: float


@dataclass(frozen=True)
class FrequencyMargin:
    """How far a rotor speed stays from shaking the tower at its natural frequency.

    Attributes
    ----------
    once_per_turn : float or array
        Turns per second over natural frequency, less one [-]; negative below the resonance.
    blade_per_turn : float or array
        Blade passings per second over natural frequency, less one [-].
    nearest : float or array
        The smaller of the two distances, without sign [-].
    clear : bool or array
        Whether ``nearest`` reaches the margin of common practice, 20 %.
    """

    once_per_turn: float
    blade_per_turn: float
    nearest: float
    clear: bool


def tube_second_moment(outer_diameter, inner_diameter=0.0):
    """Second moment of area of a round tube or rod about a diameter.

    Parameters
    ----------
    outer_diameter : float or array
        Outside diameter [m].
    inner_diameter : float or array
        Inside diameter, 0 for a solid rod [m].

    Returns
    -------
    float or array
        Second moment of area [m^4].

    Raises
    ------
    OutOfRange
        A diameter of no bench tower, or a bore wider than the outside.

    Notes
    -----
    I = pi/64 (D^4 - d^4), exact.
    """
    _check_tube(outer_diameter, inner_diameter)
    return math.pi / 64 * (outer_diameter**4 - inner_diameter**4)


def tube_mass(length, outer_diameter, inner_diameter=0.0, *, density):
    """Mass of a round tube or rod.

    Parameters
    ----------
    length : float or array
        Length [m].
    outer_diameter, inner_diameter : float or array
        Outside and inside diameter [m].
    density : float
        Density of the material [kg/m^3].

    Returns
    -------
    float or array
        Mass [kg].

    Raises
    ------
    OutOfRange
        A diameter of no bench tower, or a bore wider than the outside.

    Notes
    -----
    m = rho L pi/4 (D^2 - d^2), exact.
    """
    _check_tube(outer_diameter, inner_diameter)
    return density * length * math.pi / 4 * (outer_diameter**2 - inner_diameter**2)


def tip_stiffness(length, bending_stiffness, *, joint_stiffness=math.inf):
    """Push at the top that moves the top by one metre.

    Parameters
    ----------
    length : float or array
        Foot to the line of the thrust [m].
    bending_stiffness : float or array
        Modulus times second moment of area, E I [N*m^2].
    joint_stiffness : float or array
        Moment per turn of the joint at the foot [N*m/rad]; inf for a clamped foot.

    Returns
    -------
    float or array
        Stiffness at the top [N/m].

    Raises
    ------
    OutOfRange
        A length or stiffness of no bench tower.

    Notes
    -----
    Tube and joint are two springs in series: 1/k = L^3/(3 E I) + L^2/k_joint.
    Slender-beam theory; shear adds (D/L)^2, under 1 % for a tower longer than ten diameters.
    """
    _check_tower(length, bending_stiffness, joint_stiffness)
    return 1 / (length**3 / (3 * bending_stiffness) + length**2 / joint_stiffness)


def bending_stress(thrust, length, *, outer_diameter, second_moment):
    """Greatest bending stress in the tube, at its foot.

    Parameters
    ----------
    thrust : float or array
        Push at the top [N].
    length : float
        Foot to the line of the thrust [m].
    outer_diameter : float
        Outside diameter [m].
    second_moment : float
        Second moment of area of the tube [m^4].

    Returns
    -------
    float or array
        Stress [Pa], sign of the thrust.

    Raises
    ------
    OutOfRange
        A length of no bench tower.

    Notes
    -----
    sigma = F L (D/2) / I. A hole or a socket edge at the foot raises it locally by up to three times.
    """
    _check_tower(length, 1.0, math.inf)
    return np.asarray(thrust) * length * outer_diameter / 2 / second_moment


def tube_wind_load(wind_speed, outer_diameter, *, air_density, drag_coefficient=1.2):
    """Push of the wind on the tower tube itself, per metre of its length.

    Parameters
    ----------
    wind_speed : float or array
        Wind at the tube [m/s].
    outer_diameter : float
        Outside diameter [m].
    air_density : float
        Density of the air [kg/m^3].
    drag_coefficient : float
        Drag over dynamic pressure times frontal area [-].

    Returns
    -------
    float or array
        Load [N/m].

    Raises
    ------
    OutOfRange
        Beyond a Reynolds number of about 2e5, where the drag of a cylinder falls suddenly.

    Notes
    -----
    1.2 is the textbook value for a long smooth cylinder at Reynolds numbers of 1e3 to 2e5, from memory;
    a short free-ended one has less, so this errs to the safe side. No published check found.
    """
    reach = np.asarray(wind_speed) * outer_diameter
    try_ = "give the tube's diameter and the wind in metres"
    within("wind speed times tube diameter", reach, low=0, high=3, unit="m^2/s", try_=try_)
    return 0.5 * air_density * np.asarray(wind_speed) ** 2 * outer_diameter * drag_coefficient


def lean(thrust, length, bending_stiffness, *, joint_stiffness=math.inf, free_play=0.0, tube_load=0.0):
    """Bending and tilt of the tower under a thrust at its top.

    Parameters
    ----------
    thrust : float or array
        Push at the top, downwind positive [N].
    length : float
        Foot to the line of the thrust [m].
    bending_stiffness : float
        Modulus times second moment of area, E I [N*m^2].
    joint_stiffness : float
        Moment per turn of the joint at the foot [N*m/rad]; inf for a clamped foot.
    free_play : float
        Turn of the joint from upright to its stop before it carries anything, half the full rocking [rad].
    tube_load : float
        Push of the wind on the tube, see ``tube_wind_load`` [N/m].

    Returns
    -------
    Lean
        Deflection [m] and tilt [rad] with the share of tube and joint.

    Raises
    ------
    OutOfRange
        A length or stiffness of no bench tower, or a tilt above 0.5 rad, where small-angle theory ends.

    Notes
    -----
    Clamped beam: delta = F L^3/(3 E I) + q L^4/(8 E I), slope = F L^2/(2 E I) + q L^3/(6 E I);
    the joint turns the whole tube by M/k plus its play. The play is counted in full, whatever the push:
    a loose joint may lie at its stop. Weight on top leans on a soft joint too: see ``weight_factor``.

    References
    ----------
    .. [1] Beam formulas as in any strength-of-materials text; checked against a frame-analysis library.
    """
    _check_tower(length, bending_stiffness, joint_stiffness)
    within(
        "free play", free_play, low=0, high=0.5, unit="rad", try_="measure the rocking at the top and divide by height"
    )
    F, L, EI, q = np.asarray(thrust, dtype=float), length, bending_stiffness, tube_load
    moment = F * L + q * L**2 / 2
    bend = F * L**3 / (3 * EI) + q * L**4 / (8 * EI)
    slope = F * L**2 / (2 * EI) + q * L**3 / (6 * EI)
    turn = moment / joint_stiffness + np.copysign(free_play, moment)
    try_ = "stiffen the joint at the foot or take a thicker tube; this tower falls over"
    within("tilt of the tower top", slope + turn, low=-0.5, high=0.5, unit="rad", try_=try_)
    return Lean(moment, bend, slope, turn, deflection=bend + turn * L, tilt=slope + turn)


def weight_factor(length, bending_stiffness, top_mass, *, joint_stiffness=math.inf):
    """Factor by which the weight on top enlarges a deflection of the top.

    Parameters
    ----------
    length : float or array
        Foot to the mass on top [m].
    bending_stiffness : float or array
        Modulus times second moment of area, E I [N*m^2].
    top_mass : float or array
        Mass on top; add half the tube's mass to be on the safe side [kg].
    joint_stiffness : float or array
        Moment per turn of the joint at the foot [N*m/rad]; inf for a clamped foot.

    Returns
    -------
    float or array
        Factor, 1 for no weight [-].

    Raises
    ------
    OutOfRange
        A length or stiffness of no bench tower, or a tower that falls over under its own top.

    Notes
    -----
    Beam-column with a sprung foot: with u = L sqrt(m g/(E I)), s = u/tan(u) and a = m g L/k_joint the factor is
    (1 - s + a) / ((u^2/3 + a)(s - a)). It grows without limit where s = a. Checked against a frame-analysis library.
    """
    _check_tower(length, bending_stiffness, joint_stiffness)
    within("mass on top", top_mass, low=1e-6, high=100, unit="kg", try_="weigh the nacelle with the rotor")
    weight = np.asarray(top_mass) * GRAVITY
    u = length * np.sqrt(weight / bending_stiffness)
    s, a = np.where(u < math.pi / 2, u / np.tan(u), -1.0), weight * length / joint_stiffness
    try_ = "stiffen the joint at the foot, shorten the tower or lighten its top; it cannot stand"
    within("stiffness left after the weight on top", s - a, low=1e-3, high=1, unit="", try_=try_)
    return (1 - s + a) / ((u**2 / 3 + a) * (s - a))


def joint_stiffness(tip_force, tip_deflection, length, *, bending_stiffness, free_play=0.0):
    """Stiffness of the joint at the foot from a push at the top and how far the top went.

    Parameters
    ----------
    tip_force : float or Value
        Known push at the top, a hanging weight over a thread for example [N].
    tip_deflection : float or Value
        How far the top moved, from upright [m].
    length : float or Value
        Foot to the push [m].
    bending_stiffness : float or Value
        Modulus times second moment of area of the tube, E I [N*m^2].
    free_play : float or Value
        Turn from upright to the stop, felt without force [rad].

    Returns
    -------
    Value
        Moment per turn of the joint [N*m/rad] with the doubts of all inputs carried over, to first order.

    Raises
    ------
    OutOfRange
        The top moved no farther than the tube alone bends: the joint is as good as clamped.

    Notes
    -----
    1/k = delta/(F L^2) - L/(3 E I) - play/(F L). First-order doubt is fair while sigma stays under about
    a third of the number; beyond that only a lower limit is known. No published check found.
    """
    given = [_as_value(x) for x in (tip_force, tip_deflection, length, bending_stiffness, free_play)]
    F, d, L, EI, play = (value.number for value in given)
    within("push at the top", F, low=0.01, high=1e3, unit="N", try_="hang a known weight over a thread")
    _check_tower(L, EI, math.inf)
    softness = d / (F * L**2) - L / (3 * EI) - play / (F * L)
    if softness <= 0:
        bend = F * L**3 / (3 * EI) + play * L
        needs = f"more than the {bend:.3g} m of the tube and the play alone"
        raise OutOfRange("way of the top", f"{d:.3g} m", needs, try_="take the joint as clamped, or push harder")
    slopes = (
        -d / (F * L) ** 2 + play / (F**2 * L),
        1 / (F * L**2),
        -2 * d / (F * L**3) - 1 / (3 * EI) + play / (F * L**2),
        L / (3 * EI**2),
        -1 / (F * L),
    )
    doubt = math.hypot(*(slope * value.sigma for slope, value in zip(slopes, given, strict=True)))
    return Value(1 / softness, doubt / softness**2, "push test at the tower top")


def natural_frequency(length, bending_stiffness, tip_mass, *, tube_mass, joint_stiffness=math.inf):
    """First natural frequency of the tower, exact for a uniform tube with a mass on top.

    Parameters
    ----------
    length : float or array
        Foot to the mass on top [m].
    bending_stiffness : float or array
        Modulus times second moment of area, E I [N*m^2].
    tip_mass : float or array
        Mass on top: nacelle, generator and rotor [kg].
    tube_mass : float or array
        Mass of the tube over ``length`` [kg].
    joint_stiffness : float or array
        Moment per turn of the joint at the foot [N*m/rad]; inf for a clamped foot.

    Returns
    -------
    float or array
        Frequency [Hz].

    Raises
    ------
    OutOfRange
        A length, mass or stiffness of no bench tower.

    Notes
    -----
    With b = beta L, eta = tip mass over tube mass and phi = b E I/(k_joint L), the first root of
    1 + cos b cosh b + eta b d + phi (d - 2 eta b sin b sinh b) = 0, d = cos b sinh b - sin b cosh b,
    gives omega = b^2 sqrt(E I/(m L^3)). Weight and the turning inertia of the top, left out, both lower it.

    References
    ----------
    .. [1] R.D. Blevins, Formulas for Natural Frequency and Mode Shape, 1979 (clamped case; from memory).
    """
    _check_tower(length, bending_stiffness, joint_stiffness)
    _check_masses(tip_mass, tube_mass)
    eta = np.asarray(tip_mass) / tube_mass
    softness = bending_stiffness / (np.asarray(joint_stiffness) * length)
    root = _first_root(*np.broadcast_arrays(eta, softness))
    return root**2 * np.sqrt(bending_stiffness / (tube_mass * length**3)) / (2 * math.pi)


def natural_frequency_rayleigh(length, bending_stiffness, tip_mass, *, tube_mass, joint_stiffness=math.inf):
    """First natural frequency of the tower by Rayleigh's estimate, a little high.

    Parameters
    ----------
    length : float or array
        Foot to the mass on top [m].
    bending_stiffness : float or array
        Modulus times second moment of area, E I [N*m^2].
    tip_mass : float or array
        Mass on top: nacelle, generator and rotor [kg].
    tube_mass : float or array
        Mass of the tube over ``length`` [kg].
    joint_stiffness : float or array
        Moment per turn of the joint at the foot [N*m/rad]; inf for a clamped foot.

    Returns
    -------
    float or array
        Frequency [Hz].

    Raises
    ------
    OutOfRange
        A length, mass or stiffness of no bench tower.

    Notes
    -----
    The tube moves in its static shape, a share c of it by bending and the rest by turning at the joint, so that
    33/140 c^2 + 11/20 c (1 - c) + 1/3 (1 - c)^2 of its mass counts: the known 33/140 clamped, 1/3 for a stiff
    tube on a soft joint. Never below the exact frequency; 0.1 % above with a heavy top, 1.5 % with none.
    """
    _check_masses(tip_mass, tube_mass)
    stiffness = tip_stiffness(length, bending_stiffness, joint_stiffness=joint_stiffness)
    c = stiffness * length**3 / (3 * bending_stiffness)
    share = 33 / 140 * c**2 + 11 / 20 * c * (1 - c) + (1 - c) ** 2 / 3
    return np.sqrt(stiffness / (tip_mass + share * tube_mass)) / (2 * math.pi)


def resonance_speeds(natural_frequency, blade_count):
    """Rotor speeds at which the tower is shaken at its natural frequency.

    Parameters
    ----------
    natural_frequency : float or array
        First natural frequency of the tower [Hz].
    blade_count : int
        Number of blades.

    Returns
    -------
    once_per_turn, blade_per_turn : float or array
        Rotor speed of the shaking by imbalance, and by passing blades [rad/s].

    Raises
    ------
    OutOfRange
        A blade count outside 1 to 24, or a frequency that is not positive.
    """
    _check_shaking(natural_frequency, blade_count)
    return 2 * math.pi * natural_frequency, 2 * math.pi * natural_frequency / blade_count


def frequency_margin(rotor_speed, natural_frequency, *, blade_count):
    """Distance of a rotor speed from shaking the tower at its natural frequency.

    Parameters
    ----------
    rotor_speed : float or array
        Speed of the rotor [rad/s].
    natural_frequency : float
        First natural frequency of the tower [Hz].
    blade_count : int
        Number of blades.

    Returns
    -------
    FrequencyMargin
        Distances as fractions of the natural frequency [-], and whether 20 % is kept.

    Raises
    ------
    OutOfRange
        A blade count outside 1 to 24, or a frequency that is not positive.

    Notes
    -----
    The 20 % is common practice, no published limit for bench turbines was found.
    """
    _check_shaking(natural_frequency, blade_count)
    turns = np.asarray(rotor_speed) / (2 * math.pi * natural_frequency)
    once, blade = turns - 1, turns * blade_count - 1
    nearest = np.minimum(abs(once), abs(blade))
    return FrequencyMargin(once, blade, nearest, nearest >= FREQUENCY_MARGIN)


def _first_root(eta, softness):
    """First root by bisection: the left side starts at 2 and changes sign once below the clamped bare root."""
    low, high = np.zeros(eta.shape), np.full(eta.shape, _CLAMPED_ROOT)
    for _ in range(55):
        b = (low + high) / 2
        s, c, sh, ch = np.sin(b), np.cos(b), np.sinh(b), np.cosh(b)
        shear = c * sh - s * ch
        left = 1 + c * ch + eta * b * shear + softness * b * (shear - 2 * eta * b * s * sh)
        low, high = np.where(left > 0, b, low), np.where(left > 0, high, b)
    return (low + high) / 2


def _as_value(given):
    return given if isinstance(given, Value) else Value(float(given))


def _check_tube(outer, inner):
    within("outside diameter", outer, low=1e-3, high=0.5, unit="m", try_="measure the tube across its outside")
    within("wall of the tube", np.subtract(outer, inner), low=1e-5, high=0.5, unit="m", try_="swap the diameters")
    within("inside diameter", inner, low=0, high=0.5, unit="m", try_="give 0 for a solid rod")


def _check_tower(length, bending_stiffness, joint_stiffness):
    within(
        "tower length", length, low=0.02, high=5, unit="m", try_="measure from the foot to the rotor shaft, in metres"
    )
    try_ = "multiply the modulus in Pa by the second moment in m^4"
    within("bending stiffness of the tower", bending_stiffness, low=1e-3, high=1e7, unit="N*m^2", try_=try_)
    try_ = "measure it: push the top with a known force"
    within("joint stiffness", joint_stiffness, low=1e-3, high=math.inf, unit="N*m/rad", try_=try_)


def _check_masses(tip_mass, tube_mass):
    within("mass on top", tip_mass, low=0, high=100, unit="kg", try_="weigh the nacelle with the rotor")
    within("mass of the tube", tube_mass, low=1e-6, high=100, unit="kg", try_="weigh the tube, or see tube_mass")


def _check_shaking(natural_frequency, blade_count):
    try_ = "tap the tower and count, or compute it from the tube"
    within("natural frequency", natural_frequency, low=1e-3, high=1e4, unit="Hz", try_=try_)
    within("blade count", blade_count, low=1, high=24, unit="", try_="count the blades")
