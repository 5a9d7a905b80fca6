"""What can be made of a kept turbine, asked for from another process: plain values in, a report or bytes out."""

import functools
import io
import json
import zipfile
from pathlib import Path

from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.make_pack import MakeOrder, cautions, ordered_pack
from whirlbench.actions.part_files import Makeables, makeables, part_file, part_picture
from whirlbench.actions.report import Report
from whirlbench.make.pack_files import has_cad, pack_files
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.plain import part_of

_EARLIEST = (1980, 1, 1, 0, 0, 0)  # the same for every file, so equal packs are equal bytes


class CautionLine(Report):
    """One risk of the build, at the step where it arises."""

    where: str
    risk: str
    why: str
    do: str


class Workpieces(Report):
    """Answer of ``workpieces``: what can be made, what to mind, what parts weigh, what stays as it is."""

    makeables: Makeables
    cautions: tuple[CautionLine, ...]
    weights: tuple[str, ...]
    stays: tuple[str, ...]
    step_files: bool


def workpieces(kept, options):
    """Everything that can be made of a turbine.

    Parameters
    ----------
    kept : list
        Canonical JSON of the turbine, and the text of each file that it names.
    options : dict
        Fields of MakeOrder; ``parts_bin`` as canonical JSON, ``since`` as the turbine is given.

    Returns
    -------
    Workpieces
        Pieces, files, cautions.

    Raises
    ------
    InputError
        As ``makeables``.
    """
    turbine, order = _ordered(kept, options)
    told = [
        CautionLine(where=where, risk=risk, why=why, do=do)
        for where, several in cautions(turbine).items()
        for risk, why, do in several
    ]
    pack, _ = ordered_pack(turbine, order)
    return Workpieces(
        makeables=makeables(turbine, order),
        cautions=tuple(told),
        weights=tuple(one.sentence for one in pack.weighings),
        stays=pack.stays,
        step_files=has_cad(),
    )


def workpiece_file(kept, options, path):
    """Bytes of one file.

    Parameters
    ----------
    kept, options : list and dict
        As for ``workpieces``.
    path : str
        As ``workpieces`` tells it.

    Returns
    -------
    bytes
        The whole file.

    Raises
    ------
    UnknownKey
        No such file.
    """
    turbine, order = _ordered(kept, options)
    return part_file(turbine, path, order)


def workpiece_picture(kept, options, name):
    """Picture of one piece.

    Parameters
    ----------
    kept, options : list and dict
        As for ``workpieces``.
    name : str
        As ``workpieces`` tells it.

    Returns
    -------
    bytes
        SVG.

    Raises
    ------
    UnknownKey
        No such piece.
    """
    turbine, order = _ordered(kept, options)
    return part_picture(turbine, name, order).encode()


def slow_file(kept, options, path, place, *, tick, cancelled):
    """Put one file, or all of them in one zip, where a server can send it from.

    Parameters
    ----------
    kept, options : list and dict
        As for ``workpieces``.
    path : str or None
        One file; None for all.
    place : str
        Where it goes; it is there whole or not at all.
    tick, cancelled : callable
        Told the stage and the share that is done; asked whether to end early.

    Returns
    -------
    str or None
        The place; None where it ended early.

    Raises
    ------
    UnknownKey
        No such file.
    """
    turbine, order = _ordered(kept, options)
    tick("drawing", 0.0)
    content = _zipped(turbine, order, tick, cancelled) if path is None else part_file(turbine, path, order)
    if content is None:
        return None
    half = Path(f"{place}.half")
    half.write_bytes(content)
    half.replace(place)
    return place


def _zipped(turbine, order, tick, cancelled):
    files, packed = pack_files(ordered_pack(turbine, order)[0]), io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, (path, content) in enumerate(files.items()):
            if cancelled():
                return None
            tick(path, number / len(files))
            archive.writestr(zipfile.ZipInfo(path, _EARLIEST), content(), zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def _ordered(kept, options):
    return _read(json.dumps(kept), json.dumps(options, sort_keys=True))


@functools.lru_cache(maxsize=32)
def _read(kept, options):
    text, files = json.loads(kept)
    options = json.loads(options)
    if options.get("parts_bin"):
        options["parts_bin"] = part_of(PartsBin, options["parts_bin"], where="parts bin")
    if options.get("since"):
        options["since"] = restored(*options["since"])
    return restored(text, files), MakeOrder(**options)
