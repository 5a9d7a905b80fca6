"""Field of one bare magnet in air.

Every magnet here points its north face along x, in its own frame, with the origin at its centre. There is no iron:
a back plate, a steel shaft or a laminated core near the magnet or the coil makes these fields wrong, most often by
tens of per cent, and the model does not apply. Recoil permeability (1.05) is taken as 1.
"""

import math

import numpy as np

from whirlbench import tables
from whirlbench.errors import within
from whirlbench.value import Value

_STRIPS = 256  # around a cylinder; the sum is exact to rounding from about a tenth of the radius away
_EDGE = 1e-12  # [m] keeps the logarithm finite on the extension of an edge
_TEMPERATURE_SLOPE = -0.0012  # [1/K] of remanence, head of tables/generator/ndfeb_grades.csv
_ROOM = 293.15  # [K]


def remanence(grade, temperature=_ROOM):
    """Remanence of a sintered neodymium grade.

    Parameters
    ----------
    grade : str
        Grade such as ``"N42"``.
    temperature : float
        Temperature of the magnet [K].

    Returns
    -------
    Value
        Middle of the maker's band and the standard deviation of an even spread over it [T].

    Raises
    ------
    UnknownKey
        A grade that is not in the table.
    OutOfRange
        A temperature outside 250 to 353 K: over 80 degC the magnet loses strength for good.

    Notes
    -----
    Other makers' bands differ by up to 0.03 T. Cheap magnets without a printed grade may be weaker.

    References
    ----------
    .. [1] A magnet maker's grade table, tables/generator/ndfeb_grades.csv.
    """
    within("magnet temperature", temperature, low=250, high=353.15, unit="K", try_="add 273.15 to a reading in °C")
    table = tables.load("generator/ndfeb_grades")
    row = table.find("magnet grade", grade=grade)
    warm = 1.0 + _TEMPERATURE_SLOPE * (temperature - _ROOM)
    middle, width = (row.Br_min_T + row.Br_max_T) / 2.0, row.Br_max_T - row.Br_min_T
    return Value(middle * warm, width / math.sqrt(12.0) * warm, table.source)


def cylinder_axis_field(gap, *, remanence, diameter, length):
    """Flux density on the axis of an axially magnetised cylinder.

    Parameters
    ----------
    gap : float or array
        Distance from the face [m].
    remanence : float
        Remanence [T].
    diameter, length : float
        Size of the magnet [m].

    Returns
    -------
    float or array
        Flux density along the axis [T].

    Raises
    ------
    OutOfRange
        A negative gap, or a size or remanence that no magnet of this use has.

    References
    ----------
    .. [1] Magnet makers' answers pages, B = Br/2 [(L+z)/sqrt(R^2+(L+z)^2) - z/sqrt(R^2+z^2)].
    """
    _check(remanence, diameter, length)
    within("gap to the face", gap, low=0, high=10, unit="m", try_="count from the face, away from the magnet")
    radius, far = diameter / 2.0, gap + length
    return remanence / 2.0 * (far / np.hypot(radius, far) - gap / np.hypot(radius, gap))


def cuboid_field(position, *, remanence, size):
    """Flux density of a block magnet, magnetised along x, anywhere.

    Parameters
    ----------
    position : array, shape (..., 3)
        Points in the frame of the magnet [m].
    remanence : float
        Remanence [T].
    size : sequence of 3 floats
        Full edges along x, y and z [m].

    Returns
    -------
    array, shape (..., 3)
        Flux density [T].

    Raises
    ------
    OutOfRange
        A size or remanence that no magnet of this use has.

    Notes
    -----
    Two charged rectangles, at the north and the south face; remanence is added inside. No iron nearby.

    References
    ----------
    .. [1] Closed arctan and log form, from memory; checked against an independent library at test time.
    """
    _check(remanence, *size)
    position, half = np.asarray(position, dtype=float), np.asarray(size, dtype=float) / 2.0
    field = np.zeros(position.shape)
    for corner in np.ndindex(2, 2, 2):
        x, y, z = np.moveaxis(position + half * (1 - 2 * np.array(corner)), -1, 0)
        sign = (-1) ** sum(corner)
        distance = np.sqrt(x**2 + y**2 + z**2)
        side = np.where(x < 0, -1.0, 1.0)
        field[..., 0] -= sign * np.arctan2(side * y * z, np.abs(x) * distance)
        field[..., 1] += sign * np.arcsinh(z / np.maximum(np.hypot(x, y), _EDGE))
        field[..., 2] += sign * np.arcsinh(y / np.maximum(np.hypot(x, z), _EDGE))
    field *= remanence / (4.0 * math.pi)
    field[..., 0] += remanence * (np.abs(position) < half).all(axis=-1)
    return field


def diametric_cylinder_field(position, *, remanence, diameter, length):
    """Flux density outside a cylinder along z, magnetised across it, along x.

    Parameters
    ----------
    position : array, shape (..., 3)
        Points in the frame of the magnet, outside it [m].
    remanence : float
        Remanence [T].
    diameter, length : float
        Size of the magnet [m].

    Returns
    -------
    array, shape (..., 3)
        Flux density [T].

    Raises
    ------
    OutOfRange
        A point inside the magnet or closer to it than 3 % of its radius, where the sum is coarse.

    Notes
    -----
    Magnetic charge on the side, proportional to the cosine of the angle: each of 256 strips along z in closed
    form, then a sum around. No iron nearby.

    References
    ----------
    .. [1] Coulomb model of a uniformly magnetised body, any text on magnetostatics.
    """
    _check(remanence, diameter, length)
    position, radius = np.asarray(position, dtype=float), diameter / 2.0
    beside = np.maximum(np.hypot(position[..., 0], position[..., 1]) - radius, 0.0)
    above = np.maximum(np.abs(position[..., 2]) - length / 2.0, 0.0)
    _check_gap(np.hypot(beside, above), radius)
    x, y, cosine, _, away, along = _strips(position, radius, length)
    # Br/(4 pi) times the charge of a strip, 2 pi R cosine / strips
    parts = [(cosine * away * x).mean(0), (cosine * away * y).mean(0), (cosine * along).mean(0)]
    return remanence * radius / 2.0 * np.stack(parts, axis=-1)


def axial_cylinder_field(position, *, remanence, diameter, length):
    """Flux density of a cylinder along x, magnetised along x, on and off its axis.

    Parameters
    ----------
    position : array, shape (..., 3)
        Points in the frame of the magnet [m].
    remanence : float
        Remanence [T].
    diameter, length : float
        Size of the magnet [m].

    Returns
    -------
    array, shape (..., 3)
        Flux density [T].

    Raises
    ------
    OutOfRange
        A point closer to the curved side than 3 % of the radius, where the sum is coarse.

    Notes
    -----
    Current sheet on the side: each of 256 strips in closed form, then a sum around. No iron nearby.

    References
    ----------
    .. [1] Ampere model of a uniformly magnetised body, any text on magnetostatics.
    """
    _check(remanence, diameter, length)
    position, radius = np.asarray(position, dtype=float)[..., [1, 2, 0]], diameter / 2.0
    beside = np.hypot(position[..., 0], position[..., 1]) - radius
    above = np.maximum(np.abs(position[..., 2]) - length / 2.0, 0.0)
    _check_gap(np.hypot(beside, above), radius)
    x, y, cosine, sine, away, along = _strips(position, radius, length)
    parts = [(-(cosine * x + sine * y) * away).mean(0), (cosine * along).mean(0), (sine * along).mean(0)]
    return remanence * radius / 2.0 * np.stack(parts, axis=-1)


def _strips(position, radius, length):
    """Offsets from strips along z to points, and the strips' inverse-square pull; strips come first.

    The last two are the integrals over a strip of 1/distance^3 and of rise/distance^3.
    """
    around = 2.0 * math.pi * (np.arange(_STRIPS) + 0.5) / _STRIPS
    around = around.reshape(-1, *[1] * (position.ndim - 1))
    cosine, sine = np.cos(around), np.sin(around)
    x, y = position[..., 0] - radius * cosine, position[..., 1] - radius * sine
    top, bottom = position[..., 2] - length / 2.0, position[..., 2] + length / 2.0
    square = x**2 + y**2
    to_top, to_bottom = np.sqrt(square + top**2), np.sqrt(square + bottom**2)
    away = (bottom / to_bottom - top / to_top) / square
    return x, y, cosine, sine, away, 1.0 / to_top - 1.0 / to_bottom


def _check(remanence, *size):
    within("remanence", remanence, low=0.05, high=1.6, unit="T", try_="1.2 T for N35, 1.3 T for N42 neodymium")
    within("magnet size", size, low=5e-4, high=0.3, unit="m", try_="20 mm is 0.02 m")


def _check_gap(gap, radius):
    within("gap to the magnet", gap, low=0.03 * radius, high=10, unit="m", try_="keep the coil clear of the magnet")
