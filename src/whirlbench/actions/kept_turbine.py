"""The turbine that a page is about: one version that was kept, as text that another process can read."""

import functools
import hashlib
import tempfile
from pathlib import Path

from whirlbench.actions.report import Report
from whirlbench.errors import InputError
from whirlbench.parts import plain
from whirlbench.parts.turbine import Turbine
from whirlbench.store import documents, teams, turbines


class KeptVersion(Report):
    """One version that can be chosen; an undone one is gone."""

    number: int
    at: str
    author: str
    gone: bool


class KeptTurbine(Report):
    """A chosen turbine: ``text`` is its canonical JSON, ``files`` what it leans on, ``names`` all that the team has."""

    turbine: str
    number: int
    at: str
    author: str
    text: str
    files: dict[str, str]
    versions: tuple[KeptVersion, ...]
    names: tuple[str, ...]

    @property
    def newest(self):
        """Whether it is what holds now."""
        return self.number == self.versions[-1].number


def kept_turbine(store, team, name=None, number=None):
    """Turbine of a team by its name and version.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    name : str, optional
        Which turbine; without it the one that was kept last.
    number : int, optional
        Which version; without it the one that holds now.

    Returns
    -------
    KeptTurbine or None
        None where the team has kept no turbine yet.

    Raises
    ------
    InputError
        No such team, turbine or version.
    """
    with store.looking() as session:
        whose = teams.get(session, team)
        now = documents.every(session, whose, turbines.KIND)
        if not now:
            return None
        name = name or max(now, key=lambda one: one.id).name
        saved = documents.versions(session, documents.find(session, whose, turbines.KIND, name))
    number = saved[-1].number if number is None else number
    if not 1 <= number <= len(saved):
        needs = f"version 1 to {len(saved)}"
        raise InputError(saved[-1].name, f"version {number}", needs, try_="choose one of these versions")
    one = saved[number - 1]
    return KeptTurbine(
        turbine=one.name,
        number=number,
        at=one.at,
        author=one.author,
        text=one.content,
        files=one.files,
        versions=tuple(KeptVersion(number=v.number, at=v.at, author=v.author, gone=v.gone) for v in saved),
        names=tuple(each.name for each in now),
    )


def restored(text, files):
    """Turbine from what was kept; a polar table of its own is put where it can be read.

    Parameters
    ----------
    text : str
        Canonical JSON of the turbine.
    files : dict of str to str
        Text of the files that it names.

    Returns
    -------
    Turbine
        Ready to be computed.
    """
    turbine = plain.part_of(Turbine, text, where="turbine")
    section = turbine.rotor.section
    if section.kind != "own polar" or section.file not in files:
        return turbine
    content = files[section.file].encode()
    place = Path(_folder().name) / f"{hashlib.sha256(content).hexdigest()}.csv"
    if not place.exists():
        place.write_bytes(content)
    return turbine.changed(rotor=turbine.rotor.changed(section=section.changed(file=str(place))))


@functools.cache
def _folder():
    """Folder that goes when this process ends."""
    return tempfile.TemporaryDirectory(prefix="whirlbench-")
