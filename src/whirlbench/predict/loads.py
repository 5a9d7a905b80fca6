"""What pulls at a turbine: running, running away without its load, and standing still in the wind."""

import math
from dataclasses import dataclass, replace

import numpy as np

from whirlbench.physics import tower
from whirlbench.physics.rotor_kernel import RUNNING, STARTING
from whirlbench.predict import balance
from whirlbench.predict.balance import Spot


@dataclass(frozen=True)
class Load:
    """Speed and forces of one state; arrays of shape (n,), one a world.

    Attributes
    ----------
    state : str
        ``running``, ``runaway`` or ``standstill``.
    rotor_speed, thrust, torque : array
        [rad/s], [N], [N*m].
    """

    state: str
    rotor_speed: np.ndarray
    thrust: np.ndarray
    torque: np.ndarray


@dataclass(frozen=True)
class Stability:
    """How often the push of the wind is held; arrays of shape (n,), endless where the base is held.

    Attributes
    ----------
    sliding, tipping : array
        What the floor and the base hold over what pushes, worst of all states [-].
    sliding_state, tipping_state : str
        State in which the best estimate is worst.
    """

    sliding: np.ndarray
    tipping: np.ndarray
    sliding_state: str
    tipping_state: str


def loads(assembly, prediction):
    """Loads of a turbine in a wind, in the three states that matter.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    prediction : Prediction
        Its states in a wind.

    Returns
    -------
    tuple of Load
        Running (after a push, the faster state), runaway and standstill.

    Notes
    -----
    Runaway is what happens when the lead to the load comes off: only friction holds the rotor back. A belt or a gear
    that lets go frees it from friction too and is a little faster still.
    """
    curve = prediction.curve
    away = runaway(assembly, curve)
    rest = np.zeros(curve.speed.shape[1])
    pushed = prediction.pushed
    return (
        Load("running", pushed.rotor_speed, pushed.thrust, pushed.rotor_torque),
        Load("runaway", *(away.of(values)[:, 0] for values in (curve.speed, curve.thrust, curve.torque))),
        Load("standstill", rest, curve.thrust[STARTING, :, 0], curve.standstill[:, 0]),
    )


def runaway(assembly, curve):
    """Place on the curve where a rotor without its load ends.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    curve : MetCurve
        Torque over speed.

    Returns
    -------
    Spot
        The last node where friction does not hold it within the curve; rest where it holds it everywhere.
    """
    machine = unloaded(assembly.machine)
    rising = balance.from_rest(curve, assembly.train, machine, balance.FREED)
    spot = balance.faster(curve, rising, balance.fastest(curve, assembly.train, machine))
    last = curve.speed.shape[2] - 1
    asked = balance.demand(assembly.train, machine, curve.speed[RUNNING][:, last:])
    beyond = curve.torque[RUNNING][:, last:] > asked
    node, share = np.where(beyond, last - 1, spot.node), np.where(beyond, 1.0, spot.share)
    return Spot(np.where(beyond, RUNNING, spot.branch), node, share, spot.turning | beyond)


def unloaded(machine):
    """Generator with its load's lead taken off.

    Parameters
    ----------
    machine : Machine
        Generator, diodes and load.

    Returns
    -------
    Machine
        The same with an open circuit.
    """
    return replace(machine, circuit=replace(machine.circuit, load_resistance=math.inf, load_threshold=0.0))


def tube_load(assembly, wind_speed):
    """Push of the wind on the tower tube, over its whole height: safe side where the jet is smaller.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    wind_speed : float
        Best estimate over the disc [m/s].

    Returns
    -------
    array, shape (n,)
        [N/m].
    """
    speed = wind_speed * assembly.worlds.factor("wind")[:, 0]
    return tower.tube_wind_load(speed, assembly.stand.outer_diameter, air_density=assembly.air.density)


def stability(assembly, prediction, states=None):
    """Safety on sliding and tipping, worst of running, runaway and standstill.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    prediction : Prediction
        Its states in a wind.
    states : tuple of Load, optional
        Loads found before.

    Returns
    -------
    Stability
        Floor over push and base over push.

    Notes
    -----
    The wind on the tube pushes at its middle; for tipping it counts as the thrust that turns as hard.
    """
    stand, worlds = assembly.stand, assembly.worlds
    states = states or loads(assembly, prediction)
    tube = tube_load(assembly, prediction.wind_speed) * stand.height
    arm = (stand.axis_height - 0.5 * stand.height) / stand.axis_height
    pushes = {load.state: np.maximum(load.thrust, 0.0) for load in states}
    slide = {state: stand.sliding_safety((push + tube)[:, None], worlds)[:, 0] for state, push in pushes.items()}
    tip = {state: stand.tipping_safety(push + tube * arm) for state, push in pushes.items()}
    return Stability(
        sliding=np.min(list(slide.values()), axis=0),
        tipping=np.min(list(tip.values()), axis=0),
        sliding_state=min(slide, key=lambda state: slide[state][0]),
        tipping_state=min(tip, key=lambda state: tip[state][0]),
    )
