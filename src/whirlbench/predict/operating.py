"""What a turbine does at a place on its curve: speeds, torques, volts, watts, and where the energy goes."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Operating:
    """One operating state in every world; arrays of shape (n,) unless said.

    Attributes
    ----------
    turning : array of bool
        Whether the rotor turns.
    rotor_speed, generator_speed : array
        [rad/s].
    tip_speed_ratio, power_coefficient, thrust_coefficient : array
        On the free-air speed [-].
    thrust, rotor_torque, tilt : array
        [N], [N*m], [rad].
    emf, voltage, current, power : array
        EMF (peak for ac), meter readings at the load, and electrical power [V, V, A, W].
    wind_power : array
        Power of the free-air wind through the disc [W].
    path : dict of str to array
        Where ``wind_power`` goes, from the wind to the load [W]; the parts sum to it.
    imbalance : array
        Torque balance left over relative to the rotor torque [-].
    """

    turning: np.ndarray
    rotor_speed: np.ndarray
    generator_speed: np.ndarray
    tip_speed_ratio: np.ndarray
    power_coefficient: np.ndarray
    thrust_coefficient: np.ndarray
    thrust: np.ndarray
    rotor_torque: np.ndarray
    tilt: np.ndarray
    emf: np.ndarray
    voltage: np.ndarray
    current: np.ndarray
    power: np.ndarray
    wind_power: np.ndarray
    path: dict
    imbalance: np.ndarray


def operating(curve, spot, train, machine):
    """State of the turbine at a place on its curve.

    Parameters
    ----------
    curve : MetCurve
        Torque over speed.
    spot : Spot
        The place in every world.
    train : Train
        Drivetrain.
    machine : Machine
        Generator and load.

    Returns
    -------
    Operating
        Everything a meter or a judge could ask.
    """
    speed = spot.of(curve.speed)
    free, axial = spot.of(curve.free_speed), spot.of(curve.axial_speed)
    torque, thrust = spot.of(curve.torque), spot.of(curve.thrust)
    generator_speed = speed * train.step_up
    state = machine.electrical(generator_speed)
    path, asked = _path(curve, spot, train, machine, state=state)
    available = 0.5 * curve.air_density * curve.disc_area * free**3
    scale = np.where(speed > 0, np.maximum(np.abs(torque), 1e-12), 1.0)
    return Operating(
        turning=spot.turning[:, 0],
        rotor_speed=speed[:, 0],
        generator_speed=generator_speed[:, 0],
        tip_speed_ratio=(speed * curve.rotor_radius / free)[:, 0],
        power_coefficient=(torque * speed / available)[:, 0],
        thrust_coefficient=(thrust / (available / free))[:, 0],
        thrust=thrust[:, 0],
        rotor_torque=torque[:, 0],
        tilt=np.arccos(np.clip(axial / free, 0.0, 1.0))[:, 0],
        emf=(machine.emf_constant * generator_speed)[:, 0],
        voltage=state.voltage[:, 0],
        current=state.current[:, 0],
        power=state.load_power[:, 0],
        wind_power=available[:, 0],
        path=path,
        imbalance=(np.where(speed > 0, torque - asked, 0.0) / scale)[:, 0],
    )


def _path(curve, spot, train, machine, *, state):
    """Power that each part keeps, from the wind to the load, and the torque asked of the rotor."""
    speed = spot.of(curve.speed)
    free, axial = spot.of(curve.free_speed), spot.of(curve.axial_speed)
    # near feather the swirling air may overtake the blades, and drag helps a little: that is no loss
    blade, rod = np.maximum(spot.of(curve.blade_drag), 0.0) * speed, spot.of(curve.rod_drag) * speed
    shaft = spot.of(curve.torque) * speed
    wind = 0.5 * curve.air_density * curve.disc_area
    generator_speed = speed * train.step_up
    # from the load back to the rotor: what each part takes in less what it gives on
    turning = np.maximum(generator_speed, 1e-300)
    electrical = np.where(generator_speed > 0, state.gap_power, 0.0)
    friction = (machine.friction + machine.viscous * generator_speed) * generator_speed
    passed = electrical + friction
    torque = passed / turning
    stages = {}
    for stage in reversed(train.stages):
        torque = (torque + stage.friction) * stage.step_up / stage.efficiency
        turning = turning / stage.step_up
        stages[stage.name] = torque * turning - passed
        passed = torque * turning
    asked = torque + train.friction
    bearing = train.friction * speed
    used = bearing + passed
    powers = {
        "tower": wind * (free**3 - axial**3),
        "wake": wind * axial**3 - used - blade - rod,
        "blades": blade,
        "rods": rod,
        "bearings": bearing,
        **{name: stages[name] for name in reversed(stages)},
        "generator friction": friction,
        "generator winding": np.where(generator_speed > 0, state.winding_loss, 0.0),
        "rectifier": np.where(generator_speed > 0, state.rectifier_loss, 0.0),
        "load": np.where(generator_speed > 0, state.load_power, 0.0),
    }
    return {name: np.broadcast_to(power, shaft.shape)[:, 0] for name, power in powers.items()}, asked
