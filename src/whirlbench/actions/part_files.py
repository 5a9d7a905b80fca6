"""Tell what can be made of a turbine, and give one file or one picture of it, without writing a folder."""

import mimetypes

from whirlbench.actions.make_pack import MakeOrder, ordered_pack
from whirlbench.actions.make_parts import LeftOut
from whirlbench.actions.report import Report
from whirlbench.errors import UnknownKey, nearest
from whirlbench.make.drawing import MM
from whirlbench.make.pack_files import pack_files, pack_pieces
from whirlbench.make.picture_svg import flat_svg, solid_svg
from whirlbench.make.pieces import Flat

_TYPES = {
    ".dxf": "image/vnd.dxf",
    ".stl": "model/stl",
    ".3mf": "model/3mf",
    ".step": "model/step",
    ".toml": "application/toml",
    ".csv": "text/csv",
}


class MakeablePiece(Report):
    """A piece that can be made; one that can be cut or printed stands there twice."""

    name: str
    kind: str
    way: str
    count: int
    material: str
    width_m: float
    depth_m: float
    height_m: float | None
    mass_kg: float | None
    notes: tuple[str, ...]
    files: tuple[str, ...]


class MakeableFile(Report):
    """A file that can be had; slow ones take seconds."""

    path: str
    media_type: str
    slow: bool


class Makeables(Report):
    """Answer of ``makeables``."""

    turbine: str
    pieces: tuple[MakeablePiece, ...]
    files: tuple[MakeableFile, ...]
    left_out: tuple[LeftOut, ...]


def makeables(turbine, order=None):
    """Pieces of a turbine that can be made, and every file that shows or makes them.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    order : MakeOrder, optional
        What the team wants; by default everything on A4.

    Returns
    -------
    Makeables
        Pieces with the paths of their files, all files of the pack, and what cannot be made and why.

    Raises
    ------
    InputError
        A name with slashes, or a turbine of which nothing can be made.
    UnknownKey
        Another kind, paper or process.
    OutOfRange
        A bed or shaft that no workshop has.
    """
    pack, _ = ordered_pack(turbine, order or MakeOrder())
    return Makeables(
        turbine=turbine.name,
        pieces=tuple(map(_told, pack_pieces(pack))),
        files=tuple(
            MakeableFile(path=path, media_type=media_type(path), slow=path.endswith(".step"))
            for path in pack_files(pack)
        ),
        left_out=tuple(LeftOut(piece=one.piece, why=one.why) for one in pack.refusals),
    )


def part_file(turbine, path, order=None):
    """Bytes of one file, the same as in the folder of the build pack.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    path : str
        As ``makeables`` tells it, such as ``cut/blade.svg``.
    order : MakeOrder, optional
        As it was asked for the list.

    Returns
    -------
    bytes
        The whole file.

    Raises
    ------
    UnknownKey
        No such file.
    """
    pack, _ = ordered_pack(turbine, order or MakeOrder())
    return _found("file", path, pack_files(pack))()


def part_picture(turbine, name, order=None):
    """SVG picture of one piece.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    name : str
        As ``makeables`` tells it, such as ``blade`` or ``printed hub``.
    order : MakeOrder, optional
        As it was asked for the list.

    Returns
    -------
    str
        Without width and height, so it takes the room it is given.

    Raises
    ------
    UnknownKey
        No such piece.
    """
    pack, _ = ordered_pack(turbine, order or MakeOrder())
    body = _found("piece", name, {one.name: one.body for one in pack_pieces(pack)})
    return flat_svg(body.drawing) if isinstance(body, Flat) else solid_svg(body)


def media_type(path):
    """Media type of a file of a pack, for whoever sends it.

    Parameters
    ----------
    path : str
        Its path.

    Returns
    -------
    str
        Such as ``application/pdf``.
    """
    ending = path[path.rindex(".") :]
    return _TYPES.get(ending) or mimetypes.types_map.get(ending, "application/octet-stream")


def _found(what, name, known):
    if name not in known:
        raise UnknownKey(what, f"'{name[:60]}'", f"a {what} of this turbine", try_=nearest(name, tuple(known)))
    return known[name]


def _told(piece):
    flat = isinstance(piece.body, Flat)
    size = [float(one) / MM for one in (piece.body.drawing.size if flat else piece.body.mesh.size)]
    return MakeablePiece(
        name=piece.name,
        kind=piece.kind,
        way="flat" if flat else "printed",
        count=piece.count,
        material=piece.body.stock if flat else piece.body.material,
        width_m=size[0],
        depth_m=size[1],
        height_m=None if flat else size[2],
        mass_kg=None if flat else piece.body.mass,
        notes=piece.body.drawing.notes if flat else (piece.body.orientation, *piece.body.notes),
        files=piece.files,
    )
