"""Tower and base as numbers: how far the rotor leans, what makes it slide or tip, where it shakes."""

from dataclasses import dataclass

import numpy as np

from whirlbench import tables
from whirlbench.physics import base, tower
from whirlbench.value import Value

# joints without a measurement: no published stiffness was found, so a wide doubt (judgement)
_JOINTS = {
    "dry": Value(25.0, 15.0, "judgement: a dry pushed-in pipe joint; measure it with a sideways pull"),
    "glued": Value(400.0, 200.0, "judgement: a glued pipe joint"),
    "clamped": Value(1e6, 0.0, "taken as stiff"),
}
_MOST_TILT = 0.45  # [rad] beyond it small-angle bending ends and the tower is falling


@dataclass(frozen=True)
class Stand:
    """Tower and base of a turbine.

    Attributes
    ----------
    height : float
        Foot joint to rotor axis [m].
    axis_height : float
        Floor to rotor axis [m].
    bending_stiffness : float
        Of the tube [N*m^2].
    tube_mass, top_mass, base_mass : float
        Tube; nacelle and rotor; base with ballast [kg].
    outer_diameter, second_moment : float
        Of the tube [m], [m^4].
    joint : Value
        Stiffness of the foot joint [N*m/rad].
    free_play : float
        Turn of the joint before it carries [rad].
    grip : Value
        Friction coefficient of base on floor [-].
    base_width : float
        Along the wind [m].
    held : bool
        Clamped or screwed down.
    """

    height: float
    axis_height: float
    bending_stiffness: float
    tube_mass: float
    top_mass: float
    base_mass: float
    outer_diameter: float
    second_moment: float
    joint: Value
    free_play: float
    grip: Value
    base_width: float
    held: bool

    @property
    def mass(self):
        """Everything that presses on the floor [kg]."""
        return self.tube_mass + self.top_mass + self.base_mass

    def tilt(self, thrust, worlds):
        """Tilt of the rotor axis under a thrust.

        Parameters
        ----------
        thrust : array, broadcast with (n, 1)
            [N].
        worlds : Worlds
            The believed worlds.

        Returns
        -------
        array
            [rad], held at 0.45.
        """
        stiffness = self.joint.number * worlds.factor("joint")
        per_newton = self.height**2 / (2 * self.bending_stiffness) + self.height / stiffness
        return np.minimum(np.maximum(thrust, 0.0) * per_newton + self.free_play * (thrust > 0), _MOST_TILT)

    def sliding_safety(self, thrust, worlds):
        """Grip over thrust; endless where the base is held.

        Parameters
        ----------
        thrust : array, broadcast with (n, 1)
            [N].
        worlds : Worlds
            The believed worlds.

        Returns
        -------
        array
            Below 1 the stand slides [-].
        """
        if self.held:
            return np.full_like(thrust, np.inf)
        return self.grip.number * worlds.factor("grip") * self.mass * base.GRAVITY / np.maximum(thrust, 1e-9)

    def tipping_safety(self, thrust):
        """Righting over overturning moment; endless where the base is held.

        Parameters
        ----------
        thrust : array
            [N].

        Returns
        -------
        array
            Below 1 the stand tips [-].
        """
        if self.held:
            return np.full_like(thrust, np.inf)
        righting = self.mass * base.GRAVITY * self.base_width / 2
        return righting / (np.maximum(thrust, 1e-9) * self.axis_height)

    def natural_frequency(self):
        """First bending frequency with the joint as believed.

        Returns
        -------
        float
            [Hz].
        """
        return float(
            tower.natural_frequency(
                self.height,
                self.bending_stiffness,
                self.top_mass,
                tube_mass=self.tube_mass,
                joint_stiffness=self.joint.number,
            )
        )


def stand(tower_part, base_part):
    """Numbers of a tower on its base.

    Parameters
    ----------
    tower_part : Tower
        The tower.
    base_part : Base
        The base.

    Returns
    -------
    Stand
        Numbers with doubt where they have one.

    Raises
    ------
    UnknownKey
        A pipe or surface that no table knows.
    """
    outer, inner, modulus, density = _tube(tower_part.tube)
    second_moment = tower.tube_second_moment(outer, inner)
    joint = tower_part.joint_stiffness or _JOINTS[tower_part.joint]
    return Stand(
        height=tower_part.height,
        axis_height=tower_part.height + base_part.height,
        bending_stiffness=modulus * second_moment,
        tube_mass=tower.tube_mass(tower_part.height, outer, inner, density=density),
        top_mass=tower_part.top_mass,
        base_mass=base_part.mass + base_part.ballast,
        outer_diameter=outer,
        second_moment=second_moment,
        joint=joint,
        free_play=abs(tower_part.free_play) if tower_part.joint == "dry" else 0.0,
        grip=base_part.friction or base.friction_coefficient(base_part.surface),
        base_width=base_part.width,
        held=base_part.held,
    )


def _tube(tube):
    """Outer and inner diameter [m], modulus [Pa] and density [kg/m^3]."""
    if tube.kind == "tube":
        return tube.outer_diameter, tube.inner_diameter, tube.modulus, tube.density
    row = tables.load("tower/pvc_pipe").find("tower > tube > nominal", nominal=tube.nominal)
    pvc = tables.load("tower/structural_materials").find(material="PVC pipe 12454")
    return row.OD_mm * 1e-3, row.ID_average_mm * 1e-3, pvc.E_GPa * 1e9, pvc.density_kg_per_m3
