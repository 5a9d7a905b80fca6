"""From blades as parts to blades as numbers: polars, stations, masses."""

import functools
from dataclasses import dataclass

import numpy as np

from whirlbench import tables
from whirlbench.parts.blade import outline
from whirlbench.physics import airfoil, rod, sheet, user_polar
from whirlbench.physics.rotor import CYLINDER_DRAG, FAIRED_DRAG, RotorShape

STATIONS = 30
_REPRESENTATIVE = 0.7  # of the blade's length: where most of the power is made


@dataclass(frozen=True)
class BladeMass:
    """Mass of one blade with its rod, from geometry and material or as weighed.

    Attributes
    ----------
    mass : float
        [kg].
    mass_radius : float
        Axis to the balance point [m].
    inertia : float
        About the rotor axis [kg*m^2].
    """

    mass: float
    mass_radius: float
    inertia: float


def section_polar(section, shape, flow):
    """Polar table of a blade's section.

    Parameters
    ----------
    section : Sheet, Airfoil or OwnPolar
        The section.
    shape : Straight or Curved
        The blade's shape: sets thickness over chord of a sheet, and the aspect ratio.
    flow : str
        ``turbulent`` or ``smooth``.

    Returns
    -------
    PolarTable
        Lift and drag with the doubt that belongs to them.
    """
    length = shape.tip_radius - shape.inner_radius
    chord = float(outline(shape, np.array([shape.inner_radius + _REPRESENTATIVE * length]))[0][0])
    aspect = round(length / chord, 3)
    if section.kind == "sheet":
        return _sheet(round(section.thickness / chord, 6), section.camber, section.edge, aspect)
    if section.kind == "airfoil":
        stream = "fan" if flow == "turbulent" else "smooth tunnel"
        return _airfoil(section.name, section.four_digits, stream, aspect)
    return _own(section.file, section.thickness_ratio, aspect)


def rotor_shape(rotor, flow, stations=STATIONS):
    """Numbers of a rotor for the blade-element balance.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.
    flow : str
        ``turbulent`` or ``smooth``.
    stations : int
        Stations along the blade.

    Returns
    -------
    RotorShape
        As ``physics.rotor`` takes it.
    """
    shape = rotor.shape
    edges = np.linspace(shape.inner_radius, shape.tip_radius, stations + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    chord, twist = outline(shape, middle)
    seen = rotor.rod is not None and shape.inner_radius > rotor.hub.radius
    drag = FAIRED_DRAG if seen and rotor.rod.faired else CYLINDER_DRAG
    return RotorShape(
        radius=shape.tip_radius,
        root_radius=shape.inner_radius,
        blade_count=rotor.blade_count,
        station_radius=middle,
        station_width=np.diff(edges),
        chord=chord,
        pitch=rotor.pitch + twist,
        polars=(section_polar(rotor.section, shape, flow),),
        polar_index=np.zeros(stations, dtype=np.int64),
        rod_from=rotor.hub.radius if seen else 0.0,
        rod_to=shape.inner_radius if seen else 0.0,
        rod_diameter=rotor.rod.diameter if seen else 0.0,
        rod_drag=drag.number,
    )


def blade_mass(rotor):
    """Mass, balance point and inertia of one blade with its rod.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades; weighed blades overrule the material tables.

    Returns
    -------
    BladeMass
        Of the mean blade.

    Raises
    ------
    UnknownKey
        A material that no table knows.
    """
    shape, section = rotor.shape, rotor.section
    edges = np.linspace(shape.inner_radius, shape.tip_radius, STATIONS + 1)
    middle, width = 0.5 * (edges[1:] + edges[:-1]), np.diff(edges)
    chord, _ = outline(shape, middle)
    if section.kind == "sheet":
        pieces = chord * width * section.thickness * _density("rotor > section > material", section.material)
    else:
        pieces = (
            _solid_area(section)
            * chord**2
            * width
            * section.fill
            * _density("rotor > section > material", section.material)
        )
    mass, moment, inertia = pieces.sum(), pieces @ middle, pieces @ middle**2
    if rotor.rod is not None:
        inner = rotor.hub.radius - rotor.rod.socket_depth
        outer = shape.inner_radius + 0.5 * (shape.tip_radius - shape.inner_radius)  # glued along the inner half
        per_length = rod.rod_area(rotor.rod.diameter) * _density("rotor > rod > material", rotor.rod.material)
        mass = mass + per_length * (outer - inner)
        moment = moment + per_length * (outer**2 - inner**2) / 2
        inertia = inertia + per_length * (outer**3 - inner**3) / 3
    radius = rotor.mass_radius or moment / mass
    inertia = inertia * (radius * mass / moment) ** 2  # as if the blade were stretched until it balances there
    if rotor.weighed:
        weighed = float(np.mean(rotor.weighed))
        inertia = inertia * weighed / mass
        mass = weighed
    return BladeMass(float(mass), float(radius), float(inertia))


def rotor_inertia(rotor):
    """Inertia of hub and blades about the rotor axis.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.

    Returns
    -------
    float
        [kg*m^2].
    """
    return rotor.blade_count * blade_mass(rotor).inertia + 0.5 * rotor.hub.mass * rotor.hub.radius**2


def _solid_area(section):
    """Area of a section over its chord squared: 0.685 t, the 4-digit thickness form."""
    if section.kind == "own polar":
        return 0.685 * section.thickness_ratio
    if section.four_digits:
        return 0.685 * int(section.name[2:]) / 100
    return 0.685 * tables.load("sections/catalogue").find(name=section.name).thickness_ratio


def _density(what, material):
    return tables.load("materials/density").find(what, name=material).density_kg_per_m3


@functools.lru_cache(maxsize=512)
def _sheet(thickness_ratio, camber, edge, aspect):
    return sheet.sheet_polar(thickness_ratio, camber, edge, aspect)


@functools.lru_cache(maxsize=512)
def _airfoil(name, four_digits, flow, aspect):
    if four_digits:
        digits = int(name[0]) / 100, int(name[1]) / 10 or 0.4, int(name[2:]) / 100
        return airfoil.naca4_polar(*digits, flow=flow, aspect_ratio=aspect)
    return airfoil.airfoil_polar(name, flow, aspect_ratio=aspect)


@functools.lru_cache(maxsize=64)
def _own(file, thickness_ratio, aspect):
    return user_polar.user_polar(file, thickness_ratio=thickness_ratio, aspect_ratio=aspect)
