"""Save a version of a turbine."""

from whirlbench.actions.report import Report
from whirlbench.store import teams, turbines


class Changed(Report):
    """One field that differs from the version before."""

    field: str
    before: str | None
    after: str | None
    sentence: str


class VersionLine(Report):
    """One saved version of a turbine."""

    number: int
    at: str
    author: str
    gone: bool
    differences: tuple[Changed, ...]


class KeepReport(Report):
    """Answer of ``keep``."""

    team: str
    turbine: str
    new: bool
    version: VersionLine


def keep(store, team, turbine, *, author=""):
    """Save a turbine; what is there already makes no new version.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        Whose it is.
    turbine : Turbine
        The parts.
    author : str
        First name, or empty.

    Returns
    -------
    KeepReport
        The version that holds now, and its differences from the one before.

    Raises
    ------
    InputError
        No such team, or a polar table that cannot be read.
    """
    with store.writing() as session:
        whose = teams.get(session, team)
        version = turbines.keep(session, whose, turbine, author=author)
    return KeepReport(team=whose.name, turbine=turbine.name, new=version.new, version=version_line(version))


def version_line(version):
    """Line of a saved version.

    Parameters
    ----------
    version : TurbineVersion
        From the store.

    Returns
    -------
    VersionLine
        The same in plain words.
    """
    changed = [Changed(**vars(one), sentence=one.sentence) for one in version.differences]
    return VersionLine(
        number=version.number,
        at=version.at,
        author=version.author,
        gone=version.gone,
        differences=tuple(changed),
    )
