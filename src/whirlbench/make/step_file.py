"""STEP files of solids for any CAD program, from the same steps as the mesh; needs the extra ``cad``."""

import re
import tempfile
from pathlib import Path

import numpy as np

from whirlbench.errors import InputError, MissingExtra
from whirlbench.make.features import Loft, Prism, Rod
from whirlbench.make.mesh_files import write_bytes

_STAMP = "1980-01-01T00:00:00"  # the time of writing would make every file another one
_MATCH = 0.005  # share by which the CAD body's volume may differ from the mesh
_PRECISE = 1e-5  # share by which a volume may be wrong
_SIMPLE = 0.005  # [mm] outlines are thinned to this: a CAD program takes minutes over thousands of faces


def step_bytes(solid):
    """STEP file of a part.

    Parameters
    ----------
    solid : Solid
        The part.

    Returns
    -------
    bytes
        Lengths in millimetres, no time of writing in it.

    Raises
    ------
    MissingExtra
        The extra ``cad`` is not installed.
    InputError
        The CAD library gave a body of another volume than the mesh.
    """
    shape = _shape(solid)
    volume = shape_volume(shape)
    if not abs(volume - solid.volume) <= _MATCH * solid.volume:
        got = f"a CAD body of {volume:.0f} mm3 for a solid of {solid.volume:.0f} mm3"
        raise InputError(solid.name, got, "the same volume", try_="take the 3MF or STL file, which is right")
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetCVal_s("write.step.product.name", solid.name)
    writer.Transfer(shape, STEPControl_StepModelType.STEPControl_AsIs)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "part.step"
        writer.Write(str(path))
        text = path.read_text(encoding="utf-8")
    name = solid.name
    text = re.sub(r"FILE_NAME\('[^']*',\s*'[^']*'", f"FILE_NAME('{name}','{_STAMP}'", text, count=1)
    counted = rf"PRODUCT\('{name} \d+',\s*'{name} \d+'"  # the library counts the files it has written
    text = re.sub(counted, f"PRODUCT('{name}','{name}'", text)
    return text.encode()


def write_step(path, solid):
    """Write a part as STEP and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .step.
    solid : Solid
        The part.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    MissingExtra
        The extra ``cad`` is not installed.
    InputError
        Another ending, or a place that cannot be written.
    """
    return write_bytes(path, ".step", step_bytes(solid))


def read_step(path):
    """Volume of all bodies in a STEP file.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    float
        [mm^3].

    Raises
    ------
    MissingExtra
        The extra ``cad`` is not installed.
    InputError
        No STEP file.
    """
    _need_cad()
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    if reader.ReadFile(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise InputError("file", f"'{Path(path).name}'", "a STEP file", try_="write it again")
    reader.TransferRoots()
    return shape_volume(reader.OneShape())


def shape_volume(shape):
    """Volume of a body of the CAD library.

    Parameters
    ----------
    shape : OCP TopoDS_Shape
        The body.

    Returns
    -------
    float
        [mm^3].
    """
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found, _PRECISE, False, False)  # without it, a curved nose goes wrong by 2 %
    return float(found.Mass())


def _need_cad():
    try:
        import OCP  # noqa: F401
    except ImportError as gap:
        raise MissingExtra("STEP files need the extra: pip install 'whirlbench[cad]'.") from gap
    from OCP.Message import Message

    Message.DefaultMessenger_s().ChangePrinters().Clear()  # it talks about every file on the screen


def _shape(solid):
    """Body of the CAD library from the steps of a solid."""
    _need_cad()
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse

    body = _feature(solid.steps[0].feature)
    for step in solid.steps[1:]:
        join = BRepAlgoAPI_Fuse if step.way == "add" else BRepAlgoAPI_Cut
        body = join(body, _feature(step.feature)).Shape()
    return body


def _feature(feature):
    if isinstance(feature, Loft):
        return _loft(feature)
    if isinstance(feature, Prism):
        return _prism(feature)
    return _rod(feature) if isinstance(feature, Rod) else _turned(feature)


def _loft(loft):
    from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections

    through = BRepOffsetAPI_ThruSections(True, True)  # a solid, straight from ring to ring
    for ring in loft.rings:
        through.AddWire(_wire(_split(ring, loft.corners)))
    through.CheckCompatibility(False)
    through.Build()
    return through.Shape()


def _split(ring, corners):
    """Pieces of a ring from corner to corner: what lies between is smooth, so it may become a spline."""
    ends = (*corners[1:], corners[0] + len(ring))
    around = np.vstack([ring, ring])
    return [_thinned(around[start : end + 1]) for start, end in zip(corners, ends, strict=True)]


def _thinned(piece):
    """Every second point, the ends always: a spline needs no more, and the file is half as long."""
    return piece[sorted({*range(0, len(piece), 2), len(piece) - 1})]


def _wire(pieces):
    """Closed wire of lines (two points) and splines (more)."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
    from OCP.collections import HArray1_gp_Pnt
    from OCP.GeomAPI import GeomAPI_Interpolate

    wire = BRepBuilderAPI_MakeWire()
    for piece in pieces:
        points = [_point(*place) for place in piece.tolist()]
        if len(points) == 2:
            wire.Add(BRepBuilderAPI_MakeEdge(*points).Edge())
            continue
        places = HArray1_gp_Pnt(1, len(points))
        for number, point in enumerate(points, start=1):
            places.SetValue(number, point)
        curve = GeomAPI_Interpolate(places, False, 1e-7)
        curve.Perform()
        wire.Add(BRepBuilderAPI_MakeEdge(curve.Curve()).Edge())
    return wire.Wire()


def _polygon(points):
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakePolygon

    polygon = BRepBuilderAPI_MakePolygon()
    for place in points:
        polygon.Add(_point(*place))
    polygon.Close()
    return polygon.Wire()


def _prism(prism):
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec
    from shapely.geometry.polygon import orient

    outline = orient(prism.outline.simplify(_SIMPLE))
    rings = [[(x, y, prism.bottom) for x, y in ring.coords[:-1]] for ring in (outline.exterior, *outline.interiors)]
    face = BRepBuilderAPI_MakeFace(_polygon(rings[0]))
    for ring in rings[1:]:
        face.Add(_polygon(ring))
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, prism.top - prism.bottom)).Shape()


def _rod(rod):
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir

    way = np.subtract(rod.end, rod.start).astype(float)
    axes, length = gp_Ax2(_point(*rod.start), gp_Dir(*way.tolist())), float(np.linalg.norm(way))
    if rod.end_diameter is None or rod.end_diameter == rod.diameter:
        return BRepPrimAPI_MakeCylinder(axes, rod.diameter / 2, length).Shape()
    return BRepPrimAPI_MakeCone(axes, rod.diameter / 2, rod.end_diameter / 2, length).Shape()


def _turned(turned):
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir

    face = BRepBuilderAPI_MakeFace(_polygon([(r, 0.0, z) for r, z in np.asarray(turned.profile, dtype=float).tolist()]))
    return BRepPrimAPI_MakeRevol(face.Face(), gp_Ax1(_point(0, 0, 0), gp_Dir(0, 0, 1))).Shape()


def _point(x, y, z):
    from OCP.gp import gp_Pnt

    return gp_Pnt(float(x), float(y), float(z))
