"""The plain numbers that a picture of a turbine is drawn from."""

import math

import numpy as np

from whirlbench.actions.report import Report
from whirlbench.errors import WhirlbenchError
from whirlbench.make.base_outline import tower_diameter
from whirlbench.make.blade_outline import ROD_PLACE
from whirlbench.make.drawing import MM
from whirlbench.make.section_outline import section_points
from whirlbench.parts.blade import outline

_STATIONS, _SECTION_POINTS = 9, 28
_PULLEY_WIDTH, _WHEEL_WIDTH = 0.008, 0.006  # [m] for the picture alone; no part says them
_MOTOR = (0.024, 0.032)  # [m] diameter and length of the usual small motor, for the picture alone


class Wheel(Report):
    """A gear or pulley in the picture: place of its middle beside the rotor's axis, radius and width [m]."""

    offset_m: float
    radius_m: float
    place_m: float
    width_m: float


class Figure(Report):
    """What a picture of a turbine needs; lengths in metres, angles in radians."""

    radius_m: float
    inner_radius_m: float
    hub_radius_m: float
    hub_holes: int
    blade_angles_rad: tuple[float, ...]
    pitch_rad: float
    stations: tuple[tuple[float, float, float], ...]
    section: tuple[tuple[float, float], ...]
    rod_place: float
    rod_diameter_m: float | None
    shaft_diameter_m: float
    wheels: tuple[Wheel, ...]
    motor_offset_m: float
    motor_place_m: float
    motor_diameter_m: float
    motor_length_m: float
    tower_height_m: float
    tower_diameter_m: float
    base_width_m: float
    base_height_m: float

    @property
    def axis_height_m(self):
        """Floor to rotor axis [m]."""
        return self.base_height_m + self.tower_height_m


def figure(turbine):
    """Figure of a turbine.

    Parameters
    ----------
    turbine : Turbine
        The parts.

    Returns
    -------
    Figure
        Stations hold radius [m], chord [m] and angle to the rotor plane [rad]; the section is that of the middle of
        the blade over its chord, nose first [-].
    """
    rotor = turbine.rotor
    wheels, offset, place = _wheels(turbine.drivetrain)
    size = _motor(turbine.generator)
    return Figure(
        radius_m=rotor.radius,
        inner_radius_m=rotor.shape.inner_radius,
        hub_radius_m=rotor.hub.radius,
        hub_holes=rotor.hub.holes,
        blade_angles_rad=tuple(2 * math.pi * (hole - 1) / rotor.hub.holes for hole in rotor.holes),
        pitch_rad=rotor.pitch,
        stations=_stations(rotor),
        section=_section(rotor),
        rod_place=ROD_PLACE.get(rotor.section.kind, 0.3),
        rod_diameter_m=rotor.rod.diameter if rotor.rod else None,
        shaft_diameter_m=turbine.bearing.shaft_diameter,
        wheels=wheels,
        motor_offset_m=offset,
        motor_place_m=place,
        motor_diameter_m=size[0],
        motor_length_m=size[1],
        tower_height_m=turbine.tower.height,
        tower_diameter_m=tower_diameter(turbine.tower) / MM,
        base_width_m=turbine.base.width,
        base_height_m=turbine.base.height,
    )


def _stations(rotor):
    shape = rotor.shape
    known = (
        np.linspace(shape.inner_radius, shape.tip_radius, _STATIONS)
        if shape.kind == "straight"
        else np.array([station.radius for station in shape.stations])
    )
    chord, twist = outline(shape, known)
    return tuple(zip(known.tolist(), chord.tolist(), (rotor.pitch + twist).tolist(), strict=True))


def _section(rotor):
    """Outline of the section half way out; a flat plate where its shape is not known."""
    middle = np.array([0.5 * (rotor.shape.inner_radius + rotor.shape.tip_radius)])
    chord = MM * float(outline(rotor.shape, middle)[0][0])
    try:
        points = section_points(rotor.section, chord) / chord
    except WhirlbenchError:
        half = 0.5 * getattr(rotor.section, "thickness_ratio", 0.04)
        points = np.array([(1, half), (0, half), (0, -half), (1, -half)])
    nose = np.flatnonzero(points[:, 0] < points[:, 0].min() + 1e-3)  # both corners of a square edge
    few = np.unique([*np.linspace(0, len(points) - 1, _SECTION_POINTS).round().astype(int), *nose])
    return tuple((round(float(x), 4), round(float(y), 4)) for x, y in points[few])


def _wheels(stages):
    """Wheels of all stages, and where the generator's shaft lies beside and behind the rotor's."""
    found, offset, place = [], 0.0, 0.012
    for stage in stages:
        gears = stage.kind == "gears"
        if gears:
            radii = [0.5 * stage.module * teeth for teeth in (stage.rotor_teeth, stage.generator_teeth)]
            apart, width = stage.centre_distance or sum(radii), _WHEEL_WIDTH
        else:
            radii = [0.5 * stage.rotor_diameter, 0.5 * stage.generator_diameter]
            apart, width = stage.centre_distance, _PULLEY_WIDTH
        for beside, radius in zip((offset, offset + apart), radii, strict=True):
            found.append(Wheel(offset_m=beside, radius_m=radius, place_m=place, width_m=width))
        offset, place = offset + apart, place + 2 * width
    return tuple(found), offset, place


def _motor(generator):
    if generator.kind != "wound":
        return _MOTOR
    across = 2 * max(generator.coil_outer_radius, generator.distance_far)
    return across, max(generator.size)
