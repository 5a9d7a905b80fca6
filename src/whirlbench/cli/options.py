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
Turbine = Annotated[
    Path, typer.Option("--turbine", metavar="TURBINE", help="The turbine's TOML file.", show_default=False)
]
Meters = Annotated[
    list[str],
    typer.Option(
        metavar="ACCURACY",
        help="As printed on an instrument: '0.5 % + 2 digits', 'amps: 1 %; range 200 mA', 'wind: 3 % + 0.2 m/s'. "
        "Once for each instrument.",
        show_default=False,
    ),
]
Plot = Annotated[Path | None, typer.Option(metavar="FILE", help="Draw to FILE.svg, .png or .pdf.", show_default=False)]
StorePlace = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="PLACE",
        help="Database file or PostgreSQL URL; else $WHIRLBENCH_STORE, else your own data folder.",
        show_default=False,
    ),
]
TeamName = Annotated[str, typer.Option("--team", metavar="TEAM", help="The team's name.", show_default=False)]
IntoTeam = Annotated[
    str | None, typer.Option("--team", metavar="TEAM", help="Keep it for this team.", show_default=False)
]
KeptTurbine = Annotated[
    str | None,
    typer.Option("--turbine", metavar="NAME", help="Kept turbine that stood at the fan.", show_default=False),
]
Fill = Annotated[
    list[str] | None,
    typer.Option(metavar="VALUE", help="What held: 'wind_speed=4.5 m/s'; may be repeated.", show_default=False),
]
Author = Annotated[str, typer.Option("--by", metavar="NAME", help="First name of who does it.", show_default=False)]


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


def ohms(resistance):
    """Load as a person writes it.

    Parameters
    ----------
    resistance : float or None
        [ohm].

    Returns
    -------
    str
        Such as ``47 ohm``; ``open`` where nothing is connected, nothing where it was not written down.
    """
    from whirlbench.measure.derived import OPEN_CIRCUIT

    if resistance is None:
        return ""
    return "open" if resistance >= OPEN_CIRCUIT else units.plain(resistance, "ohm")
