"""The rotor in its real wind: torque over shaft speed in every world, walls and lean included."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.errors import within
from whirlbench.physics import tunnel
from whirlbench.physics.rotor import adjusted, rotor_curves, standstill_torque_coefficient

# up to the fastest that the balance takes: one narrow smooth blade with nothing to drive runs beyond 16
TIP_SPEED_RATIOS = np.concatenate(
    [np.arange(0, 2, 0.1), np.arange(2, 8, 0.2), np.arange(8, 16.1, 0.8), np.arange(19, 40.1, 3)]
)
_LEAST_WIND, _MOST_WIND = 0.1, 60.0
_START_REACH = 0.3  # tip-speed ratio over which the standstill form hands over to the balance with induction


@dataclass(frozen=True)
class MetCurve:
    """Rotor torque and what goes with it over shaft speed; arrays of shape (2, n, m).

    First axis: running and starting branch; second: world; third: node.

    Attributes
    ----------
    rotor_radius, air_density : float
        [m], [kg/m^3].
    speed : array
        Rotor shaft speed, rising along the nodes [rad/s].
    torque, blade_drag, rod_drag : array
        Shaft torque, and torques lost to drag of sections and rods [N*m].
    thrust : array
        [N].
    free_speed, axial_speed : array
        Free-air speed that loads the rotor as its wind does, and its part along the leaning axis [m/s].
    standstill : array, shape (n, 1)
        Torque at rest without induction [N*m].
    unresolved : float
        Largest share of stations without a solution below a tip-speed ratio of 8.
    """

    rotor_radius: float
    air_density: float
    speed: np.ndarray
    torque: np.ndarray
    blade_drag: np.ndarray
    rod_drag: np.ndarray
    thrust: np.ndarray
    free_speed: np.ndarray
    axial_speed: np.ndarray
    standstill: np.ndarray
    unresolved: float

    @property
    def disc_area(self):
        """Swept area [m^2]."""
        return np.pi * self.rotor_radius**2


@dataclass(frozen=True)
class RotorWorlds:
    """Coefficients of one rotor in every world; arrays of shape (2, n, m).

    Attributes
    ----------
    shape : RotorShape
        The rotor of the best estimate.
    disc_speed : array, shape (n, 1)
        Wind as believed, before walls and lean [m/s].
    torque, thrust, blade_drag, rod_drag : array
        Coefficients over ``TIP_SPEED_RATIOS`` [-].
    standstill : array, shape (n, 1)
        Torque coefficient at rest without induction [-].
    unresolved : float
        As in ``MetCurve``.
    """

    shape: object
    disc_speed: np.ndarray
    torque: np.ndarray
    thrust: np.ndarray
    blade_drag: np.ndarray
    rod_drag: np.ndarray
    standstill: np.ndarray
    unresolved: float

    def tiled(self, count):
        """Return the first world's coefficients for ``count`` worlds.

        Parameters
        ----------
        count : int
            Number of rows.

        Returns
        -------
        RotorWorlds
            The same numbers in every world, without copies.
        """
        arrays = {
            name: np.broadcast_to(getattr(self, name)[:, :1], (2, count, TIP_SPEED_RATIOS.size))
            for name in ("torque", "thrust", "blade_drag", "rod_drag")
        }
        one = {name: np.broadcast_to(getattr(self, name)[:1], (count, 1)) for name in ("disc_speed", "standstill")}
        return replace(self, **arrays, **one)


def rotor_worlds(shape, wind_speed, air, worlds):
    """Coefficients of a rotor in every world.

    Parameters
    ----------
    shape : RotorShape
        The rotor of the best estimate.
    wind_speed : float
        Best estimate of the wind over the disc [m/s].
    air : AirData
        Density and viscosity.
    worlds : Worlds
        The believed worlds.

    Returns
    -------
    RotorWorlds
        Both branches.

    Raises
    ------
    OutOfRange
        Wind outside 0.1-60 m/s.
    """
    within("wind speed", wind_speed, low=_LEAST_WIND, high=_MOST_WIND, unit="m/s", try_="a wind between 0.1 and 60 m/s")
    # a believed world may lie beyond where the wind itself may not
    speed = np.clip(wind_speed * worlds.factor("wind"), _LEAST_WIND, _MOST_WIND)
    seen = np.column_stack([*(worlds.factor(name) for name in ("lift", "drag", "stall")), worlds.angle, speed])
    different, back = np.unique(seen, axis=0, return_inverse=True)  # worlds that differ elsewhere share a rotor
    back = back.ravel()
    names = ("lift", "drag", "stall", "angle")
    shapes = [_believed(shape, **dict(zip(names, row[:-1].tolist(), strict=True))) for row in different]
    medium = {"air_density": air.density, "air_viscosity": air.viscosity}
    curves = rotor_curves(shapes, different[:, -1], TIP_SPEED_RATIOS, **medium)
    rest = [standstill_torque_coefficient(one, wind_speed, **medium) for one in shapes]
    used = TIP_SPEED_RATIOS < 8

    def stacked(name):
        return np.stack([getattr(curve, name) for curve in curves], axis=1)[:, back]

    return RotorWorlds(
        shape=shape,
        disc_speed=speed,
        torque=stacked("torque"),
        thrust=stacked("thrust"),
        blade_drag=stacked("blade_drag"),
        rod_drag=stacked("rod_drag"),
        standstill=np.array(rest)[back, None],
        unresolved=max(float(curve.unresolved[:, used].max()) for curve in curves) / shape.station_radius.size,
    )


def met_curve(rotor, air, *, stand, worlds, blockage=0.0, beside=False):
    """Rotor torque over shaft speed in the wind it meets.

    Parameters
    ----------
    rotor : RotorWorlds
        Coefficients in every world.
    air : AirData
        Density and viscosity.
    stand : Stand
        Tower and base: the rotor leans under its thrust.
    worlds : Worlds
        The believed worlds.
    blockage : float
        Swept area over section area; 0 without walls [-].
    beside : bool
        The speed was measured beside the running rotor, not in the empty section.

    Returns
    -------
    MetCurve
        Torque and thrust over speed.

    Notes
    -----
    The speed counts along the leaning axis (cosine of the tilt), so power falls with its cube: common practice for
    small misalignment. Near rest the curve is led into the standstill form without induction over a tip-speed
    ratio of 0.3 (judgement), so the start and the run-up speak of the same torque.
    """
    radius = rotor.shape.radius
    free = np.broadcast_to(_free_speed(rotor, blockage, beside), rotor.thrust.shape)
    pressure = 0.5 * air.density * np.pi * radius**2
    axial = free
    for _ in range(4):
        axial = free * np.cos(stand.tilt(pressure * axial**2 * rotor.thrust, worlds))
    push = pressure * axial**2
    torque = rotor.torque + _start_lift(rotor)
    return MetCurve(
        rotor_radius=radius,
        air_density=air.density,
        speed=TIP_SPEED_RATIOS * axial / radius,
        torque=push * radius * torque,
        blade_drag=push * radius * rotor.blade_drag,
        rod_drag=push * radius * rotor.rod_drag,
        thrust=push * rotor.thrust,
        free_speed=free,
        axial_speed=axial,
        standstill=(push[1] * radius)[:, :1] * rotor.standstill,
        unresolved=rotor.unresolved,
    )


def _start_lift(rotor):
    """What the standstill form adds to the torque coefficient near rest; it can only add."""
    missing = np.maximum(rotor.standstill - rotor.torque[:, :, :1], 0.0)
    return missing * np.exp(-((TIP_SPEED_RATIOS / _START_REACH) ** 2))


def _free_speed(rotor, blockage, beside):
    if blockage == 0:
        return rotor.disc_speed
    in_tunnel, ratio = tunnel.tunnel_thrust(rotor.thrust, blockage)
    if beside:
        ratio = ratio / tunnel.bypass_speed_ratio(in_tunnel, blockage)
    return rotor.disc_speed * ratio


def _believed(shape, *, lift, drag, stall, angle):
    untouched = lift == drag == stall == 1.0 and angle == 0.0
    return shape if untouched else adjusted(shape, lift=lift, drag=drag, stall=stall, angle=angle)
