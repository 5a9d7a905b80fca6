"""How a rotor comes up to speed, and the energy over a scored window."""

from dataclasses import dataclass

import numpy as np

from whirlbench.errors import within
from whirlbench.physics.rotor_kernel import STARTING
from whirlbench.predict import balance

_STEPS = 2000


@dataclass(frozen=True)
class SpinUp:
    """A start from rest in time, best estimate.

    Attributes
    ----------
    time : array, shape (n,)
        [s].
    rotor_speed, power : array, shape (n,)
        [rad/s], electrical [W].
    energy : float
        Into the load over the window [J].
    time_to_90 : float
        Until 90 % of the last speed [s]; infinite when it does not start.
    """

    time: np.ndarray
    rotor_speed: np.ndarray
    power: np.ndarray
    energy: float
    time_to_90: float


def spin_up(assembly, prediction, window):
    """Start from rest and energy over a window, best estimate.

    Parameters
    ----------
    assembly : Assembly
        The turbine; its first world is used.
    prediction : Prediction
        Its state in a wind.
    window : float
        Time from letting go to the end of the score [s].

    Returns
    -------
    SpinUp
        Speed and power in time.

    Raises
    ------
    OutOfRange
        A window of no time or more than an hour.

    Notes
    -----
    J dw/dt = surplus torque on the starting branch. Time is the integral of J dw / surplus, taken along the curve,
    so no step size decides the answer; the approach to the last speed is cut at 99.9 % of it.
    """
    within("window", window, low=1e-3, high=3600, unit="s", try_="the length of the scored run, such as 60 s")
    end = float(prediction.rest.rotor_speed[0])
    if not prediction.starts[0] or end <= 0:
        time = np.array([0.0, window])
        return SpinUp(time, np.zeros(2), np.zeros(2), 0.0, np.inf)
    count = prediction.curve.speed.shape[1]
    nodes = prediction.curve.speed[STARTING, 0]
    speed = end * (1 - np.geomspace(1.0, 1e-3, _STEPS))
    speed = np.union1d(speed, nodes[nodes < speed[-1]])  # torque has its corners at the nodes
    torque = np.interp(speed, nodes, prediction.curve.torque[STARTING, 0])
    rows = np.zeros((count, 1)) + speed  # every world is asked, the first is kept
    asked = balance.demand(assembly.train, assembly.machine, rows)[0]
    surplus = np.maximum(torque - asked, 1e-12)
    time = np.concatenate([[0.0], np.cumsum(assembly.inertia * np.diff(speed) * _mean_inverse(surplus))])
    power = assembly.machine.electrical(rows * assembly.train.step_up).load_power[0]
    inside = np.append(time[time < window], window)
    at_time = np.interp(inside, time, power, right=float(prediction.rest.power[0]))
    reached = np.interp(0.9 * end, speed, time)
    energy = float(np.trapezoid(at_time, inside))
    return SpinUp(inside, np.interp(inside, time, speed, right=end), at_time, energy, float(reached))


def _mean_inverse(values):
    """Mean of 1/x between neighbours when x runs straight from one to the next."""
    low, high = values[:-1], values[1:]
    straight = np.abs(high - low) > 1e-6 * low
    safe = np.where(straight, high - low, 1.0)
    return np.where(straight, np.log(high / low) / safe, 1 / low)
