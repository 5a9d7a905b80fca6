"""Options that several commands share, and how their text becomes numbers."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench import units

TurbineFile = Annotated[Path, typer.Argument(metavar="TURBINE", help="The turbine's TOML file.", show_default=False)]
EventFile = Annotated[
    Path | None, typer.Option("--event", metavar="EVENT", help="The event's TOML file.", show_default=False)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object, keys in SI units.")]
Wind = Annotated[
    str | None,
    typer.Option(
        metavar="WIND", help="Wind over the rotor: '4 m/s', '3, 4, 5 m/s' or '2:8:0.5 m/s'.", show_default=False
    ),
]
Plot = Annotated[Path | None, typer.Option(metavar="FILE", help="Draw to FILE.svg, .png or .pdf.", show_default=False)]


def winds(text):
    """Winds of an option.

    Parameters
    ----------
    text : str or None
        As typed.

    Returns
    -------
    list of float
        [m/s]; empty when not given.

    Raises
    ------
    UnitError
        Text that is no wind.
    """
    return [] if text is None else units.read_series("wind", text, "m/s")
