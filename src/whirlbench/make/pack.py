"""The build pack: a folder with every file of a turbine's making, one document over it, and a list with checksums."""

import hashlib
import importlib.util
import json
import os
import shutil
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

from whirlbench import __version__
from whirlbench.errors import InputError
from whirlbench.make.cards import PartLabel, coil_sheet, label_sheet, tower_sheet
from whirlbench.make.cut_files import write_dxf, write_svg
from whirlbench.make.lists import bill_rows, csv_bytes, provenance
from whirlbench.make.mesh_files import write_3mf, write_stl
from whirlbench.make.nesting import nest
from whirlbench.make.pack_document import build_document
from whirlbench.make.paper import paper_sheets
from whirlbench.make.pieces import BLADE_SHEET, PAPER_ONLY, PLATE, Refusal
from whirlbench.make.process import process, with_kerf
from whirlbench.make.step_file import write_step
from whirlbench.parts.turbine import Turbine

FORMAT = 1
MANIFEST, DOCUMENT, AS_MADE = "manifest.json", "build-pack.pdf", "turbine-as-made.toml"
_ON_CARD = {"coil-plan": "coil-card.pdf", "tower-wrap": "tower.pdf"}  # drawings whose sheet tells more than they do
_LABELS = 400  # of one file
OWN = "own sizes, drawn by Whirlbench"
_SHEET = (600.0, 400.0)  # [mm] where the bin tells no size: common practice
_UNITS = {"dxf": "mm", "svg": "mm", "stl": "mm", "3mf": "mm", "step": "mm", "pdf": "1:1 in mm under paper/"}


@dataclass(frozen=True)
class Pack:
    """Everything that goes into a build pack, before a file is written.

    Attributes
    ----------
    turbine : Turbine
        The parts.
    team, paper, blade_source : str
        Name of the team or empty; ``A4`` or ``letter``; where the shape of the blades comes from.
    flats, cuts, solids : dict of str to tuple
        Pieces of each kind: on paper as Flat, for the cutter as Flat with its kerf in the path, to print as Solid.
    sheets : tuple of Drawing
        Cut paths laid out on stock.
    refusals : tuple of Refusal
        What cannot be made.
    items, steps, tools, coil : tuple
        Bill of materials, steps, tools, rows of the coil card (empty where nothing is wound).
    emf_constant : float
        Peak volts per shaft speed of the generator [V*s/rad].
    as_made : str
        TOML of the turbine with the masses of its printed blades, or empty.
    """

    turbine: Turbine
    team: str
    paper: str
    blade_source: str
    flats: dict
    cuts: dict
    solids: dict
    sheets: tuple
    refusals: tuple
    items: tuple
    steps: tuple
    tools: tuple
    coil: tuple
    emf_constant: float
    as_made: str


@dataclass(frozen=True)
class PackFile:
    """One file of a pack.

    Attributes
    ----------
    path : str
        From the folder of the pack, with ``/``.
    sha256 : str
        Checksum.
    size : int
        Bytes.
    """

    path: str
    sha256: str
    size: int


def cut_paths(flats):
    """Flat pieces as the path of a laser.

    Parameters
    ----------
    flats : sequence of Flat
        True to size.

    Returns
    -------
    tuple of tuple of Flat and tuple of Refusal
        Pieces with the kerf in their path, without those for paper only; those with a web narrower than the kerf.
    """
    kerf, made, refused = process("laser").kerf, [], []
    for flat in flats:
        if flat.stock == PAPER_ONLY:
            continue
        try:
            made.append(replace(flat, drawing=with_kerf(flat.drawing, kerf)))
        except InputError as error:
            refused.append(Refusal(f"{flat.drawing.name}, cut", str(error)))
    return tuple(made), tuple(refused)


def laid_out(flats, *, blade_stock=None):
    """Cut paths laid out on sheets of stock.

    Parameters
    ----------
    flats : sequence of Flat
        With or without kerf.
    blade_stock : tuple of float, optional
        Length and width of a sheet for blades [mm]; by default 600 x 400.

    Returns
    -------
    tuple of tuple of Drawing, int and tuple of Refusal
        The sheets, how many of them are for blades, and the pieces that fit on no sheet.
    """
    sheets, counts, refused = [], {}, []
    for stock, size in ((BLADE_SHEET, blade_stock or _SHEET), (PLATE, _SHEET)):
        pieces = [flat.drawing for flat in flats if flat.stock == stock for _ in range(flat.count)]
        if not pieces:
            continue
        found = nest(pieces, *size, name="sheet-" + stock.replace(" ", "-"), most_sheets=20)
        sheets += found.sheets
        counts[stock] = len(found.sheets)
        why = f"larger than the stock of {size[0]:g} x {size[1]:g} mm: cut it from its own file"
        refused += [Refusal(name, why) for name in dict.fromkeys(found.left_over)]
    return tuple(sheets), counts.get(BLADE_SHEET, 0), tuple(refused)


def write_pack(folder, pack, *, again=False):
    """Write a pack and return its files.

    Parameters
    ----------
    folder : path
        Where it goes; the pack is made whole elsewhere first, so half of one is never seen.
    pack : Pack
        What to write.
    again : bool
        Put it in the place of an earlier pack.

    Returns
    -------
    tuple of PackFile
        In the order of their paths, the list with checksums left out.

    Raises
    ------
    InputError
        A folder that holds something else, or cannot be written.
    """
    folder = Path(folder).absolute()
    _check_place(folder, again)
    try:
        there = next(place for place in (folder, *folder.parents) if place.exists())
        with tempfile.TemporaryDirectory(prefix=".build-pack-", dir=there) as beside:
            files = _written(Path(beside) / "pack", pack)
            _moved(Path(beside), folder)
    except OSError as error:
        got = f"'{folder}' ({(error.strerror or 'no reason').lower()})"
        raise InputError("out", got, "a folder that can be written", try_="choose another folder") from error
    return files


def has_cad():
    """Tell whether STEP files can be written here.

    Returns
    -------
    bool
        The extra ``cad`` is installed.
    """
    return importlib.util.find_spec("OCP") is not None


def _check_place(folder, again):
    """Refuse a folder that holds anything but an earlier pack that may go."""
    if not folder.exists():
        return
    if not folder.is_dir():
        raise InputError("out", f"'{folder}', a file", "a folder", try_="choose another name")
    inside = {each.relative_to(folder).as_posix() for each in folder.rglob("*") if each.is_file()}
    if not inside:
        return
    if not again:
        raise InputError(
            "out", f"'{folder}', not empty", "an empty or new folder", try_="add --again to replace a pack"
        )
    strange = sorted(inside - _listed(folder))
    if strange:
        got = f"'{folder}' with {strange[0]}, which is of no earlier pack"
        raise InputError(
            "out", got, "a folder that holds a build pack and nothing else", try_="move your own files out"
        )


def _moved(beside, folder):
    """Put the new pack in its place; the folder itself stays, as somebody may stand in it."""
    if not folder.exists():
        folder.parent.mkdir(parents=True, exist_ok=True)
        (beside / "pack").rename(folder)
        return
    (beside / "before").mkdir()
    for old in [each for each in folder.iterdir() if each != beside]:
        old.rename(beside / "before" / old.name)
    for new in list((beside / "pack").iterdir()):
        new.rename(folder / new.name)


def _listed(folder):
    """Paths of an earlier pack by its own list."""
    try:
        data = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        return {MANIFEST, *(one["path"] for one in data["files"])}
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def _written(folder, pack):
    for name in ("paper", "cut", "print", "lists"):
        (folder / name).mkdir(parents=True)
    _paper(folder / "paper", pack)
    _cut(folder / "cut", pack)
    _print(folder / "print", pack)
    made = tuple(_made(pack, folder))
    _lists(folder / "lists", pack, made)
    if pack.as_made:
        (folder / AS_MADE).write_text(pack.as_made, encoding="utf-8", newline="\n")
    build_document(folder / DOCUMENT, pack, provenance(made))
    for name in ("paper", "cut", "print"):
        if not os.listdir(folder / name):
            shutil.rmtree(folder / name)
    paths = sorted(each for each in folder.rglob("*") if each.is_file())
    files = tuple(_file(each, folder) for each in paths)
    content = {
        "format": FORMAT,
        "made_by": f"whirlbench {__version__}",
        "turbine": pack.turbine.name,
        "team": pack.team,
        "paper": pack.paper,
        "units": _UNITS,
        "pieces": [{"name": name, "count": count, "files": names.split()} for name, count, names, _ in made],
        "left_out": [{"piece": one.piece, "why": one.why} for one in pack.refusals],
        "files": [{"path": one.path, "sha256": one.sha256, "size_bytes": one.size} for one in files],
    }
    text = json.dumps(content, indent=1, ensure_ascii=False) + "\n"
    (folder / MANIFEST).write_text(text, encoding="utf-8", newline="\n")
    return files


def _file(path, folder):
    content = path.read_bytes()
    return PackFile(path.relative_to(folder).as_posix(), hashlib.sha256(content).hexdigest(), len(content))


def _paper(folder, pack):
    """Sheets of each kind, the cards that go with them, and labels for what can be mixed up."""
    for kind, flats in pack.flats.items():
        flats = [flat for flat in flats if flat.drawing.name not in _ON_CARD]
        if flats:
            paper_sheets(
                folder / f"{kind}.pdf",
                [flat.drawing for flat in flats],
                title=f"{pack.turbine.name}: {kind}",
                counts={flat.drawing.name: flat.count for flat in flats},
                **_kept(pack, "cut"),
            )
    _cards(folder, pack)
    labels = [
        PartLabel(name, "" if count == 1 else f"{number} of {count}")
        for name, count in _several(pack)
        for number in range(1, count + 1)
    ]
    for start in range(0, len(labels), _LABELS):
        part = "" if len(labels) <= _LABELS else f"-{start // _LABELS + 1}"
        owner = pack.team or pack.turbine.name
        label_sheet(folder / f"labels{part}.pdf", labels[start : start + _LABELS], title=owner, paper=pack.paper)


def _cards(folder, pack):
    drawn = {flat.drawing.name for flats in pack.flats.values() for flat in flats}
    name = pack.turbine.name
    if "coil-plan" in drawn:
        kept = {"title": f"{name}: winding card", "emf_constant": pack.emf_constant, **_kept(pack, "coil")}
        coil_sheet(folder / _ON_CARD["coil-plan"], pack.turbine.generator, **kept)
    if "tower-wrap" in drawn:
        tower_sheet(folder / _ON_CARD["tower-wrap"], pack.turbine, title=f"{name}: tower", **_kept(pack, "stand"))


def _kept(pack, where):
    """Paper, and the cautions of one step of the build."""
    told = [f"{risk}: {do}" for step in pack.steps if step.where == where for risk, _, do in step.cautions]
    return {"paper": pack.paper, "cautions": told}


def _several(pack):
    """Names and counts of blades and their pieces, gears and coils: what can be mixed up on a bench."""
    for kind in ("blades", "gears"):
        made = pack.solids.get(kind, ())
        yield from [(one.name, one.count) for one in made if "pin" not in one.name]
        if not made:
            yield from [(one.drawing.name, one.count) for one in pack.flats.get(kind, ()) if one.stock != PAPER_ONLY]
    if pack.coil:
        yield "coil", pack.turbine.generator.coils_in_series


def _cut(folder, pack):
    drawings = [flat.drawing for flats in pack.cuts.values() for flat in flats]
    for drawing in (*drawings, *pack.sheets):
        write_dxf(folder / f"{drawing.name}.dxf", drawing)
        write_svg(folder / f"{drawing.name}.svg", drawing)


def _print(folder, pack):
    for kind, solids in pack.solids.items():
        if solids:
            write_3mf(folder / f"all-{kind}.3mf", solids)
        for solid in solids:
            write_stl(folder / f"{solid.name}.stl", solid)
            if has_cad():
                write_step(folder / f"{solid.name}.step", solid)


def _made(pack, folder):
    """Name, count, files and source of every piece; a piece that can be cut or printed stands twice."""
    sources = {"blades": pack.blade_source, "gauges": pack.blade_source}
    for kind, flats in pack.flats.items():
        cut = {flat.drawing.name for flat in pack.cuts.get(kind, ())}
        for flat in flats:
            name = flat.drawing.name
            files = [
                f"paper/{_ON_CARD.get(name, f'{kind}.pdf')}",
                *([f"cut/{name}.dxf", f"cut/{name}.svg"] if name in cut else []),
            ]
            yield name, flat.count, " ".join(files), sources.get(kind, OWN)
    for kind, solids in pack.solids.items():
        for solid in solids:
            paths = sorted((folder / "print").glob(f"{solid.name}.*"))
            yield (
                f"printed {solid.name}",
                solid.count,
                " ".join(f"print/{path.name}" for path in paths),
                sources.get(kind, OWN),
            )


def _lists(folder, pack, made):
    steps = [("step", "do or mind", "words")]
    for number, step in enumerate(pack.steps, 1):
        steps += [(f"{number} {step.title}", "mind", f"{risk}. {why} {do}") for risk, why, do in step.cautions]
        steps += [(f"{number} {step.title}", "do", words) for words in step.does]
    lists = {
        "bill-of-materials": bill_rows(pack.items),
        "tools": (("tools",), *((one,) for one in pack.tools)),
        "steps": steps,
        "provenance": provenance(made),
    }
    if pack.coil:
        lists["coil-card"] = (("what", "how much"), *pack.coil)
    for name, rows in lists.items():
        (folder / f"{name}.csv").write_bytes(csv_bytes(rows))
