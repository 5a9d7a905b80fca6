"""What solids are built of: prisms, lofts, rods and turned bodies, added or cut, in millimetres.

A list of features is the one source of a solid's geometry: the mesh is made from it here, the STEP file from the same.
"""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.make.mesh import Mesh, from_manifold, to_manifold

_SAGITTA = 0.004  # [mm] how far a chord may run inside its circle


@dataclass(frozen=True, eq=False)
class Prism:
    """A flat outline pulled along z.

    Attributes
    ----------
    outline : shapely Polygon
        In x and y, holes allowed [mm].
    bottom, top : float
        [mm].
    """

    outline: object
    bottom: float
    top: float


@dataclass(frozen=True, eq=False)
class Loft:
    """A skin over closed rings of equally many points, closed flat at both ends.

    Attributes
    ----------
    rings : array, shape (m, n, 3)
        Rings along the loft, each in one plane, the last point not repeated [mm].
    corners : tuple of int
        Points of a ring where its outline is split into edges, such as nose and tail.
    """

    rings: np.ndarray
    corners: tuple = (0,)


@dataclass(frozen=True)
class Rod:
    """A round rod between two points, or a cone.

    Attributes
    ----------
    start, end : tuple of float
        Middle of each end [mm].
    diameter : float
        At the start [mm].
    end_diameter : float or None
        At the end; None for the same [mm].
    """

    start: tuple
    end: tuple
    diameter: float
    end_diameter: float | None = None


@dataclass(frozen=True, eq=False)
class Turned:
    """A profile turned about the z axis.

    Attributes
    ----------
    profile : array, shape (n, 2)
        Distance from the axis and z of each corner [mm].
    """

    profile: np.ndarray


@dataclass(frozen=True)
class Step:
    """One step of building.

    Attributes
    ----------
    way : str
        ``add`` or ``cut``.
    feature : Prism, Loft, Rod or Turned
        What is added or cut.
    """

    way: str
    feature: object


def add(feature):
    """Step that adds a feature.

    Parameters
    ----------
    feature : Prism, Loft, Rod or Turned
        The feature.

    Returns
    -------
    Step
        The step.
    """
    return Step("add", feature)


def cut(feature):
    """Step that cuts a feature away.

    Parameters
    ----------
    feature : Prism, Loft, Rod or Turned
        The feature.

    Returns
    -------
    Step
        The step.
    """
    return Step("cut", feature)


def built(steps, name):
    """Mesh of steps done one after the other.

    Parameters
    ----------
    steps : sequence of Step
        The first adds.
    name : str
        What to call it in an error.

    Returns
    -------
    Mesh
        Watertight.

    Raises
    ------
    InputError
        Nothing is left, or the shape cuts itself.
    """
    body = _body(steps[0].feature)
    for step in steps[1:]:
        other = _body(step.feature)
        body = body + other if step.way == "add" else body - other
    return from_manifold(body, name)


def segments(diameter):
    """Number of corners that stands for a circle, a multiple of four.

    Parameters
    ----------
    diameter : float
        [mm].

    Returns
    -------
    int
        48 to 400.
    """
    wanted = math.pi / math.sqrt(2 * _SAGITTA / max(diameter / 2, 0.1))
    return 4 * math.ceil(min(max(wanted, 48), 400) / 4)


def lofted(loft):
    """Mesh of a loft alone.

    Parameters
    ----------
    loft : Loft
        Rings that run anticlockwise seen from the last ring.

    Returns
    -------
    Mesh
        Quads between rings split along the shorter diagonal, flat caps.
    """
    rings = np.asarray(loft.rings, dtype=float)
    count, around = rings.shape[:2]
    a, b = rings[:-1], rings[1:]
    a_next, b_next = np.roll(a, -1, axis=1), np.roll(b, -1, axis=1)
    corner = np.arange(count * around).reshape(count, around)
    p, q = corner[:-1], corner[1:]
    p_next, q_next = np.roll(p, -1, axis=1), np.roll(q, -1, axis=1)
    rising = np.linalg.norm(a - b_next, axis=2) <= np.linalg.norm(a_next - b, axis=2)  # the shorter diagonal
    first = np.stack([p, p_next, np.where(rising, q_next, q)], axis=-1)
    second = np.stack([np.where(rising, p, p_next), q_next, q], axis=-1)
    caps = [_cap(rings[0])[:, ::-1], corner[-1][_cap(rings[-1])]]
    triangles = np.concatenate([first.reshape(-1, 3), second.reshape(-1, 3), *caps])
    return Mesh(rings.reshape(-1, 3), triangles)


def prismatoid(rings):
    """Volume between rings with straight lines from point to like point.

    Parameters
    ----------
    rings : array, shape (m, n, 3)
        Rings, each at one z [mm].

    Returns
    -------
    float
        Exact for the ruled skin: h/6 (A0 + 4 Am + A1) for each pair of rings [mm^3].
    """
    middle = 0.5 * (rings[1:] + rings[:-1])
    height = np.diff(rings[:, 0, 2])
    ends = ring_area(rings)
    return float((height / 6.0 * (ends[:-1] + 4.0 * ring_area(middle) + ends[1:])).sum())


def ring_area(rings):
    """Area inside closed rings, seen along z.

    Parameters
    ----------
    rings : array, shape (..., n, 2 or 3)
        Corners [mm].

    Returns
    -------
    array, shape (...)
        Positive for anticlockwise rings [mm^2].
    """
    x, y = rings[..., 0], rings[..., 1]
    return 0.5 * (x * np.roll(y, -1, axis=-1) - np.roll(x, -1, axis=-1) * y).sum(axis=-1)


def _cap(ring):
    """Triangles over a ring, anticlockwise as the ring is; every point is kept, also those on a straight line."""
    from manifold3d import triangulate

    return triangulate([np.ascontiguousarray(ring[:, :2])]).astype(np.int64)


def _round(diameter, count):
    angle = 2 * math.pi * np.arange(count) / count
    grown = diameter / 2 * math.sqrt((2 * math.pi / count) / math.sin(2 * math.pi / count))  # area of the circle
    return grown * np.column_stack([np.cos(angle), np.sin(angle)])


def _body(feature):
    from manifold3d import CrossSection, Manifold

    if isinstance(feature, Prism):
        paths = [np.asarray(ring.coords)[:-1] for ring in (feature.outline.exterior, *feature.outline.interiors)]
        flat = CrossSection(paths, fillrule=_even_odd())
        return Manifold.extrude(flat, feature.top - feature.bottom).translate((0, 0, feature.bottom))
    if isinstance(feature, Loft):
        return to_manifold(lofted(feature))
    if isinstance(feature, Rod):
        return to_manifold(_rod(feature))
    profile = np.asarray(feature.profile, dtype=float)
    count = segments(2 * profile[:, 0].max())
    grown = profile * (math.sqrt((2 * math.pi / count) / math.sin(2 * math.pi / count)), 1.0)
    return Manifold.revolve(CrossSection([grown], fillrule=_even_odd()), count)


def _even_odd():
    from manifold3d import FillRule

    return FillRule.EvenOdd


def _rod(rod):
    """Mesh of a rod or cone, its corners around the line from start to end."""
    start, end = np.asarray(rod.start, dtype=float), np.asarray(rod.end, dtype=float)
    along = (end - start) / np.linalg.norm(end - start)
    side = np.cross(along, (1.0, 0.0, 0.0) if abs(along[0]) < 0.9 else (0.0, 1.0, 0.0))
    side /= np.linalg.norm(side)
    far = rod.diameter if rod.end_diameter is None else rod.end_diameter
    count = segments(max(rod.diameter, far))
    across = np.stack([side, np.cross(along, side)])
    rings = np.stack([_round(rod.diameter, count), _round(far, count)])
    flat = Loft(np.dstack([rings, np.array([0.0, np.linalg.norm(end - start)])[:, None].repeat(count, axis=1)]))
    skin = lofted(flat)
    return Mesh(start + skin.vertices @ np.vstack([across, along]), skin.triangles)
