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
    count, loads = trains.step_up.shape[0], len(resistances)
    ohms = np.tile(np.asarray(resistances, dtype=float), count)[:, None]
    rows = {name: np.repeat(getattr(trains, name), loads, axis=0) for name in ("step_up", "gain", "offset")}
    circuit = replace(
        machine.circuit, winding_resistance=_first(machine.circuit.winding_resistance), load_resistance=ohms
    )
    one = Machine(
        _first(machine.emf_constant),
        _first(machine.friction),
        _first(machine.breakaway),
        machine.viscous,
        machine.inertia,
        circuit,
    )
    starts = (curve.standstill[0, 0] >= trains.start_gain * one.breakaway + trains.start_offset)[:, 0]
    from_rest = _power(curve, STARTING, rows, one, first=True)
    pushed = _power(curve, RUNNING, rows, one, first=False)
    moving = np.repeat(starts, loads)
    return (from_rest * moving).reshape(count, loads), pushed.reshape(count, loads), starts


def _first(values):
    return np.asarray(values).reshape(-1)[:1, None][0, 0]


def _power(curve, branch, rows, machine, *, first):
    """Load power at the first or the last place where the surplus torque falls through zero."""
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
    return electrical_state(machine.circuit, emf).load_power[:, 0] * turning
