"""Turbines to begin with, and turbines that a team brings along as a file."""

from importlib import resources

from whirlbench.parts.files import from_text, read_bin, read_turbine
from whirlbench.parts.turbine import Turbine

STARTS = ("starter", "geared", "advanced")


def start(kind, name):
    """Turbine to begin with.

    Parameters
    ----------
    kind : str
        One of ``STARTS``: card blades straight on the motor, bent blades with gears, airfoils with coils of one's own.
    name : str
        What the team calls it.

    Returns
    -------
    Turbine
        A shipped example under that name.
    """
    with resources.as_file(resources.files("whirlbench") / "examples" / f"{kind}.toml") as path:
        return read_turbine(path).changed(name=name, note="")


def usual_bin():
    """Shipped parts bin, for a room that has not told what it has."""
    with resources.as_file(resources.files("whirlbench") / "examples" / "parts-bin.toml") as path:
        return read_bin(path)


def brought(text, where, name=""):
    """Turbine from the text of its file.

    Parameters
    ----------
    text : str
        TOML.
    where : str
        Name of the file, for errors.
    name : str
        What the team calls it; empty leaves what the file says.

    Returns
    -------
    Turbine
        Checked in full.

    Raises
    ------
    InputErrors
        All that is wrong in the file.
    """
    turbine = from_text(Turbine, text, where=where)
    return turbine.changed(name=name) if name else turbine
