"""Where the torques balance: every equilibrium, and the one that a start from rest reaches."""

from dataclasses import dataclass

import numpy as np

from whirlbench.physics.rotor_kernel import RUNNING, STARTING

FREED = 1e12  # start factor at which anything breaks away: what a rotor does once it moves, however it got going
_ROUNDS = 60
_CLOSE = 1e-13


@dataclass(frozen=True)
class Spot:
    """A place on the curve in every world; arrays of shape (n, 1).

    Attributes
    ----------
    branch : int, or array of int
        RUNNING or STARTING.
    node : array of int
        Node below the place.
    share : array
        Way to the next node, 0 to 1.
    turning : array of bool
        Whether there is an equilibrium with the rotor turning; elsewhere the place is rest.
    """

    branch: int
    node: np.ndarray
    share: np.ndarray
    turning: np.ndarray

    def of(self, values):
        """Value of a curve's array at the place.

        Parameters
        ----------
        values : array, shape (2, n, m)
            Values at the nodes of both branches.

        Returns
        -------
        array, shape (n, 1)
            Linear between nodes.
        """
        rows = np.arange(self.node.shape[0])[:, None]
        lower, upper = values[self.branch, rows, self.node], values[self.branch, rows, self.node + 1]
        return lower + self.share * (upper - lower)


def demand(train, machine, speed):
    """Torque that bearings, drivetrain, generator and load ask of the rotor shaft.

    Parameters
    ----------
    train : Train
        Drivetrain in every world.
    machine : Machine
        Generator and load in every world.
    speed : array, broadcast with (n, 1)
        Rotor speed [rad/s].

    Returns
    -------
    array
        [N*m].
    """
    return train.upstream(machine.torque(speed * train.step_up))


def from_rest(curve, train, machine, start_factor):
    """The place that a start from rest reaches.

    Parameters
    ----------
    curve : MetCurve
        Torque over speed.
    train : Train
        Drivetrain.
    machine : Machine
        Generator and load.
    start_factor : array, shape (n, 1)
        Factor on the standstill torque.

    Returns
    -------
    Spot
        Rest where the rotor does not break away.
    """
    surplus = curve.torque[STARTING] - demand(train, machine, curve.speed[STARTING])
    breaks_away = curve.standstill * start_factor >= train.breakaway(machine.breakaway)
    falls = (surplus[:, :-1] > 0) & (surplus[:, 1:] <= 0)
    # what holds it at the first node decides whether it creeps on at all
    stuck = surplus[:, :1] <= 0
    node = np.argmax(falls, axis=1)[:, None]
    turning = breaks_away & ~stuck & falls.any(axis=1)[:, None]
    return _refined(curve, train, machine, branch=STARTING, node=node, turning=turning)


def fastest(curve, train, machine):
    """The fastest place where the rotor keeps turning once it turns.

    Parameters
    ----------
    curve : MetCurve
        Torque over speed.
    train : Train
        Drivetrain.
    machine : Machine
        Generator and load.

    Returns
    -------
    Spot
        Rest where no speed can be kept.
    """
    surplus = curve.torque[RUNNING] - demand(train, machine, curve.speed[RUNNING])
    falls = (surplus[:, :-1] > 0) & (surplus[:, 1:] <= 0)
    node = falls.shape[1] - 1 - np.argmax(falls[:, ::-1], axis=1)[:, None]
    turning = falls.any(axis=1)[:, None]
    return _refined(curve, train, machine, branch=RUNNING, node=np.where(turning, node, 0), turning=turning)


def faster(curve, one, other):
    """The faster of two places in every world.

    Parameters
    ----------
    curve : MetCurve
        Torque over speed.
    one, other : Spot
        Places on it, on either branch.

    Returns
    -------
    Spot
        ``one`` where it is ahead, ``other`` elsewhere.
    """
    ahead = one.of(curve.speed) > other.of(curve.speed)
    names = ("branch", "node", "share", "turning")
    return Spot(**{name: np.where(ahead, getattr(one, name), getattr(other, name)) for name in names})


def equilibria(curve, train, machine):
    """Every equilibrium of the best estimate on both branches.

    Parameters
    ----------
    curve : MetCurve
        Torque over speed; world 0 is used.
    train : Train
        Drivetrain.
    machine : Machine
        Generator and load.

    Returns
    -------
    list of tuple (branch, rotor speed [rad/s], stable)
        Slow to fast within each branch.
    """
    found = []
    for branch in (RUNNING, STARTING):
        surplus = (curve.torque[branch] - demand(train, machine, curve.speed[branch]))[0]
        for node in np.nonzero((surplus[:-1] > 0) != (surplus[1:] > 0))[0]:
            nodes = np.full((curve.speed.shape[1], 1), node)
            first = np.arange(len(nodes))[:, None] == 0
            spot = _refined(curve, train, machine, branch=branch, node=nodes, turning=first)
            found.append((branch, float(spot.of(curve.speed)[0, 0]), bool(surplus[node] > 0)))
    return found


def _refined(curve, train, machine, *, branch, node, turning):
    """Place inside the cell where the torques balance, by the Illinois rule in every world at once."""

    def surplus(share):
        here = Spot(branch, node, share, turning)
        return here.of(curve.torque) - demand(train, machine, here.of(curve.speed))

    low, high = np.zeros(node.shape), np.ones(node.shape)
    f_low, f_high = surplus(low), surplus(high)
    scale = np.maximum(np.abs(f_low) + np.abs(f_high), 1e-300)
    best, least, side = low, np.abs(f_low), np.zeros(node.shape)
    for step in range(_ROUNDS):
        gap = np.where(f_low == f_high, 1.0, f_low - f_high)
        share = (f_low * high - f_high * low) / gap if step % 4 < 3 else 0.5 * (low + high)
        share = np.clip(share, 0.0, 1.0)
        f = surplus(share)
        best = np.where(np.abs(f) < least, share, best)
        least = np.minimum(np.abs(f), least)
        if np.all((least < _CLOSE * scale) | ~turning):
            break
        same_as_low = (f > 0) == (f_low > 0)
        f_high = np.where(same_as_low, np.where(side == -1, 0.5 * f_high, f_high), f)
        f_low = np.where(same_as_low, f, np.where(side == 1, 0.5 * f_low, f_low))
        low, high = np.where(same_as_low, share, low), np.where(same_as_low, high, share)
        side = np.where(same_as_low, -1, 1)
    return Spot(branch, np.where(turning, node, 0), np.where(turning, best, 0.0), turning)
