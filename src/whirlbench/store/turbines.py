"""Turbines of a team, with every version that was saved."""

from dataclasses import dataclass
from pathlib import Path

from whirlbench.errors import InputError
from whirlbench.parts import plain
from whirlbench.parts.turbine import Turbine
from whirlbench.store import documents, names
from whirlbench.store.differences import Difference, differences

KIND = "turbine"


@dataclass(frozen=True)
class TurbineVersion:
    """One saved version of a turbine.

    Attributes
    ----------
    id : int
        Number in the store, for readings that were taken with it.
    number : int
        1, 2, 3...
    at, author : str
        UTC, ISO 8601; first name or empty.
    gone : bool
        Its making was undone.
    new : bool
        False where the save brought nothing new.
    turbine : Turbine
        The parts; a polar table is named without its folder.
    files : dict of str to str
        Text of the polar table that the turbine names.
    differences : tuple of Difference
        Against the version before; empty for the first.
    """

    id: int
    number: int
    at: str
    author: str
    gone: bool
    new: bool
    turbine: Turbine
    files: dict
    differences: tuple[Difference, ...]


def keep(session, team, turbine, *, author=""):
    """Save a turbine under its own name.

    Parameters
    ----------
    session : Session
        A writing transaction.
    team : Team
        Whose it is.
    turbine : Turbine
        The parts.
    author : str
        First name, or empty.

    Returns
    -------
    TurbineVersion
        The version that holds now, with its differences from the one before.

    Raises
    ------
    InputError
        A polar table that cannot be read.
    """
    turbine, files = _packed(turbine)
    content = plain.text_of(turbine)
    before, now = documents.save(session, team, KIND, turbine.name, content=content, files=files, author=author)
    return _version(before if before is not now else None, now, new=before is not now)


def load(session, team, name, *, number=None):
    """Saved version of a turbine.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    name : str
        Of the turbine.
    number : int, optional
        Which version, with its differences from the one before; without it the one that holds now.

    Returns
    -------
    TurbineVersion
        The version.

    Raises
    ------
    UnknownKey
        No such turbine.
    InputError
        No such version.
    """
    if number is None:
        return _version(None, documents.newest(session, team, KIND, name))
    found = history(session, team, name)
    if not 1 <= number <= len(found):
        needs = f"version 1 to {len(found)}"
        raise InputError(name, f"version {number}", needs, try_="name one of these versions")
    return found[number - 1]


def history(session, team, name):
    """Every saved version of a turbine.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose it is.
    name : str
        Of the turbine.

    Returns
    -------
    tuple of TurbineVersion
        Oldest first.

    Raises
    ------
    UnknownKey
        No such turbine.
    """
    saved = documents.versions(session, documents.find(session, team, KIND, name))
    return tuple(_version(before, now) for before, now in zip((None, *saved), saved, strict=False))


def every(session, team):
    """Turbines of a team, as they are now.

    Parameters
    ----------
    session : Session
        A transaction.
    team : Team
        Whose they are.

    Returns
    -------
    tuple of TurbineVersion
        By name.
    """
    return tuple(_version(None, saved) for saved in documents.every(session, team, KIND))


def _version(before, now, *, new=True):
    turbine = plain.part_of(Turbine, now.content)
    changed = differences(plain.part_of(Turbine, before.content), turbine) if before else ()
    if before and before.files != now.files:
        changed += (Difference("polar table", "one file", "another"),)
    return TurbineVersion(now.id, now.number, now.at, now.author, now.gone, new, turbine, now.files, changed)


def _packed(turbine):
    """The turbine without the folders of this machine, and the files that it leans on."""
    section = turbine.rotor.section
    if section.kind != "own polar":
        return turbine, {}
    path = Path(section.file)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError):
        needs = "a CSV file that can be read"
        raise InputError("own polar", f"'{path.name}'", needs, try_="check the name and the folder") from None
    section = section.changed(file=path.name)
    return turbine.changed(rotor=turbine.rotor.changed(section=section)), {path.name: _short(path.name, text)}


def _short(name, text):
    return "\n".join(names.checked_text(name, line) for line in text.splitlines()) + "\n"
