"""STL and 3MF files of solids: the same solid gives the same bytes."""

import io
import struct
import zipfile
from pathlib import Path

import numpy as np

from whirlbench.errors import InputError

_HEADER = b"Whirlbench, lengths in millimetres".ljust(80, b" ")
_GAP = 5.0  # [mm] between parts on the bed
_SPACE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)


def stl_bytes(mesh):
    """Binary STL of a mesh.

    Parameters
    ----------
    mesh : Mesh
        Closed surface [mm].

    Returns
    -------
    bytes
        STL knows no unit: say millimetres beside it.
    """
    corners = mesh.corners
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    facets = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    facets["normal"] = normal / np.where(length > 0, length, 1.0)
    facets["corners"] = corners
    return _HEADER + struct.pack("<I", len(facets)) + facets.tobytes()


def three_mf_bytes(solids):
    """3MF of several parts side by side, in millimetres.

    Parameters
    ----------
    solids : sequence of Solid
        One object each; those wanted more than once are placed as often.

    Returns
    -------
    bytes
        A zip archive.

    Raises
    ------
    InputError
        No part.
    """
    if not solids:
        raise InputError("3MF", "no parts", "one or more", try_="choose a part first")
    objects = [_object(number, one) for number, one in enumerate(solids, start=1)]
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xmlns="{_SPACE}">\n'
        f"<resources>\n{''.join(objects)}</resources>\n<build>\n{''.join(_items(solids))}</build>\n</model>\n"
    )
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        pieces = {"[Content_Types].xml": _TYPES, "_rels/.rels": _RELATIONS, "3D/3dmodel.model": model}
        for name, text in pieces.items():
            info = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            info.create_system = 3  # else the machine that writes shows
            archive.writestr(info, text.encode(), compress_type=zipfile.ZIP_DEFLATED, compresslevel=6)
    return buffer.getvalue()


def write_stl(path, solid):
    """Write a part as binary STL, standing on the bed, and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .stl.
    solid : Solid
        The part.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another ending, or a place that cannot be written.
    """
    return write_bytes(path, ".stl", stl_bytes(solid.on_bed))


def write_3mf(path, solids):
    """Write parts as one 3MF file and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .3mf.
    solids : sequence of Solid
        The parts.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        No part, another ending, or a place that cannot be written.
    """
    return write_bytes(path, ".3mf", three_mf_bytes(solids))


def write_bytes(path, ending, content):
    """Write a whole file of a kind and return where it went.

    Parameters
    ----------
    path : path
        File to write.
    ending : str
        What its name has to end in.
    content : bytes
        All of it.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another ending, or a place that cannot be written.
    """
    path = Path(path)
    if path.suffix.lower() != ending:
        raise InputError("file", f"'{path.name}'", f"an ending {ending}", try_=f"name it part{ending}")
    try:
        path.write_bytes(content)
    except OSError as error:
        got = f"'{path}' ({(error.strerror or 'no reason').lower()})"
        raise InputError("file", got, "a place that can be written", try_="make the folder first") from error
    return path


def _object(number, solid):
    mesh = solid.on_bed
    corners = "".join(f'<vertex x="{x:.6f}" y="{y:.6f}" z="{z:.6f}"/>\n' for x, y, z in mesh.vertices.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>\n' for a, b, c in mesh.triangles.tolist())
    return (
        f'<object id="{number}" type="model" name="{solid.name}"><mesh>\n'
        f"<vertices>\n{corners}</vertices>\n<triangles>\n{faces}</triangles>\n</mesh></object>\n"
    )


def _items(solids):
    """Parts in a row along x, copies behind each other along y."""
    x = 0.0
    for number, solid in enumerate(solids, start=1):
        wide, deep, _ = solid.mesh.size.tolist()
        for copy in range(solid.count):
            yield f'<item objectid="{number}" transform="1 0 0 0 1 0 0 0 1 {x:.3f} {copy * (deep + _GAP):.3f} 0"/>\n'
        x += wide + _GAP
