"""Make a build pack: everything needed at the bench to build a turbine, true to size."""

from whirlbench.actions.make_pack import ordered_pack
from whirlbench.actions.report import Report
from whirlbench.make import pieces
from whirlbench.make.pack import write_pack
from whirlbench.make.pack_files import has_cad


class MadeFile(Report):
    """A file of the pack."""

    path: str
    sha256: str
    size_bytes: int


class LeftOut(Report):
    """A piece that cannot be made."""

    piece: str
    why: str


class Weighed(Report):
    """A part's mass by its solid and by the turbine's file."""

    part: str
    solid_kg: float
    file_kg: float
    agrees: bool
    sentence: str


class MakeReport(Report):
    """Answer of ``make``."""

    turbine: str
    folder: str
    paper: str
    step_files: bool
    pieces: int
    sheets: int
    blade_mass_kg: float | None
    blade_mass_radius_m: float | None
    blade_inertia_kg_m2: float | None
    weights: tuple[Weighed, ...]
    to_be_found: tuple[str, ...]
    left_out: tuple[LeftOut, ...]
    unmade: tuple[str, ...]
    stays: tuple[str, ...]
    files: tuple[MadeFile, ...]


def make_parts(turbine, folder, order, *, again=False):
    """Write the build pack of a turbine.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    folder : path
        New or empty folder for it.
    order : MakeOrder
        What the team wants.
    again : bool
        Put it in the place of an earlier pack.

    Returns
    -------
    MakeReport
        What was made and what cannot be made.

    Raises
    ------
    InputError
        A folder that holds something else, a name with slashes, or a turbine of which nothing can be made.
    UnknownKey
        Another kind, paper or process.
    OutOfRange
        A bed or shaft that no workshop has.
    """
    pack, weight = ordered_pack(turbine, order)
    files = write_pack(folder, pack, again=again)
    return MakeReport(
        turbine=turbine.name,
        folder=str(folder),
        paper=order.paper,
        step_files=has_cad() and any(pack.solids.values()),
        pieces=sum(len(made) for made in (*pack.flats.values(), *pack.solids.values())),
        sheets=len(pack.sheets),
        blade_mass_kg=weight.weighed[0] if weight else None,
        blade_mass_radius_m=weight.mass_radius if weight else None,
        blade_inertia_kg_m2=weight.inertia if weight else None,
        weights=tuple(
            Weighed(part=one.part, solid_kg=one.solid, file_kg=one.told, agrees=one.agrees, sentence=one.sentence)
            for one in pack.weighings
        ),
        to_be_found=tuple(f"{item.missing} x {item.part}, {item.detail}" for item in pack.items if item.missing),
        left_out=tuple(LeftOut(piece=one.piece, why=one.why) for one in pack.refusals),
        unmade=tuple(
            name
            for kind, flats in pack.flats.items()
            for name in pieces.unmade(kind, flats, pack.solids.get(kind, ()), pack.refusals)
        ),
        stays=pack.stays,
        files=tuple(MadeFile(path=one.path, sha256=one.sha256, size_bytes=one.size) for one in files),
    )
