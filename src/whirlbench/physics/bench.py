"""Generator constants from a multimeter, a tachometer, and a thread with small masses."""

from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError, within
from whirlbench.physics.base import GRAVITY
from whirlbench.value import Value

_WITHIN_NOISE = 2.0  # standard errors that a term must exceed to be believed


@dataclass(frozen=True)
class FrictionFit:
    """Running friction of a generator, constant part and part that grows with speed.

    Attributes
    ----------
    coulomb : Value
        Friction torque at any speed [N*m].
    viscous : Value
        Friction torque per speed [N*m*s/rad]; 0 where the runs cannot tell it from noise.
    """

    coulomb: Value
    viscous: Value


def emf_constant(generator_speed, voltage):
    """EMF constant from open-circuit volts at several speeds.

    Parameters
    ----------
    generator_speed : array, shape (n,)
        Speeds, 4 or more spread widely are best [rad/s].
    voltage : array, shape (n,)
        Open-circuit voltages, dc or peak [V].

    Returns
    -------
    Value
        EMF constant and its standard error [V*s/rad].

    Raises
    ------
    InputError
        Fewer than 3 readings, or arrays of different length.
    OutOfRange
        A negative reading, or volts that do not rise with speed.

    Notes
    -----
    The line goes through zero only when its intercept lies within 2 standard errors of it. An intercept that
    stays is a meter's zero or a diode left in the circuit.

    References
    ----------
    .. [1] Least squares, any text; the steps of the test are common practice.
    """
    speed, voltage = _pairs("open-circuit readings", generator_speed, voltage, fewest=3)
    slope, slope_error, intercept, intercept_error = _line(speed, voltage)
    if abs(intercept) <= max(_WITHIN_NOISE * intercept_error, 1e-9 * voltage.max()):
        slope, slope_error = _line_through_zero(speed, voltage)
    within("rise of volts with speed", slope, low=1e-6, high=100, unit="V*s/rad", try_="check the rpm and the volts")
    return Value(slope, slope_error, "bench: open-circuit volts against speed")


def winding_resistance(open_voltage, loaded_voltage, load_resistance, *, reading_doubt=0.005):
    """Winding resistance from open and loaded volts at one and the same speed.

    Parameters
    ----------
    open_voltage : float or array, shape (n,)
        Volts with the load away [V].
    loaded_voltage : float or array, shape (n,)
        Volts with the load on, at the same speed [V].
    load_resistance : float or array, shape (n,)
        Loads, two or more are best [ohm].
    reading_doubt : float
        Standard uncertainty of one voltage as a fraction [-]; 0.5 % is common practice for a hand meter.

    Returns
    -------
    Value
        Resistance with brush film and leads, as the load meets it [ohm]. Sigma is the scatter between loads or
        what the meter allows, whichever is larger.

    Raises
    ------
    OutOfRange
        Loaded volts above open volts, or a load outside 0.01 ohm to 1 Mohm.

    Notes
    -----
    R = RL (Voc/V - 1). Loads are weighted by 1/(R + RL)^2, because a light load hardly moves the voltage.
    Preferred to an ohmmeter, whose small current sees mostly the brush film.

    References
    ----------
    .. [1] Voltage divider; reading procedure is common practice.
    """
    arrays = (open_voltage, loaded_voltage, load_resistance)
    opened, loaded, load = (np.atleast_1d(np.asarray(one, dtype=float)) for one in arrays)
    within("load resistance", load, low=0.01, high=1e6, unit="ohm", try_="read the load with the generator away")
    ratio = opened / loaded
    within("open over loaded volts", ratio, low=1.0, high=1e4, unit="", try_="take both readings at the same speed")
    each = load * (ratio - 1.0)
    doubt = np.sqrt(2.0) * reading_doubt * (np.median(each) + load)
    weight = 1.0 / doubt**2
    mean = float(np.average(each, weights=weight))
    scatter = np.average((each - mean) ** 2, weights=weight) / max(each.size - 1, 1)
    return Value(mean, float(np.sqrt(max(scatter, 1.0 / weight.sum()))), "bench: open and loaded volts at one speed")


def ohmmeter_resistance(readings, *, lead_resistance=0.0):
    """Winding resistance from ohmmeter readings at several shaft positions.

    Parameters
    ----------
    readings : array, shape (n,)
        Readings, the shaft turned a little between them [ohm].
    lead_resistance : float
        Reading with the leads held together [ohm].

    Returns
    -------
    Value
        Median less the leads, and the standard deviation of one reading [ohm].

    Raises
    ------
    InputError
        Fewer than 3 readings: one reading of a small motor is not its winding resistance.
    OutOfRange
        A reading outside 0 to 1 Mohm.

    Notes
    -----
    Brush film only ever adds resistance, so the readings lean upward and averaging does not cure them: sigma
    is the spread, not the standard error. Prefer ``winding_resistance``.

    References
    ----------
    .. [1] 50 published readings of one motor, tests/published/generator/resistance_readings_example.csv.
    """
    readings, _ = _pairs("ohmmeter readings", readings, readings, fewest=3)
    within("ohmmeter reading", readings, low=0, high=1e6, unit="ohm", try_="leave out readings off scale")
    middle = float(np.median(readings)) - lead_resistance
    within("resistance without the leads", middle, low=0, high=1e6, unit="ohm", try_="check the reading of the leads")
    return Value(middle, float(np.std(readings, ddof=1)), "bench: ohmmeter, median over shaft positions")


def short_circuit_resistance(emf_constant, generator_speed, short_circuit_current, *, meter_resistance=0.0):
    """Winding resistance from the current through an ammeter alone: a cross-check.

    Parameters
    ----------
    emf_constant : float
        EMF constant [V*s/rad].
    generator_speed : float or array
        Speeds [rad/s].
    short_circuit_current : float or array
        Currents at those speeds [A].
    meter_resistance : float
        Burden of the ammeter and its leads [ohm]; common practice 0.1 on the 10 A range, 1 or more on mA ranges.

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    OutOfRange
        No current, or a meter with more resistance than the whole circuit.

    References
    ----------
    .. [1] Ohm's law.
    """
    within("short-circuit current", short_circuit_current, low=1e-5, high=100, unit="A", try_="turn the shaft faster")
    resistance = emf_constant * generator_speed / short_circuit_current - meter_resistance
    within("resistance without the meter", resistance, low=0, high=1e6, unit="ohm", try_="use a larger current range")
    return resistance


def running_friction(voltage, current, *, emf_constant, winding_resistance, generator_speed=None):
    """Friction from runs as a motor without load at several voltages.

    Parameters
    ----------
    voltage : array, shape (n,)
        Supply voltages [V].
    current : array, shape (n,)
        Currents at those voltages [A].
    emf_constant : float
        EMF constant [V*s/rad].
    winding_resistance : float
        Winding resistance [ohm].
    generator_speed : array, shape (n,), optional
        Measured speeds [rad/s]; worked out from the voltage when not given.

    Returns
    -------
    FrictionFit
        Constant part [N*m] and part with speed [N*m*s/rad].

    Raises
    ------
    InputError
        Fewer than 3 runs, or arrays of different length.
    OutOfRange
        A voltage that would not turn the shaft at that current.

    Notes
    -----
    T = k I at w = (U - I R)/k, fitted with a straight line. A slope that is negative or within 2 standard errors
    of zero is dropped, and the constant part becomes the mean. Friction of a stopped shaft is larger: see
    ``breakaway_torque``.

    References
    ----------
    .. [1] Makers' explanations of small dc motors; fit by least squares.
    """
    voltage, current = _pairs("runs without load", voltage, current, fewest=3)
    speed = generator_speed
    if speed is None:
        speed = (voltage - current * winding_resistance) / emf_constant
    speed, torque = _pairs("speeds of the runs", speed, emf_constant * current, fewest=3)
    within("speed of a run", speed, low=1e-3, high=2e4, unit="rad/s", try_="use a voltage at which the shaft turns")
    slope, slope_error, intercept, intercept_error = _line(speed, torque)
    source = "bench: current of the unloaded motor"
    if slope <= _WITHIN_NOISE * slope_error:
        error = float(np.std(torque, ddof=1) / np.sqrt(torque.size))
        return FrictionFit(Value(float(torque.mean()), error, source), Value(0.0, slope_error, source))
    return FrictionFit(Value(intercept, intercept_error, source), Value(slope, slope_error, source))


def breakaway_torque(masses, pulley_radius):
    """Torque that just turns a shaft at rest, from a thread on a pulley.

    Parameters
    ----------
    masses : array, shape (n,)
        Smallest mass that turned the shaft, at several shaft positions [kg].
    pulley_radius : float
        Radius of the pulley to the middle of the thread [m].

    Returns
    -------
    Value
        Mean and standard deviation over the positions [N*m]; cogging makes the positions differ.

    Raises
    ------
    InputError
        Fewer than 3 positions.
    OutOfRange
        A mass outside 0 to 5 kg or a radius outside 0.5 to 200 mm.

    References
    ----------
    .. [1] T = m g r; reading procedure is common practice.
    """
    masses, _ = _pairs("masses", masses, masses, fewest=3)
    within("hanging mass", masses, low=0, high=5, unit="kg", try_="10 g is 0.010 kg")
    within("pulley radius", pulley_radius, low=5e-4, high=0.2, unit="m", try_="10 mm is 0.010 m")
    torque = masses * GRAVITY * pulley_radius
    return Value(float(torque.mean()), float(torque.std(ddof=1)), "bench: thread and masses at several positions")


def _pairs(what, first, second, *, fewest):
    first, second = np.asarray(first, dtype=float).ravel(), np.asarray(second, dtype=float).ravel()
    if first.size != second.size:
        needs = "as many of one as of the other"
        raise InputError(what, f"{first.size} and {second.size} numbers", needs, try_="leave out half-written lines")
    if first.size < fewest:
        raise InputError(what, f"{first.size}", f"{fewest} or more", try_="take a few more readings, spread widely")
    within(what, np.concatenate([first, second]), low=0, high=1e6, unit="", try_="give every reading without its sign")
    return first, second


def _line(x, y):
    """Slope and intercept of y over x by least squares, each followed by its standard error."""
    middle = x.mean()
    spread = ((x - middle) ** 2).sum()
    within("spread of the readings", spread, low=1e-12, high=np.inf, unit="", try_="take readings at different speeds")
    slope = ((x - middle) * y).sum() / spread
    intercept = y.mean() - slope * middle
    variance = ((y - intercept - slope * x) ** 2).sum() / (x.size - 2)
    slope_error = np.sqrt(variance / spread)
    intercept_error = np.sqrt(variance * (1.0 / x.size + middle**2 / spread))
    return float(slope), float(slope_error), float(intercept), float(intercept_error)


def _line_through_zero(x, y):
    slope = (x * y).sum() / (x**2).sum()
    variance = ((y - slope * x) ** 2).sum() / (x.size - 1)
    return float(slope), float(np.sqrt(variance / (x**2).sum()))
