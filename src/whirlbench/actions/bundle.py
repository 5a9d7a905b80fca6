"""A team's bundle: out of one store, into another."""

from pathlib import Path

from whirlbench.actions.report import Report
from whirlbench.errors import InputError
from whirlbench.store import bundle, readings, teams, turbines


class BundleReport(Report):
    """Answer of ``bundle``."""

    team: str
    file: str
    turbines: int
    readings: int


def bundle_out(store, team, path):
    """Write everything of a team to one file.

    Parameters
    ----------
    store : Store
        The room's store.
    team : str
        The team.
    path : path
        A file that is not there yet.

    Returns
    -------
    BundleReport
        What is in it.

    Raises
    ------
    InputError
        No such team, or a place that cannot be written.
    """
    path = Path(path)
    with store.looking() as session:
        whose = teams.get(session, team)
        try:
            _pack(session, whose, path)
        except FileExistsError:
            got = f"'{path.name}', which is there already"
            raise InputError("bundle", got, "a new file", try_="write the day into its name") from None
        except OSError as error:
            got = f"'{path}' ({error.strerror})"
            raise InputError("bundle", got, "a file that can be written", try_="name a folder of your own") from None
        return _report(session, whose, path)


def _pack(session, team, path):
    """No bundle is overwritten, and no half of one is left behind."""
    file = path.open("xb")
    try:
        with file:
            bundle.pack(session, team, file)
    except BaseException:
        path.unlink()
        raise


def bundle_in(store, path, *, name=None):
    """Make a team from its bundle.

    Parameters
    ----------
    store : Store
        The room's store.
    path : path
        The bundle.
    name : str, optional
        What to call the team here.

    Returns
    -------
    BundleReport
        What was in it.

    Raises
    ------
    InputError
        A file that is no whole bundle, or a team that is here already.
    """
    with store.writing() as session:
        return _report(session, bundle.unpack(session, path, name=name), Path(path))


def _report(session, team, path):
    kept = turbines.every(session, team)
    return BundleReport(team=team.name, file=path.name, turbines=len(kept), readings=readings.count(session, team))
