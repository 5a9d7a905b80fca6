"""Many drivetrains, generators and loads on one rotor at once: what a search needs, best estimate only."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.physics.circuit import electrical_state
from whirlbench.physics.rotor_kernel import RUNNING, STARTING
from whirlbench.predict.generator import Machine


@dataclass(frozen=True)
class TrainTable:
    """Drivetrains as straight lines: torque asked of the rotor is ``gain * generator torque + offset``.

    Attributes
    ----------
    step_up, gain, offset : array, shape (k, 1)
        Generator turns per rotor turn [-], [-], [N*m], running.
    start_gain, start_offset : array, shape (k, 1)
        The same for breaking away [-], [N*m].
    """

    step_up: np.ndarray
    gain: np.ndarray
    offset: np.ndarray
    start_gain: np.ndarray
    start_offset: np.ndarray


def train_table(trains):
    """Drivetrains of the best estimate as straight lines.

    Parameters
    ----------
    trains : sequence of Train, length k
        Each with a single world, or the first is used.

    Returns
    -------
    TrainTable
        Rows in the order of ``trains``.
    """
    rows = []
    for train in trains:
        offset, one = train.upstream(0.0)[0, 0], train.upstream(1.0)[0, 0]
        start_offset, start_one = train.breakaway(0.0)[0, 0], train.breakaway(1.0)[0, 0]
        rows.append((train.step_up, one - offset, offset, start_one - start_offset, start_offset))
    columns = np.array(rows, dtype=float).T[:, :, None]
    return TrainTable(*columns)


@dataclass(frozen=True)
class Settled:
    """Where every drivetrain with every resistor settles on one rotor and one generator.

    Attributes
    ----------
    power : array, shape (k, r)
        At the load [W]; 0 where it does not turn.
    speed : array, shape (k, r)
        Of the rotor [rad/s]; 0 where it does not turn.
    margin : array, shape (k,)
        Torque that the wind gives at rest over what breaking away takes [-].
    """

    power: np.ndarray
    speed: np.ndarray
    margin: np.ndarray


def watts(curve, trains, machine, resistances):
    """Power and start of every drivetrain with every resistor on one rotor and one generator.

    Parameters
    ----------
    curve : MetCurve
        Torque over speed; the first world is used.
    trains : TrainTable
        ``k`` drivetrains.
    machine : Machine
        The generator; its own load is not used.
    resistances : array, shape (r,)
        [ohm].

    Returns
    -------
    tuple of array
        Power from rest [W], shape (k, r); 0 where it does not start. Power after a push [W], shape (k, r).
        Whether it breaks away, shape (k,).

    Notes
    -----
    Equilibria lie on straight lines between the nodes of the curve: some 0.1 % of power off the exact balance.
    """
    rest, pushed = (settled(curve, trains, machine, resistances, pushed=one) for one in (False, True))
    return rest.power, pushed.power, rest.margin >= 1


def start_margin(curve, trains, machine):
    """Torque that the wind gives at rest over what breaking away takes, for every drivetrain.

    Parameters
    ----------
    curve, trains, machine
        As in ``watts``.

    Returns
    -------
    array, shape (k,)
        It starts from 1 on [-].
    """
    asked = (trains.start_gain * _first(machine.breakaway) + trains.start_offset)[:, 0]
    return curve.standstill[0, 0] / np.maximum(asked, 1e-300)


def settled(curve, trains, machine, resistances, *, pushed=False):
    """Power, speed and start margin of every drivetrain with every resistor.

    Parameters
    ----------
    curve, trains, machine, resistances
        As in ``watts``.
    pushed : bool
        Where a push can bring it, not where a start from rest ends.

    Returns
    -------
    Settled
        From rest all is 0 where it does not break away.
    """
    count, loads = trains.step_up.shape[0], len(resistances)
    ohms = np.tile(np.asarray(resistances, dtype=float), count)[:, None]
    rows = {name: np.repeat(getattr(trains, name), loads, axis=0) for name in ("step_up", "gain", "offset")}
    circuit = replace(
        machine.circuit,
        winding_resistance=_first(machine.circuit.winding_resistance),
        brush_drop=_first(machine.circuit.brush_drop),
        load_resistance=ohms,
    )
    one = Machine(
        _first(machine.emf_constant),
        _first(machine.friction),
        _first(machine.breakaway),
        machine.viscous,
        machine.inertia,
        circuit,
    )
    margin = start_margin(curve, trains, machine)
    power, speed = _settled(curve, RUNNING if pushed else STARTING, rows, one, first=not pushed)
    moving = np.repeat((margin >= 1) | pushed, loads)
    return Settled((power * moving).reshape(count, loads), (speed * moving).reshape(count, loads), margin)


def _first(values):
    return np.asarray(values).reshape(-1)[:1, None][0, 0]


def _settled(curve, branch, rows, machine, *, first):
    """Load power and rotor speed at the first or the last place where the surplus torque falls through zero."""
    speed, torque = curve.speed[branch, :1], curve.torque[branch, :1]
    asked = rows["gain"] * machine.torque(speed * rows["step_up"]) + rows["offset"]
    surplus = torque - asked
    falls = (surplus[:, :-1] > 0) & (surplus[:, 1:] <= 0)
    turning = falls.any(axis=1) & ((surplus[:, 0] > 0) if first else True)
    node = np.argmax(falls, axis=1) if first else falls.shape[1] - 1 - np.argmax(falls[:, ::-1], axis=1)
    node = np.where(turning, node, 0)
    index = np.arange(len(node))
    above, below = surplus[index, node], surplus[index, node + 1]
    share = np.where(turning, above / np.where(above == below, 1.0, above - below), 0.0)
    at = speed[0, node] + share * (speed[0, node + 1] - speed[0, node])
    emf = machine.emf_constant * (at[:, None] * rows["step_up"])
    return electrical_state(machine.circuit, emf).load_power[:, 0] * turning, at * turning
