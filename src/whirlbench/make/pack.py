"""The build pack as a folder: every file of a turbine's making, put there whole, and a list with checksums."""

import hashlib
import json
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

from whirlbench import __version__
from whirlbench.errors import InputError
from whirlbench.make.nesting import nest
from whirlbench.make.pack_files import pack_files, pack_pieces
from whirlbench.make.pieces import BLADE_SHEET, PAPER_ONLY, PLATE, Refusal
from whirlbench.make.process import process, with_kerf

FORMAT = 1
MANIFEST = "manifest.json"
_SHEET = (600.0, 400.0)  # [mm] where the bin tells no size: common practice
_UNITS = {"dxf": "mm", "svg": "mm", "stl": "mm", "3mf": "mm", "step": "mm", "pdf": "1:1 in mm under paper/"}


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


def cut_paths(flats, kerf=None):
    """Flat pieces as the path of a laser.

    Parameters
    ----------
    flats : sequence of Flat
        True to size.
    kerf : float, optional
        Width of the cut [mm], below 0 for a path inside the part; by default a laser's.

    Returns
    -------
    tuple of tuple of Flat and tuple of Refusal
        Pieces with the kerf in their path, without those for paper only; those with a web narrower than the kerf.
    """
    kerf = process("laser").kerf if kerf is None else kerf
    made, refused = [], []
    for flat in flats:
        if flat.stock == PAPER_ONLY:
            continue
        try:
            made.append(replace(flat, drawing=with_kerf(flat.drawing, kerf)))
        except InputError as error:
            refused.append(Refusal(f"{flat.drawing.name}, cut", " ".join(str(error).split())))
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
    """Files of a pack under a new folder, and the list over them."""
    folder.mkdir()
    made = pack_files(pack)
    for path, content in made.items():
        (folder / path).parent.mkdir(exist_ok=True)
        (folder / path).write_bytes(content())
    files = tuple(_file(path, (folder / path).read_bytes()) for path in sorted(made))
    content = {
        "format": FORMAT,
        "made_by": f"whirlbench {__version__}",
        "turbine": pack.turbine.name,
        "team": pack.team,
        "paper": pack.paper,
        "units": _UNITS,
        "pieces": [{"name": one.name, "count": one.count, "files": list(one.files)} for one in pack_pieces(pack)],
        "left_out": [{"piece": one.piece, "why": one.why} for one in pack.refusals],
        "files": [{"path": one.path, "sha256": one.sha256, "size_bytes": one.size} for one in files],
    }
    text = json.dumps(content, indent=1, ensure_ascii=False) + "\n"
    (folder / MANIFEST).write_text(text, encoding="utf-8", newline="\n")
    return files


def _file(path, content):
    return PackFile(path, hashlib.sha256(content).hexdigest(), len(content))
