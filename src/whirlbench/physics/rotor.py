"""A rotor in steady wind: torque and thrust over tip-speed ratio, on both branches, and at standstill."""

import itertools
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace

import numpy as np

from whirlbench.errors import within
from whirlbench.physics import rotor_kernel
from whirlbench.value import Value

FAIRED_DRAG = Value(0.3, 0.1, "from memory: a faired strut at Re 1e3 to 1e4 drags a third of a bare rod or less")
CYLINDER_DRAG = Value(1.1, 0.15, "from memory: handbook curve of a circular cylinder, Re 1e3 to 1e5")
_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(8)


@dataclass(frozen=True)
class RotorShape:
    """Numbers that describe a rotor to the blade-element balance.

    Attributes
    ----------
    radius : float
        Axis to blade tip [m].
    root_radius : float
        Axis to the inner end of the blades [m]; root loss is counted from here.
    blade_count : int
        1 to 12.
    station_radius, station_width, chord, pitch : array, shape (m,)
        Middle, width [m], chord [m] and angle from the rotor plane [rad] of each station.
    polars : tuple of PolarTable
        Section polars in use; all on one angle and Re grid.
    polar_index : array of int, shape (m,)
        Which polar each station uses.
    rod_from, rod_to, rod_diameter : float
        Radii between which a bare round rod carries the blade, and its diameter [m]; diameter 0 is no rod.
    rod_drag : float
        Drag coefficient of the rod [-].
    tip_loss, root_loss : bool
        Prandtl's factors on or off.
    """

    radius: float
    root_radius: float
    blade_count: int
    station_radius: np.ndarray
    station_width: np.ndarray
    chord: np.ndarray
    pitch: np.ndarray
    polars: tuple
    polar_index: np.ndarray
    rod_from: float = 0.0
    rod_to: float = 0.0
    rod_diameter: float = 0.0
    rod_drag: float = CYLINDER_DRAG.number
    tip_loss: bool = True
    root_loss: bool = True

    @property
    def solidity(self):
        """Blade area over disc area [-]."""
        return self.blade_count * float(self.chord @ self.station_width) / (np.pi * self.radius**2)


@dataclass(frozen=True)
class RotorCurve:
    """Coefficients of a rotor over tip-speed ratio at one wind speed.

    Attributes
    ----------
    tip_speed_ratio : array, shape (n,)
        Tip-speed ratios [-].
    torque, thrust : array, shape (2, n)
        Torque and thrust coefficients, row 0 the running branch, row 1 the starting branch [-].
    blade_drag, rod_drag : array, shape (2, n)
        Torque coefficients lost to the drag of the sections and of the bare rods [-].
    unresolved : array, shape (2, n)
        Stations without a solution.
    """

    tip_speed_ratio: np.ndarray
    torque: np.ndarray
    thrust: np.ndarray
    blade_drag: np.ndarray
    rod_drag: np.ndarray
    unresolved: np.ndarray = field(repr=False)

    @property
    def power(self):
        """Power coefficient, shape (2, n) [-]."""
        return self.torque * self.tip_speed_ratio


def rotor_curve(shape, wind_speed, tip_speed_ratios, *, air_density, air_viscosity):
    """Coefficients of a rotor at one wind speed.

    Parameters
    ----------
    shape : RotorShape
        The rotor.
    wind_speed : float
        Wind at the disc with the rotor away [m/s].
    tip_speed_ratios : array, shape (n,)
        Tip-speed ratios, 0 or more [-].
    air_density, air_viscosity : float
        [kg/m^3], [Pa*s].

    Returns
    -------
    RotorCurve
        Both branches: ``running`` comes down from high speed, ``starting`` comes up from rest.

    Raises
    ------
    OutOfRange
        Wind outside 0.1-60 m/s, a negative tip-speed ratio, or more than 12 blades.

    Notes
    -----
    Blade elements with Prandtl tip and root loss, wake swirl, drag kept in the induction, and the high-thrust
    relation above a = 0.4. Above a solidity of about 0.5 or 8 blades isolated-section polars and annulus
    momentum lose their footing: no published check exists there.

    References
    ----------
    .. [1] S. A. Ning, Wind Energy 17(9):1327, 2014.
    .. [2] M. L. Buhl, NREL/TP-500-36834, 2005.
    """
    grid = np.ascontiguousarray(tip_speed_ratios, dtype=float)
    within("wind speed", wind_speed, low=0.1, high=60, unit="m/s", try_="a wind between 0.1 and 60 m/s")
    within("tip-speed ratio", grid, low=0, high=40, unit="", try_="tip-speed ratios from 0 to 40")
    within("number of blades", shape.blade_count, low=1, high=12, unit="", try_="1 to 12 blades")
    places = np.column_stack([shape.station_radius, shape.station_width]) / shape.radius
    log_re = np.log(air_density * wind_speed * shape.chord / air_viscosity)
    which = np.ascontiguousarray(shape.polar_index, dtype=np.int64)
    out = rotor_kernel.rotor_coefficients(grid, places, _stations(shape), log_re, which, kernel_polars(shape.polars))
    rod_thrust, rod_torque = _rod_coefficients(shape, grid)
    rod = np.broadcast_to(rod_torque, (2, grid.size))
    return RotorCurve(grid, out[:, :, 1] - rod, out[:, :, 0] + rod_thrust, out[:, :, 2], rod, out[:, :, 3])


def rotor_curves(shapes, wind_speeds, tip_speed_ratios, *, air_density, air_viscosity):
    """Coefficients of many rotors, each at its own wind speed, on every core.

    Parameters
    ----------
    shapes : sequence of RotorShape, length k
        The rotors.
    wind_speeds : sequence of float, length k
        [m/s].
    tip_speed_ratios : array, shape (n,)
        [-].
    air_density, air_viscosity : float or sequence of float, length k
        [kg/m^3], [Pa*s].

    Returns
    -------
    list of RotorCurve
        In the order of ``shapes``.

    Raises
    ------
    OutOfRange
        As ``rotor_curve``.
    """
    count = len(shapes)
    density = np.broadcast_to(air_density, count)
    viscosity = np.broadcast_to(air_viscosity, count)

    def some(chosen):
        return [
            rotor_curve(
                shapes[i],
                float(wind_speeds[i]),
                tip_speed_ratios,
                air_density=float(density[i]),
                air_viscosity=float(viscosity[i]),
            )
            for i in chosen
        ]

    if count < 8:
        return some(range(count))
    cores = os.cpu_count() or 1
    with ThreadPoolExecutor(cores) as pool:  # the kernel holds no lock
        return list(itertools.chain.from_iterable(pool.map(some, np.array_split(np.arange(count), cores))))


def standstill_torque_coefficient(shape, wind_speed, *, air_density, air_viscosity):
    """Torque coefficient of a rotor held still, without induction.

    Parameters
    ----------
    shape : RotorShape
        The rotor.
    wind_speed : float
        [m/s].
    air_density, air_viscosity : float
        [kg/m^3], [Pa*s].

    Returns
    -------
    float
        Torque over dynamic pressure times disc area times radius [-].

    Notes
    -----
    The air meets every section square to the rotor plane. With induction the kernel gives 0.6-0.8 of this;
    measured rotors start earlier than this form says [1]_, so the form without induction is used to start.

    References
    ----------
    .. [1] D. H. Wood, Wind Engineering, 2001, doi 10.1260/0309524011495926 (abstract read).
    """
    reynolds = air_density * wind_speed * shape.chord / air_viscosity
    lift = np.empty(shape.chord.size)
    for i, polar in enumerate(shape.polars):
        at = shape.polar_index == i
        lift[at], _ = polar.at(np.pi / 2 - shape.pitch[at], reynolds[at])
    moment = lift * shape.chord * shape.station_radius * shape.station_width
    return float(shape.blade_count * moment.sum() / (np.pi * shape.radius**3))


def adjusted(shape, *, lift=1.0, drag=1.0, stall=1.0, angle=0.0):
    """Return the same rotor with its section and the set of its blades moved: one believed world.

    Parameters
    ----------
    shape : RotorShape
        The rotor.
    lift, drag, stall : float
        Factors on attached lift, drag and the angle of stall [-].
    angle : float
        Turn of all blades out of the rotor plane [rad].

    Returns
    -------
    RotorShape
        New shape.
    """
    polars = tuple(polar.adjusted(lift=lift, drag=drag, stall=stall) for polar in shape.polars)
    return replace(shape, polars=polars, pitch=shape.pitch + angle)


def kernel_polars(polars):
    """Section polars in the form the kernel takes.

    Parameters
    ----------
    polars : sequence of PolarTable, length p
        All on one angle and Re grid.

    Returns
    -------
    tuple
        Cell index over the circle, angles (k,) [rad], first ln(Re), its step, lift and ln(drag) (p, q, k).
    """
    degrees = polars[0].alpha_deg
    finest = np.diff(degrees).min()  # every knot is a multiple of it, so one look-up finds the cell
    middles = np.arange(-180 + finest / 2, 180, finest)
    cell_of = (np.searchsorted(degrees, middles) - 1).astype(np.int64)
    log_re = polars[0].log_reynolds
    lift = np.stack([polar.cl for polar in polars])
    log_drag = np.log(np.stack([polar.cd for polar in polars]))
    return cell_of, np.radians(degrees), float(log_re[0]), float(log_re[1] - log_re[0]), lift, log_drag


def _stations(shape):
    radius, chord = shape.station_radius, shape.chord
    half = 0.5 * shape.blade_count
    solidity = shape.blade_count * chord / (2 * np.pi * radius)
    tip = half * (shape.radius - radius) / radius if shape.tip_loss else np.full(radius.size, -1.0)
    rooted = shape.root_loss and shape.root_radius > 0
    root = half * (radius - shape.root_radius) / shape.root_radius if rooted else np.full(radius.size, -1.0)
    return np.column_stack([shape.pitch, solidity, tip, root])


def _rod_coefficients(shape, grid):
    """Thrust and (lost) torque coefficients of the bare rods, no induction."""
    if shape.rod_diameter <= 0 or shape.rod_to <= shape.rod_from:
        return np.zeros(grid.size), np.zeros(grid.size)
    a, b = shape.rod_from / shape.radius, shape.rod_to / shape.radius
    x = 0.5 * (a + b) + 0.5 * (b - a) * _GAUSS_X
    weight = 0.5 * (b - a) * _GAUSS_W
    scale = shape.blade_count * shape.rod_drag * shape.rod_diameter / (np.pi * shape.radius)
    speed = np.sqrt(1 + np.outer(grid, x) ** 2)
    return scale * (speed @ weight), scale * grid * (speed @ (weight * x**2))
