"""TOML files to parts; nothing is half-loaded."""

import tomllib
from pathlib import Path

from whirlbench.errors import InputError, InputErrors
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.event import Event
from whirlbench.parts.part import build
from whirlbench.parts.turbine import Turbine


def read_turbine(path):
    """Turbine from its TOML file.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    Turbine
        Checked in full.

    Raises
    ------
    InputErrors
        All that is wrong in the file.
    InputError
        No such file, or no TOML.
    """
    return _with_own_polar(_read(path, Turbine), Path(path))


def read_bin(path):
    """Parts bin from its TOML file.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    PartsBin
        Checked in full.

    Raises
    ------
    InputErrors
        All that is wrong in the file.
    InputError
        No such file, or no TOML.
    """
    return _read(path, PartsBin)


def read_event(path):
    """Event rules from their TOML file.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    Event
        Checked in full.

    Raises
    ------
    InputErrors
        All that is wrong in the file.
    InputError
        No such file, or no TOML.
    """
    return _read(path, Event)


def from_text(model, text, *, where):
    """Part from the text of its TOML file.

    Parameters
    ----------
    model : type
        Turbine, PartsBin or Event.
    text : str
        What stands in the file.
    where : str
        Name of the file, put before each field in errors.

    Returns
    -------
    Part
        Checked in full.

    Raises
    ------
    InputErrors
        All that is wrong in the text.
    InputError
        No TOML.
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(
            where, f"a slip: {error}", "TOML", try_="look at the line named; text stands in quotes"
        ) from None
    try:
        part = build(model, data, from_file=True, where=where)
    except InputErrors as found:
        raise InputErrors([*_no_format(where, data), *found.errors]) from None
    if missing := _no_format(where, data):
        raise missing[0]
    return part


def _read(path, model):
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError:
        raise InputError("file", f"'{path}'", "a file that can be read", try_="check the name and the folder") from None
    except UnicodeDecodeError:
        raise InputError(
            path.name, "bytes that are no text", "UTF-8 text", try_="save the file as plain text"
        ) from None
    return from_text(model, text, where=path.name)


def _no_format(where, data):
    if "format" in data:
        return []
    return [InputError(f"{where} > format", "nothing", "format = 1 at the top", try_="add the line format = 1")]


def _with_own_polar(turbine, path):
    """Own polar files are named relative to the turbine's file."""
    section = turbine.rotor.section
    if section.kind != "own polar":
        return turbine
    section = section.changed(file=str((path.parent / section.file).resolve()))
    return turbine.changed(rotor=turbine.rotor.changed(section=section))
