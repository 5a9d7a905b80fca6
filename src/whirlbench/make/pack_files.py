"""Files of a build pack: what each is called and what is in it, made only when somebody asks for it."""

import importlib.util
import tempfile
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from whirlbench.make.cards import PartLabel, coil_sheet, label_sheet, tower_sheet
from whirlbench.make.cut_files import dxf_bytes, svg_bytes
from whirlbench.make.lists import bill_rows, csv_bytes, provenance
from whirlbench.make.mesh_files import stl_bytes, three_mf_bytes
from whirlbench.make.pack_document import build_document
from whirlbench.make.paper import paper_sheets
from whirlbench.make.pieces import PAPER_ONLY, Flat
from whirlbench.make.solid import Solid
from whirlbench.make.step_file import step_bytes
from whirlbench.parts.turbine import Turbine

DOCUMENT, AS_MADE = "build-pack.pdf", "turbine-as-made.toml"
_ON_CARD = {"coil-plan": "coil-card.pdf", "tower-wrap": "tower.pdf"}  # drawings whose sheet tells more than they do
_LABELS = 400  # of one file
OWN = "own sizes, drawn by Whirlbench"


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
    stays : tuple of str
        Pieces that an earlier turbine has already.
    items, steps, tools, coil : tuple
        Bill of materials, steps, tools, rows of the coil card (empty where nothing is wound).
    emf_constant : float
        Peak volts per shaft speed of the generator [V*s/rad].
    weighings : tuple of Weighing
        Parts that a solid and the turbine's file both weigh.
    as_made : str
        TOML of the turbine with the masses of its prints, or empty.
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
    stays: tuple
    items: tuple
    steps: tuple
    tools: tuple
    coil: tuple
    emf_constant: float
    weighings: tuple
    as_made: str


@dataclass(frozen=True, eq=False)
class PackPiece:
    """One piece of a pack; what can be cut or printed stands there twice.

    Attributes
    ----------
    name, kind : str
        What it is called, and one of ``make.pieces.KINDS``.
    count : int
        How many to make.
    files : tuple of str
        Paths in the pack.
    source : str
        Where its shape comes from.
    body : Flat or Solid
        The piece.
    """

    name: str
    kind: str
    count: int
    files: tuple
    source: str
    body: Flat | Solid


def has_cad():
    """Tell whether STEP files can be written here.

    Returns
    -------
    bool
        The extra ``cad`` is installed.
    """
    return importlib.util.find_spec("OCP") is not None


def pack_pieces(pack):
    """Pieces of a pack with their files.

    Parameters
    ----------
    pack : Pack
        What is made.

    Returns
    -------
    tuple of PackPiece
        Flat ones, then those to print.
    """
    sources = {"blades": pack.blade_source, "gauges": pack.blade_source}
    made = []
    for kind, flats in pack.flats.items():
        cut = {flat.drawing.name for flat in pack.cuts.get(kind, ())}
        for flat in flats:
            name = flat.drawing.name
            files = [f"paper/{_ON_CARD.get(name, f'{kind}.pdf')}"]
            files += [f"cut/{name}.dxf", f"cut/{name}.svg"] if name in cut else []
            made.append(PackPiece(name, kind, flat.count, tuple(files), sources.get(kind, OWN), flat))
    endings = ("step", "stl") if has_cad() else ("stl",)
    for kind, solids in pack.solids.items():
        for one in solids:
            files = tuple(f"print/{one.name}.{ending}" for ending in endings)
            made.append(PackPiece(f"printed {one.name}", kind, one.count, files, sources.get(kind, OWN), one))
    return tuple(made)


def pack_files(pack):
    """Every file of a pack.

    Parameters
    ----------
    pack : Pack
        What is made.

    Returns
    -------
    dict of str to callable
        Path from the folder of the pack, with ``/``, to what gives its bytes: the same bytes every time.
    """
    rows = provenance([(one.name, one.count, " ".join(one.files), one.source) for one in pack_pieces(pack)])
    files = {**_paper(pack), **_cut(pack), **_print(pack), **_lists(pack, rows)}
    if pack.as_made:
        files[AS_MADE] = pack.as_made.encode
    files[DOCUMENT] = partial(_pdf, build_document, pack, rows)
    return files


def _pdf(write, *what, **how):
    """Bytes of a document whose writer wants a path."""
    with tempfile.TemporaryDirectory() as folder:
        return Path(write(Path(folder) / "sheet.pdf", *what, **how)).read_bytes()


def _paper(pack):
    """Sheets of each kind, the cards that go with them, and labels for what can be mixed up."""
    files = {}
    for kind, flats in pack.flats.items():
        flats = [flat for flat in flats if flat.drawing.name not in _ON_CARD]
        if flats:
            files[f"paper/{kind}.pdf"] = partial(
                _pdf,
                paper_sheets,
                [flat.drawing for flat in flats],
                title=f"{pack.turbine.name}: {kind}",
                counts={flat.drawing.name: flat.count for flat in flats},
                **_kept(pack, "cut"),
            )
    return {**files, **_cards(pack), **_labels(pack)}


def _cards(pack):
    drawn = {flat.drawing.name for flats in pack.flats.values() for flat in flats}
    name, files = pack.turbine.name, {}
    if "coil-plan" in drawn:
        kept = {"title": f"{name}: winding card", "emf_constant": pack.emf_constant, **_kept(pack, "coil")}
        files[f"paper/{_ON_CARD['coil-plan']}"] = partial(_pdf, coil_sheet, pack.turbine.generator, **kept)
    if "tower-wrap" in drawn:
        kept = {"title": f"{name}: tower", **_kept(pack, "stand")}
        files[f"paper/{_ON_CARD['tower-wrap']}"] = partial(_pdf, tower_sheet, pack.turbine, **kept)
    return files


def _labels(pack):
    labels = [
        PartLabel(name, "" if count == 1 else f"{number} of {count}")
        for name, count in _several(pack)
        for number in range(1, count + 1)
    ]
    files, owner = {}, pack.team or pack.turbine.name
    for start in range(0, len(labels), _LABELS):
        part = "" if len(labels) <= _LABELS else f"-{start // _LABELS + 1}"
        some = labels[start : start + _LABELS]
        files[f"paper/labels{part}.pdf"] = partial(_pdf, label_sheet, some, title=owner, paper=pack.paper)
    return files


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


def _cut(pack):
    drawings = [flat.drawing for flats in pack.cuts.values() for flat in flats]
    return {
        f"cut/{drawing.name}.{ending}": partial(content, drawing)
        for drawing in (*drawings, *pack.sheets)
        for ending, content in (("dxf", dxf_bytes), ("svg", svg_bytes))
    }


def _print(pack):
    files = {}
    for kind, solids in pack.solids.items():
        if solids:
            files[f"print/all-{kind}.3mf"] = partial(three_mf_bytes, solids)
        for one in solids:
            files[f"print/{one.name}.stl"] = partial(stl_bytes, one.on_bed)
            if has_cad():
                files[f"print/{one.name}.step"] = partial(step_bytes, one)
    return files


def _lists(pack, rows):
    steps = [("step", "do or mind", "words")]
    for number, step in enumerate(pack.steps, 1):
        steps += [(f"{number} {step.title}", "mind", f"{risk}. {why} {do}") for risk, why, do in step.cautions]
        steps += [(f"{number} {step.title}", "do", words) for words in step.does]
    lists = {
        "bill-of-materials": bill_rows(pack.items),
        "tools": (("tools",), *((one,) for one in pack.tools)),
        "steps": steps,
        "provenance": rows,
    }
    if pack.coil:
        lists["coil-card"] = (("what", "how much"), *pack.coil)
    return {f"lists/{name}.csv": partial(csv_bytes, rows) for name, rows in lists.items()}
