"""The rotor alone: its coefficients over tip-speed ratio in one wind."""

import numpy as np

from whirlbench.actions.report import Report
from whirlbench.physics.rotor import rotor_curve, standstill_torque_coefficient
from whirlbench.predict import blades, wind

_USUAL = np.arange(0, 10.01, 0.25)


class RotorPoint(Report):
    """Coefficients at one tip-speed ratio, running branch; the starting branch where it differs."""

    tip_speed_ratio: float
    power_coefficient: float
    thrust_coefficient: float
    torque_coefficient: float
    starting_power_coefficient: float
    starting_torque_coefficient: float


class RotorReport(Report):
    """Answer of ``rotor``."""

    turbine: str
    wind_speed_m_s: float
    solidity: float
    peak_power_coefficient: float
    peak_tip_speed_ratio: float
    standstill_torque_coefficient: float
    points: tuple[RotorPoint, ...]


def rotor(turbine, wind_speed=None, tip_speed_ratios=()):
    """Coefficients of a turbine's rotor in free air.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    wind_speed : float, optional
        Over the disc [m/s]; sets the Reynolds numbers. Without it the turbine's own wind.
    tip_speed_ratios : sequence of float
        0 to 40 [-]; empty takes 0 to 10 by 0.25.

    Returns
    -------
    RotorReport
        One point a tip-speed ratio.

    Raises
    ------
    InputError
        A wind or tip-speed ratio out of range.
    """
    shape = blades.rotor_shape(turbine.rotor, turbine.wind.flow)
    speed = wind.disc_speed(turbine.wind, shape.radius).number if wind_speed is None else wind_speed
    air = wind.air_data(turbine.air)
    medium = {"air_density": air.density, "air_viscosity": air.viscosity}
    grid = np.asarray(tip_speed_ratios if len(tip_speed_ratios) else _USUAL, dtype=float)
    curve = rotor_curve(shape, speed, grid, **medium)
    usual = rotor_curve(shape, speed, _USUAL, **medium)  # the peak does not hang on which ratios were asked for
    top = int(np.argmax(usual.power[0]))
    columns = zip(grid, curve.power.T, curve.thrust.T, curve.torque.T, strict=True)
    return RotorReport(
        turbine=turbine.name,
        wind_speed_m_s=speed,
        solidity=shape.solidity,
        peak_power_coefficient=float(usual.power[0, top]),
        peak_tip_speed_ratio=float(_USUAL[top]),
        standstill_torque_coefficient=standstill_torque_coefficient(shape, speed, **medium),
        points=tuple(
            RotorPoint(
                tip_speed_ratio=float(ratio),
                power_coefficient=float(power[0]),
                thrust_coefficient=float(thrust[0]),
                torque_coefficient=float(torque[0]),
                starting_power_coefficient=float(power[1]),
                starting_torque_coefficient=float(torque[1]),
            )
            for ratio, power, thrust, torque in columns
        ),
    )
