"""A commutator motor or a stepper turned by a shaft: its constants, and what it asks of that shaft.

In SI units the EMF constant [V*s/rad] and the torque constant [N*m/A] are one number; energy would not balance
otherwise. Cheap iron-core motors seem to have a torque constant 9-18 % lower when it is worked out from stall
torque: brush film, heat and friction at stall, not another constant. Take it from open-circuit volts.
"""

import math

import numpy as np

from whirlbench.errors import within

_RUN_IT = "read the values printed for the motor in one row, at one voltage"


def emf(emf_constant, generator_speed):
    """EMF of a commutator machine; peak EMF of an alternating one.

    Parameters
    ----------
    emf_constant : float or array
        Open-circuit volts per speed; peak volts for alternating current [V*s/rad].
    generator_speed : float or array
        Speed of the generator shaft [rad/s].

    Returns
    -------
    float or array
        EMF [V].

    Raises
    ------
    OutOfRange
        An EMF constant under 0 or over 100 V*s/rad: most often V/krpm was passed.

    References
    ----------
    .. [1] Makers' explanations of small dc motors (key information pages), E = k w.
    """
    _check_constant(emf_constant)
    return emf_constant * generator_speed


def emf_constant_from_no_load(voltage, no_load_speed, *, no_load_current, winding_resistance):
    """EMF constant from the no-load line of a motor catalogue.

    Parameters
    ----------
    voltage : float or array
        Supply voltage of the row [V].
    no_load_speed : float or array
        Speed without load at that voltage [rad/s].
    no_load_current : float or array
        Current without load at that voltage [A].
    winding_resistance : float or array
        Resistance between the terminals [ohm].

    Returns
    -------
    float or array
        EMF constant [V*s/rad].

    Raises
    ------
    OutOfRange
        No speed, or a current that the winding could not pass: values of different rows were mixed.

    References
    ----------
    .. [1] Makers' explanations of small dc motors, n0 = (U - I0 R) / k.
    """
    within("no-load speed", no_load_speed, low=1e-3, high=2e4, unit="rad/s", try_="divide rpm by 9.549")
    driving = voltage - no_load_current * winding_resistance
    within("EMF without load", driving, low=1e-9, high=1e3, unit="V", try_=_RUN_IT)
    return driving / no_load_speed


def no_load_speed(voltage, emf_constant, *, no_load_current, winding_resistance):
    """Speed of an unloaded motor.

    Parameters
    ----------
    voltage : float or array
        Supply voltage [V].
    emf_constant : float or array
        EMF constant [V*s/rad].
    no_load_current : float or array
        Current without load [A].
    winding_resistance : float or array
        Resistance between the terminals [ohm].

    Returns
    -------
    float or array
        Speed [rad/s], 0 where the voltage cannot pass the current.

    Raises
    ------
    OutOfRange
        An EMF constant under 0 or over 100 V*s/rad.

    Notes
    -----
    The same line gives the speed under any load when its current is passed.

    References
    ----------
    .. [1] Makers' explanations of small dc motors, n0 = (U - I0 R) / k.
    """
    _check_constant(emf_constant)
    return np.maximum(voltage - no_load_current * winding_resistance, 0.0) / emf_constant


def stall_torque(voltage, emf_constant, *, no_load_current, winding_resistance):
    """Torque of a motor held still, friction already taken off.

    Parameters
    ----------
    voltage : float or array
        Supply voltage [V].
    emf_constant : float or array
        EMF constant [V*s/rad].
    no_load_current : float or array
        Current without load [A].
    winding_resistance : float or array
        Resistance between the terminals [ohm].

    Returns
    -------
    float or array
        Torque [N*m].

    Raises
    ------
    OutOfRange
        An EMF constant under 0 or over 100 V*s/rad.

    Notes
    -----
    One maker prints the torque before friction, about 6 % more. Iron-core motors stall 9-22 % lower than this.

    References
    ----------
    .. [1] Makers' explanations of small dc motors, Ts = k (U/R - I0).
    """
    _check_constant(emf_constant)
    return emf_constant * np.maximum(voltage / winding_resistance - no_load_current, 0.0)


def torque_constant_from_stall(stall_torque, stall_current, *, no_load_current):
    """Torque constant as stall data show it: a check on the EMF constant, not a replacement.

    Parameters
    ----------
    stall_torque : float or array
        Torque held still [N*m].
    stall_current : float or array
        Current held still [A].
    no_load_current : float or array
        Current without load [A].

    Returns
    -------
    float or array
        Torque constant [N*m/A].

    Raises
    ------
    OutOfRange
        A stall current not above the no-load current.

    Notes
    -----
    Coreless motors agree with their EMF constant within 1 %; iron-core ones come out 9-18 % low and geared
    ones about half, from brush film, heat and friction at stall.

    References
    ----------
    .. [1] Computed comparison of 21 catalogue rows, tests/published/generator/dc_motor_consistency.csv.
    """
    working = stall_current - no_load_current
    within("stall current less no-load current", working, low=1e-6, high=1e3, unit="A", try_=_RUN_IT)
    return stall_torque / working


def friction_torque(emf_constant, no_load_current):
    """Running friction torque from the current a motor takes without load.

    Parameters
    ----------
    emf_constant : float or array
        EMF constant [V*s/rad].
    no_load_current : float or array
        Current without load [A].

    Returns
    -------
    float or array
        Friction torque at that speed [N*m].

    Raises
    ------
    OutOfRange
        An EMF constant under 0 or over 100 V*s/rad, or a negative current.

    Notes
    -----
    Breakaway torque is larger, and that is what a rotor at rest must beat: see ``bench.breakaway_torque``.

    References
    ----------
    .. [1] Makers' explanations of small dc motors, Tf = k I0.
    """
    _check_constant(emf_constant)
    within("no-load current", no_load_current, low=0, high=100, unit="A", try_="give the current without its sign")
    return emf_constant * no_load_current


def shaft_torque(electrical_torque, generator_speed, *, friction_torque, viscous_damping=0.0):
    """Torque that a turning generator asks of its shaft.

    Parameters
    ----------
    electrical_torque : float or array
        ``gap_power`` of the circuit over the speed, for dc the EMF constant times the current [N*m].
    generator_speed : float or array
        Speed of the generator shaft [rad/s].
    friction_torque : float or array
        Friction that does not depend on speed [N*m].
    viscous_damping : float or array
        Friction torque per speed [N*m*s/rad].

    Returns
    -------
    float or array
        Torque [N*m].

    Raises
    ------
    OutOfRange
        A negative speed or friction.

    References
    ----------
    .. [1] Makers' explanations of small dc motors, T = k I + Tf + D w.
    """
    within("generator speed", generator_speed, low=0, high=2e4, unit="rad/s", try_="give the speed without its sign")
    within("friction torque", friction_torque, low=0, high=10, unit="N*m", try_="1 mN*m is 0.001 N*m")
    return electrical_torque + friction_torque + viscous_damping * generator_speed


def peak_power(emf, winding_resistance):
    """Most electrical power that a resistor can draw at this EMF.

    Parameters
    ----------
    emf : float or array
        EMF of a dc machine, or rms EMF of an ac one [V].
    winding_resistance : float or array
        Resistance of the winding [ohm].

    Returns
    -------
    float or array
        Power in a load equal to the winding resistance [W].

    Raises
    ------
    OutOfRange
        A winding resistance of 0 or less.

    Notes
    -----
    At fixed speed only. A rotor slows under load, and its best load is larger than the winding resistance.

    References
    ----------
    .. [1] Maximum power transfer, E^2 / (4 R).
    """
    within("winding resistance", winding_resistance, low=1e-6, high=1e6, unit="ohm", try_="measure it under load")
    return emf**2 / (4.0 * winding_resistance)


def stepper_emf_constant(holding_torque, rated_current):
    """Peak EMF constant of one phase of a two-phase stepper from its holding torque.

    Parameters
    ----------
    holding_torque : float or array
        Holding torque with both phases on [N*m].
    rated_current : float or array
        Rated current of one phase [A].

    Returns
    -------
    float or array
        Peak phase EMF per shaft speed [V*s/rad].

    Raises
    ------
    OutOfRange
        A rated current of 0 or less.

    Notes
    -----
    Two measured motors gave 24 V where this says 24.2 V, and 22 V where it says 15.9 V: trust it to 40 %.

    References
    ----------
    .. [1] Rule in a motor firmware's notes: peak EMF = sqrt(2) pi T rps / I, second hand.
    """
    within("rated current", rated_current, low=1e-3, high=20, unit="A", try_="read the current per phase")
    return holding_torque / (math.sqrt(2.0) * rated_current)


def reactance(inductance, generator_speed, *, pole_pairs):
    """Reactance of a winding, which limits the current of a stepper at speed.

    Parameters
    ----------
    inductance : float or array
        Inductance of the winding [H].
    generator_speed : float or array
        Speed of the generator shaft [rad/s].
    pole_pairs : int
        Periods of the EMF per shaft turn [-]; 50 for a stepper of 1.8 degrees.

    Returns
    -------
    float or array
        Reactance [ohm].

    Raises
    ------
    OutOfRange
        No pole pair, or over 200.

    References
    ----------
    .. [1] X = p w L, any text on alternating current.
    """
    within("pole pairs", pole_pairs, low=1, high=200, unit="", try_="count north poles around the rotor")
    return pole_pairs * generator_speed * inductance


def rotor_inertia_estimate(mass, diameter):
    """Inertia of an iron-core rotor guessed from the whole motor.

    Parameters
    ----------
    mass : float or array
        Mass of the motor [kg].
    diameter : float or array
        Diameter of its can [m].

    Returns
    -------
    float or array
        Rotor inertia [kg*m^2], right within a factor of about 2.

    Raises
    ------
    OutOfRange
        A can over 0.1 m: most often millimetres were passed.

    Notes
    -----
    A quarter of the mass in a cylinder of 0.26 can diameters radius, from memory: two printed inertias
    (252 g and 675 g motors, can sizes from memory) lie at 0.9 and 0.7 of it. No published check found.
    """
    within("can diameter", diameter, low=1e-3, high=0.1, unit="m", try_="24 mm is 0.024 m")
    return 0.5 * (mass / 4.0) * (0.26 * diameter) ** 2


def _check_constant(emf_constant):
    within("EMF constant", emf_constant, low=1e-6, high=100, unit="V*s/rad", try_="divide V/krpm by 104.72")
