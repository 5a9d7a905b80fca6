"""Surfaces of triangles in millimetres: volume, balance point and inertia by exact sums, and whether they close."""

from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError

TOLERANCE = 1e-3  # [mm] slivers thinner than this are taken out before anything is written


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed surface of triangles.

    Attributes
    ----------
    vertices : array, shape (n, 3)
        Corners [mm].
    triangles : array of int, shape (m, 3)
        Corner numbers, anticlockwise as seen from outside.
    """

    vertices: np.ndarray
    triangles: np.ndarray

    @property
    def corners(self):
        """Three corners of each triangle [mm], shape (m, 3, 3)."""
        return self.vertices[self.triangles]

    @property
    def size(self):
        """Extent along x, y and z [mm]."""
        return np.ptp(self.vertices, axis=0)


@dataclass(frozen=True)
class Bulk:
    """What a body of even density is as a whole.

    Attributes
    ----------
    volume : float
        [mm^3].
    centre : tuple of float
        Centre of mass [mm].
    inertia : tuple of tuple of float
        Tensor about the centre of mass over density [mm^5].
    """

    volume: float
    centre: tuple
    inertia: tuple


def is_closed(mesh):
    """Tell whether a surface is watertight: every edge is passed once each way.

    Parameters
    ----------
    mesh : Mesh
        The surface.

    Returns
    -------
    bool
        True when it closes and all triangles agree on outside.
    """
    edges = np.concatenate([mesh.triangles[:, [0, 1]], mesh.triangles[:, [1, 2]], mesh.triangles[:, [2, 0]]])
    count = len(mesh.vertices)
    there, back = edges @ (count, 1), edges @ (1, count)
    loop = (edges[:, 0] == edges[:, 1]).any()
    return bool(len(edges) and not loop and len(np.unique(there)) == len(there) and np.isin(there, back).all())


def bulk(mesh):
    """Volume, balance point and inertia of what a closed surface holds.

    Parameters
    ----------
    mesh : Mesh
        Closed surface.

    Returns
    -------
    Bulk
        Exact for the triangles [mm^3, mm, mm^5].

    Notes
    -----
    Sum over the tetrahedra from one point to each triangle; second moments of a tetrahedron after [1]_.

    References
    ----------
    .. [1] Tonon, Journal of Mathematics and Statistics 1, 2005: inertia tensor of a tetrahedron from its corners.
    """
    start = mesh.vertices.mean(axis=0)  # inside or near the body, so that little cancels
    corners = mesh.corners - start
    six = np.linalg.det(corners)
    volume = six.sum() / 6.0
    total = corners.sum(axis=1)
    centre = (six @ total) / 24.0 / volume
    pairs = np.einsum("t,tki,tkj->ij", six, corners, corners) + np.einsum("t,ti,tj->ij", six, total, total)
    second = pairs / 120.0 - volume * np.outer(centre, centre)
    inertia = np.trace(second) * np.eye(3) - second
    return Bulk(float(volume), tuple((centre + start).tolist()), tuple(map(tuple, inertia.tolist())))


def turned(mesh, axes):
    """Mesh seen in other axes.

    Parameters
    ----------
    mesh : Mesh
        Closed surface.
    axes : array, shape (3, 3)
        New x, y and z, each a row of old components; a mirror is allowed.

    Returns
    -------
    Mesh
        Outside stays outside.
    """
    axes = np.asarray(axes, dtype=float)
    triangles = mesh.triangles if np.linalg.det(axes) > 0 else mesh.triangles[:, ::-1]
    return Mesh(mesh.vertices @ axes.T, np.ascontiguousarray(triangles))


def from_manifold(body, name):
    """Mesh of a body of the boolean library, slivers taken out.

    Parameters
    ----------
    body : manifold3d.Manifold
        The body [mm].
    name : str
        What to call it in an error.

    Returns
    -------
    Mesh
        In an order that depends on the geometry alone.

    Raises
    ------
    InputError
        Nothing is left, or the body cuts itself.
    """
    if body.is_empty() or body.volume() <= 0:
        raise InputError(name, "a shape with nothing left", "a solid", try_="check its lengths; some cancel each other")
    raw = body.simplify(TOLERANCE).to_mesh64()
    mesh = _ordered(raw.vert_properties[:, :3], raw.tri_verts.astype(np.int64))
    if not is_closed(mesh):
        raise InputError(name, "a surface that does not close", "a closed one", try_="soften twist and chord")
    return mesh


def to_manifold(mesh):
    """Body of the boolean library from a mesh.

    Parameters
    ----------
    mesh : Mesh
        Closed surface [mm].

    Returns
    -------
    manifold3d.Manifold
        The body.
    """
    from manifold3d import Manifold, Mesh64

    corners = np.ascontiguousarray(mesh.vertices, dtype=np.float64)
    return Manifold(Mesh64(corners, np.ascontiguousarray(mesh.triangles, dtype=np.uint64)))


def level(mesh, z):
    """Section of a body at one height.

    Parameters
    ----------
    mesh : Mesh
        Closed surface.
    z : float
        Height of the cut [mm].

    Returns
    -------
    shapely Polygon or MultiPolygon
        Empty outside the body [mm].
    """
    import shapely

    rings = to_manifold(mesh).slice(z).to_polygons()
    outer = [shapely.Polygon(ring) for ring in rings if len(ring) > 2]
    filled = [ring for ring in outer if ring.exterior.is_ccw]
    holes = [ring for ring in outer if not ring.exterior.is_ccw]
    return shapely.union_all(filled).difference(shapely.union_all(holes))


def _ordered(vertices, triangles):
    """Corners sorted by place, each triangle from its lowest corner: threads may have shuffled them."""
    vertices = np.round(vertices, 7) + 0.0
    order = np.lexsort(vertices.T[::-1])
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    triangles = place[triangles]
    first = triangles.argmin(axis=1)
    triangles = np.take_along_axis(triangles, (first[:, None] + np.arange(3)) % 3, axis=1)
    return Mesh(vertices[order], triangles[np.lexsort(triangles.T[::-1])])
