"""From rotor shaft to generator shaft: ratios, efficiencies and friction of every stage in every world."""

import functools
from dataclasses import dataclass

import numpy as np

from whirlbench.physics import bearings, belts, gear_friction, gears
from whirlbench.physics.base import GRAVITY

_BEARING_ROWS = {
    "ball": "ball",
    "acetal bush": "acetal_bush",
    "nylon bush": "nylon_bush",
    "brass bush": "brass_dry",
    "oiled brass bush": "brass_oiled",
}
_LAY_SHAFT_LOAD = 2.0  # [N] tooth forces and gear weight on a shaft between stages: common practice
OVERHANG = 1.5  # a rotor beyond its last bearing loads it with more than its weight: common practice
_LEAST = 1e-3  # an efficiency is kept above this, so that a locked train asks for a great torque, not an endless one


@dataclass(frozen=True)
class StageNumbers:
    """One stage in every world.

    Attributes
    ----------
    name : str
        What the energy path calls it.
    step_up : float
        Turns out per turn in, slip included [-].
    efficiency : array, shape (n, 1)
        Power out over power in while running [-].
    start_efficiency : array, shape (n, 1)
        Lowest instantaneous value, which decides the start [-].
    friction, start_friction : array, shape (n, 1)
        Bearing torque of the shaft behind the stage, running and breaking away [N*m].
    """

    name: str
    step_up: float
    efficiency: np.ndarray
    start_efficiency: np.ndarray
    friction: np.ndarray
    start_friction: np.ndarray


@dataclass(frozen=True)
class Train:
    """Rotor bearing and all stages in every world.

    Attributes
    ----------
    stages : tuple of StageNumbers
        From rotor to generator.
    friction, start_friction : array, shape (n, 1)
        Of the rotor's own bearings, running and breaking away [N*m].
    """

    stages: tuple
    friction: np.ndarray
    start_friction: np.ndarray

    @property
    def step_up(self):
        """Generator turns per rotor turn [-]."""
        return float(np.prod([stage.step_up for stage in self.stages]))

    def upstream(self, torque):
        """Torque the rotor must give for a torque at the generator shaft, running.

        Parameters
        ----------
        torque : array, broadcast with (n, 1)
            At the generator shaft [N*m].

        Returns
        -------
        array
            At the rotor shaft [N*m].
        """
        for stage in reversed(self.stages):
            torque = (torque + stage.friction) * stage.step_up / stage.efficiency
        return torque + self.friction

    def breakaway(self, torque):
        """Torque the rotor must give to break the train away from rest.

        Parameters
        ----------
        torque : array, broadcast with (n, 1)
            Breakaway torque of the generator [N*m].

        Returns
        -------
        array
            At the rotor shaft [N*m].
        """
        for stage in reversed(self.stages):
            torque = (torque + stage.start_friction) * stage.step_up / stage.start_efficiency
        return torque + self.start_friction


def train(turbine, rotor_mass, worlds):
    """Rotor bearing and drivetrain of a turbine as numbers.

    Parameters
    ----------
    turbine : Turbine
        The turbine.
    rotor_mass : float
        Hub and blades [kg].
    worlds : Worlds
        The believed worlds.

    Returns
    -------
    Train
        Arrays of one row a world.

    Raises
    ------
    OutOfRange
        Gears that cannot mesh at all.
    """
    friction, teeth = worlds.factor("friction"), worlds.factor("teeth")
    stages = tuple(
        _stage(stage, number + 1, last=number + 1 == len(turbine.drivetrain), friction=friction, teeth=teeth)
        for number, stage in enumerate(turbine.drivetrain)
    )
    pull = 2 * turbine.drivetrain[0].tension if turbine.drivetrain and turbine.drivetrain[0].kind == "belt" else 0.0
    running = bearing_friction(turbine.bearing, OVERHANG * rotor_mass * GRAVITY + pull).number * friction
    return Train(stages, running, bearings.START_UP.number * running)


def bearing_friction(bearing, load):
    """Running friction of a shaft's bearings.

    Parameters
    ----------
    bearing : Bearing
        What the shaft turns in.
    load : float
        Radial load [N].

    Returns
    -------
    Value
        Torque [N*m].
    """
    if bearing.kind == "measured":
        return bearing.friction
    return bearings.running_torque(_BEARING_ROWS[bearing.kind], load, bearing.shaft_diameter)


@functools.lru_cache(maxsize=4096)
def mesh(stage):
    """Geometry of a stage of gears.

    Parameters
    ----------
    stage : GearStage
        The stage.

    Returns
    -------
    GearMesh
        Its smaller gear as the pinion.
    """
    small_is_out = stage.generator_teeth <= stage.rotor_teeth
    teeth = (stage.generator_teeth, stage.rotor_teeth)
    shift = (stage.generator_shift, stage.rotor_shift)
    if not small_is_out:
        teeth, shift = teeth[::-1], shift[::-1]
    return gears.gear_mesh(
        *teeth, stage.module, pinion_shift=shift[0], wheel_shift=shift[1], centre_distance=stage.centre_distance
    )


def step_up(stage):
    """Turns out of a stage per turn in, slip included.

    Parameters
    ----------
    stage : GearStage or BeltStage
        The stage.

    Returns
    -------
    float
        [-].
    """
    if stage.kind == "gears":
        return stage.step_up
    return belts.speed_ratio(
        stage.rotor_diameter, stage.generator_diameter, belt_thickness=stage.thickness, slip=stage.slip
    )


def label(stage):
    """Short name of a stage for tables and moves.

    Parameters
    ----------
    stage : GearStage or BeltStage
        The stage.

    Returns
    -------
    str
        Such as ``gears 64:8`` or ``round belt 100:20 mm``.
    """
    if stage.kind == "gears":
        return f"gears {stage.rotor_teeth}:{stage.generator_teeth}"
    return f"{stage.belt} belt {stage.rotor_diameter * 1000:.0f}:{stage.generator_diameter * 1000:.0f} mm"


def _stage(stage, number, *, last, friction, teeth):
    running, worst = efficiencies(stage, teeth)
    if stage.bearing is not None:
        shaft = bearing_friction(stage.bearing, _LAY_SHAFT_LOAD).number * friction
    elif not last:
        shaft = bearings.running_torque("acetal_bush", _LAY_SHAFT_LOAD, 0.003).number * friction
    else:
        shaft = np.zeros_like(friction)  # the generator's own bearings count with the generator
    return StageNumbers(
        name=f"stage {number}: {label(stage)}",
        step_up=float(step_up(stage)),
        efficiency=np.maximum(running, _LEAST),
        start_efficiency=np.maximum(worst, _LEAST),
        friction=shaft,
        start_friction=bearings.START_UP.number * shaft,
    )


def efficiencies(stage, teeth):
    """Running and lowest efficiency of a stage.

    Parameters
    ----------
    stage : GearStage or BeltStage
        The stage.
    teeth : array
        Factors on the friction of teeth or on the loss of a belt [-].

    Returns
    -------
    tuple of array, shape of ``teeth``
        While running, and at the worst moment, which decides the start [-].
    """
    if stage.kind == "belt":
        loss = (1 - belts.belt_efficiency(stage.belt).number) * teeth
        running = np.clip(1 - loss, 0.3, 1.0) * (1 - stage.slip)
        return running, running
    friction = np.minimum(gear_friction.tooth_friction(stage.teeth).number * teeth, 1.0)
    driver = "wheel" if stage.rotor_teeth >= stage.generator_teeth else "pinion"
    found = gear_friction.mesh_efficiency(mesh(stage), friction, driver)
    return found.mean, found.worst
