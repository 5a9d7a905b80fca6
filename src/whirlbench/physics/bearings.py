"""Bearings and shafts: friction torque, spin-down tests, bending of an overhung shaft."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import OutOfRange, within
from whirlbench.tables import load
from whirlbench.value import Value

# Up to twice the running torque (read on an engineering reference page): the middle of 1 to 2, evenly likely between.
START_UP = Value(1.5, 1 / math.sqrt(12), "start-up up to twice the running friction, second hand")

_BORE = "measure the shaft with a calliper; a bench shaft has 1 to 20 mm"
_LOAD = "a rotor of 0.25 kg pulls with 2.5 N; a tight belt adds its two strands"
_RECORD = "record at least 4 speeds while the shaft slows down by itself, without a blade on it"


@dataclass(frozen=True)
class SpinDown:
    """Friction found in a spin-down record.

    Attributes
    ----------
    coulomb : Value
        Part of the torque that does not change with speed [N*m].
    viscous : Value
        Part that grows with speed [N*m*s/rad].
    misfit : float
        Root mean square of speed measured less speed fitted [rad/s].
    """

    coulomb: Value
    viscous: Value
    misfit: float


def bearing_friction(kind):
    """Friction coefficient of a kind of bearing, referred to the shaft's surface.

    Parameters
    ----------
    kind : str
        Key of the shipped table, for example ``ball``, ``brass_oiled``, ``acetal_bush`` or ``nylon_bush``.

    Returns
    -------
    Value
        Coefficient [-], its doubt and its source.

    Raises
    ------
    UnknownKey
        No such kind; the message names the nearest.

    Notes
    -----
    Rolling bearings: a LOWER bound for a bench. The maker's constant holds near a tenth of the rated load; under a few
    newtons grease and contact seals rule, and no seal figure for a small bearing was found. Wash out the grease, take
    off one seal, or measure with ``spin_down_friction``.

    References
    ----------
    .. [1] Table ``bearings/friction``, with a source for every row.
    """
    row = load("bearings/friction").find(kind=kind)
    return Value(row.friction, row.sigma, f"{row.source} ({row.seen})")


def bearing_torque(friction_coefficient, radial_load, bore):
    """Friction torque of a bearing.

    Parameters
    ----------
    friction_coefficient : float or array
        Referred to the bore [-].
    radial_load : float or array
        Load across the shaft [N].
    bore : float or array
        Bore, which is the shaft's diameter [m].

    Returns
    -------
    float or array
        Torque 0.5 mu P d [N*m].

    Raises
    ------
    OutOfRange
        Friction outside 0 to 1, load outside 0 to 1000 N, or bore outside 0.5 to 50 mm.

    References
    ----------
    .. [1] A bearing maker's rolling-bearing catalogue (2013), p. 98, read.
    """
    within(
        "bearing friction",
        friction_coefficient,
        low=0,
        high=1,
        unit="",
        try_="ball bearings have 0.0015, plain ones 0.1 to 0.4",
    )
    within("bearing load", radial_load, low=0, high=1000, unit="N", try_=_LOAD)
    within("bearing bore", bore, low=5e-4, high=0.05, unit="m", try_=_BORE)
    return np.multiply(friction_coefficient, radial_load) * np.divide(bore, 2)


def running_torque(kind, radial_load, bore):
    """Friction torque of a turning bearing of a known kind.

    Parameters
    ----------
    kind : str
        Key of the shipped table, as for ``bearing_friction``.
    radial_load : float
        Load across the shaft [N].
    bore : float
        Bore, which is the shaft's diameter [m].

    Returns
    -------
    Value
        Torque [N*m] with its doubt.

    Raises
    ------
    UnknownKey
        No such kind.
    OutOfRange
        Load outside 0 to 1000 N, or bore outside 0.5 to 50 mm.

    Notes
    -----
    A lower bound for greased or sealed rolling bearings: see ``bearing_friction``.

    References
    ----------
    .. [1] As ``bearing_torque``.
    """
    friction = bearing_friction(kind)
    lever = float(bearing_torque(1.0, radial_load, bore))
    return Value(friction.number * lever, friction.sigma * lever, friction.source)


def starting_torque(running):
    """Torque that sets a bearing at rest in motion.

    Parameters
    ----------
    running : Value
        Running friction torque [N*m].

    Returns
    -------
    Value
        1.5 times the running torque [N*m], with a doubt that spans once to twice.

    References
    ----------
    .. [1] Start-up up to twice the running value, read on an engineering reference page. No published check found.
    """
    number = running.number * START_UP.number
    doubt = math.hypot(running.sigma * START_UP.number, running.number * START_UP.sigma)
    return Value(number, doubt, f"{running.source}; {START_UP.source}")


def shaft_bending_stress(overhung_load, overhang, diameter):
    """Bending stress in a solid round shaft at its last bearing.

    Parameters
    ----------
    overhung_load : float or array
        Weight of the rotor, or any pull across the shaft's end [N].
    overhang : float or array
        Distance of the load from the bearing [m].
    diameter : float or array
        Of the shaft [m].

    Returns
    -------
    float or array
        Stress 32 M / (pi d³) at the surface [Pa].

    Raises
    ------
    OutOfRange
        Load outside 0 to 1000 N, overhang outside 0 to 1 m, or diameter outside 0.5 to 50 mm.

    References
    ----------
    .. [1] Beam theory, standard.
    """
    _check_shaft(overhung_load, overhang, diameter)
    return 32 * np.multiply(overhung_load, overhang) / (math.pi * np.power(diameter, 3))


def shaft_sag(overhung_load, overhang, diameter, elastic_modulus):
    """Sag of the end of a solid round shaft held stiffly at its last bearing.

    Parameters
    ----------
    overhung_load : float or array
        Weight of the rotor, or any pull across the shaft's end [N].
    overhang : float or array
        Distance of the load from the bearing [m].
    diameter : float or array
        Of the shaft [m].
    elastic_modulus : float or array
        Of the shaft's material [Pa]; steel has 205e9.

    Returns
    -------
    float or array
        Sag F L³ / (3 E I) [m].

    Raises
    ------
    OutOfRange
        Load outside 0 to 1000 N, overhang outside 0 to 1 m, diameter outside 0.5 to 50 mm, or modulus outside
        0.1 to 500 GPa.

    Notes
    -----
    The tilt of the shaft within its bearings comes on top and is often larger.

    References
    ----------
    .. [1] Beam theory, standard.
    """
    _check_shaft(overhung_load, overhang, diameter)
    within(
        "elastic modulus",
        elastic_modulus,
        low=1e8,
        high=5e11,
        unit="Pa",
        try_="steel has 205e9 Pa, wood along the grain 10e9",
    )
    area_moment = math.pi / 64 * np.power(diameter, 4)
    return overhung_load * np.power(overhang, 3) / (3 * elastic_modulus * area_moment)


def spin_down_torque(inertia, deceleration):
    """Friction torque that slows a body down.

    Parameters
    ----------
    inertia : float or array
        Moment of inertia of all that turns, referred to the shaft watched [kg*m^2].
    deceleration : float or array
        Speed lost per second [rad/s^2], positive.

    Returns
    -------
    float or array
        Torque J dw/dt [N*m].

    Raises
    ------
    OutOfRange
        Inertia outside 1e-9 to 10 kg m², or a body that speeds up.

    References
    ----------
    .. [1] Newton's law. No published check found.
    """
    _check_inertia(inertia)
    within(
        "deceleration",
        deceleration,
        low=0,
        high=math.inf,
        unit="rad/s^2",
        try_="give the loss of speed as a positive number",
    )
    return np.multiply(inertia, deceleration)


def spin_down_friction(times, speeds, inertia):
    """Constant and speed-proportional friction from a record of a body that slows down.

    Parameters
    ----------
    times : array, shape (n,)
        Clock times, rising [s].
    speeds : array, shape (n,)
        Speeds of the shaft at those times [rad/s]; readings at rest are left out.
    inertia : float
        Moment of inertia of a known bar or disc on the shaft [kg*m^2].

    Returns
    -------
    SpinDown
        The two parts with their doubts, and the misfit.

    Raises
    ------
    OutOfRange
        Fewer than 4 moving readings, times that do not rise, negative speeds, a body that speeds up, or inertia outside
        1e-9 to 10 kg m².

    Notes
    -----
    J dw/dt = -(Tc + D w), integrated once: w falls with time by Tc / J and with the angle turned by D / J, a linear
    least squares that needs no derivative of noisy readings. The angle is summed by trapezoids: take ten readings or
    more. A part that comes out negative is set to 0 and the other found again. The two parts trade against each other:
    the torque in the middle of the speeds is known better than either. The doubt of the inertia comes on top.
    Use a bar on edge or a disc, not blades: their drag grows with the square of the speed.

    References
    ----------
    .. [1] Own derivation. No published check found; checked on records computed from the closed solution.
    """
    times, speeds = _checked_record(times, speeds)
    _check_inertia(inertia)
    elapsed = times - times[0]
    angle = np.concatenate([[0.0], np.cumsum(np.diff(times) * (speeds[1:] + speeds[:-1]) / 2)])
    columns = np.column_stack([np.ones_like(elapsed), -elapsed, -angle])
    fits = [_least_squares(columns, speeds, kept) for kept in ([0, 1, 2], [0, 1], [0, 2])]
    possible = [fit for fit in fits if (fit[0][1:] >= 0).all()]
    if not possible:
        raise OutOfRange("spin-down record", "a speed that rises", "a speed that falls", try_=_RECORD)
    rates, sigmas, misfit = min(possible, key=lambda fit: fit[2])
    coulomb, viscous = (Value(float(rates[i] * inertia), float(sigmas[i] * inertia), "spin-down") for i in (1, 2))
    return SpinDown(coulomb, viscous, misfit)


def _check_shaft(overhung_load, overhang, diameter):
    within("load on the shaft", overhung_load, low=0, high=1000, unit="N", try_=_LOAD)
    within(
        "overhang of the shaft", overhang, low=0, high=1, unit="m", try_="measure from the last bearing to the rotor"
    )
    within("shaft diameter", diameter, low=5e-4, high=0.05, unit="m", try_=_BORE)


def _check_inertia(inertia):
    within("moment of inertia", inertia, low=1e-9, high=10, unit="kg*m^2", try_="a bar has m L² / 12, a disc m R² / 2")


def _checked_record(times, speeds):
    times, speeds = np.asarray(times, dtype=float), np.asarray(speeds, dtype=float)
    within("spin-down speed", speeds, low=0, high=1e5, unit="rad/s", try_="give speeds without a sign, in rad/s")
    moving = speeds > 0
    times, speeds = times[moving], speeds[moving]
    within("moving spin-down readings", len(times), low=4, high=1e6, unit="", try_=_RECORD)
    within(
        "steps between spin-down readings",
        np.diff(times),
        low=1e-9,
        high=1e6,
        unit="s",
        try_="sort the readings by time",
    )
    return times, speeds


def _least_squares(columns, measured, kept):
    """Coefficients and their standard errors, zero where not kept, and the root mean square misfit."""
    used = columns[:, kept]
    solution, *_ = np.linalg.lstsq(used, measured, rcond=None)
    misfit = measured - used @ solution
    spread = np.sqrt(misfit @ misfit / (len(measured) - len(kept)) * np.diag(np.linalg.pinv(used.T @ used)))
    coefficients, sigmas = np.zeros(columns.shape[1]), np.zeros(columns.shape[1])
    coefficients[kept], sigmas[kept] = solution, spread
    return coefficients, sigmas, float(np.sqrt(np.mean(misfit**2)))
