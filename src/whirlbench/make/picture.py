"""Small shaded picture of a part for the documents: seen from a corner, light from the upper left."""

import struct
import zlib

import numpy as np

from whirlbench.errors import within
from whirlbench.make.mesh import turned

_PAPER, _BODY, _INK = (251, 247, 238), (86, 180, 233), (20, 17, 13)  # the colours of the printed sheets
_LIGHT = np.array([-0.45, 0.6, 0.66])  # in the axes of the picture: right, up, towards the eye
_FINE = 2  # dots a side for each pixel
_CREASE = 0.85  # an edge is drawn where neighbours' normals have a smaller cosine
_STEP = 12.0  # dots: and where the depth jumps by more
_MARGIN = 0.06


def picture_png(mesh, *, width=480, height=320):
    """PNG of a part, its longest side across the picture.

    Parameters
    ----------
    mesh : Mesh
        Closed surface [mm].
    width, height : int
        Pixels, 32 to 2000.

    Returns
    -------
    bytes
        The same for the same mesh.

    Raises
    ------
    OutOfRange
        A picture smaller or larger than that.
    """
    pixels = shaded(mesh, width=width, height=height)
    rows = b"".join(b"\0" + row.tobytes() for row in pixels)
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    pieces = [(b"IHDR", head), (b"IDAT", zlib.compress(rows, 9)), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, data) for kind, data in pieces)


def shaded(mesh, *, width=480, height=320):
    """Pixels of a part, shaded by the way its faces look.

    Parameters
    ----------
    mesh : Mesh
        Closed surface [mm].
    width, height : int
        Pixels, 32 to 2000.

    Returns
    -------
    array of uint8, shape (height, width, 3)
        Red, green and blue, top row first.

    Raises
    ------
    OutOfRange
        A picture smaller or larger than that.
    """
    within("pixels", (width, height), low=32, high=2000, unit="", try_="480 by 320 suits a page")
    seen = turned(mesh, _view(mesh.size))
    corners = _fitted(seen, _FINE * width, _FINE * height)
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    corners, normal = corners[normal[:, 2] > 0], normal[normal[:, 2] > 0]
    normal = normal / np.linalg.norm(normal, axis=1, keepdims=True)
    face, depth = _nearest(corners, (_FINE * height, _FINE * width))
    normals = np.where(face[..., None] >= 0, normal[face], 0.0)
    light = 0.5 + 0.5 * np.clip(normals @ (_LIGHT / np.linalg.norm(_LIGHT)), 0.0, 1.0)[..., None]
    dots = np.where(face[..., None] >= 0, light * np.array(_BODY), _PAPER)
    dots[_edges(normals, face >= 0, depth)] = _INK
    small = dots[::-1].reshape(height, _FINE, width, _FINE, 3).mean(axis=(1, 3))
    return np.round(small).astype(np.uint8)


def _view(size):
    """Rows right, up and towards the eye: flat parts from above, long ones lying across."""
    long = size[2] > 1.5 * max(size[:2])
    x, y, z = np.roll(np.eye(3), 1, axis=0) if long else np.eye(3)
    around, above = np.radians([-24.0, 48.0] if long else [28.0, 32.0])
    right = np.cos(around) * x + np.sin(around) * y
    away = np.cos(around) * y - np.sin(around) * x
    return np.stack([right, np.cos(above) * z + np.sin(above) * away, np.sin(above) * z - np.cos(above) * away])


def _fitted(mesh, width, height):
    """Corners of the triangles in dots, the part in the middle."""
    low, size = mesh.vertices.min(axis=0), mesh.size
    scale = (1 - 2 * _MARGIN) * min(width / size[0], height / size[1])
    return (mesh.corners - low - size / 2) * scale + (width / 2, height / 2, 0.0)


def _nearest(corners, shape):
    """Number of the face that each dot shows, -1 for none, and how near it is."""
    face, depth = np.full(shape, -1), np.full(shape, -np.inf)
    lows = np.ceil(corners[:, :, :2].min(axis=1) - 0.5).astype(int)
    highs = np.floor(corners[:, :, :2].max(axis=1) - 0.5).astype(int) + 1
    for number, (left, bottom), (right, top) in zip(range(len(corners)), lows, highs, strict=True):
        if right <= left or top <= bottom:
            continue
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = corners[number].tolist()
        x, y = np.arange(left, right) + 0.5, np.arange(bottom, top)[:, None] + 0.5
        area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        b = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / area
        c = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / area
        near = az + b * (bz - az) + c * (cz - az)
        here = (slice(bottom, top), slice(left, right))
        shown = (b >= -1e-9) & (c >= -1e-9) & (b + c <= 1 + 1e-9) & (near > depth[here])
        face[here][shown], depth[here][shown] = number, near[shown]
    return face, depth


def _edges(normals, body, depth):
    """Dots beside a crease, a step in depth or the outline."""
    edge = np.zeros(body.shape, dtype=bool)
    floor = np.where(body, depth, -1e6)
    for one, other in ((np.s_[:-1], np.s_[1:]), (np.s_[:, :-1], np.s_[:, 1:])):
        bent = (normals[one] * normals[other]).sum(axis=-1) < _CREASE
        step = np.abs(floor[one] - floor[other]) > _STEP
        edge[one] |= (body[one] | body[other]) & (bent | step)
    return edge


def _chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
