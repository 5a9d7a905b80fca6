"""The ``whirlbench`` command."""

import importlib
import keyword
import sys
from typing import Annotated

import typer
from typer.core import TyperGroup

from whirlbench import __version__
from whirlbench.errors import WhirlbenchError

# name on the command line, which is also the name of the file and of the function (or group) in it
COMMANDS = (
    "bundle",
    "capture",
    "check",
    "compare",
    "count",
    "curve",
    "doubt",
    "examples",
    "export",
    "fit",
    "history",
    "import",
    "improve",
    "keep",
    "listen",
    "log",
    "make",
    "plan",
    "predict",
    "rotor",
    "run",
    "serve",
    "team",
    "trial",
    "undo",
)
_LOOK = {"add_completion": False, "pretty_exceptions_enable": False, "rich_markup_mode": None}


def written(command):
    """Name of a command's file and function.

    Parameters
    ----------
    command : str
        As typed.

    Returns
    -------
    str
        The same as a name of Python; a word of Python's own gets an underscore, as in ``import_``.
    """
    return command.replace("-", "_") + "_" * keyword.iskeyword(command)


class _Commands(TyperGroup):
    """Imports a command's file only when that command is asked for: a start takes as long as its own work."""

    def __init__(self, *, commands=None, **more):
        super().__init__(commands=dict.fromkeys(COMMANDS), **more)

    def get_command(self, ctx, cmd_name):
        if cmd_name not in COMMANDS:
            return None
        name = written(cmd_name)
        found = getattr(importlib.import_module(f"whirlbench.cli.{name}"), name)
        if isinstance(found, typer.Typer):  # a group of commands
            return typer.main.get_command(found)
        alone = typer.Typer(**_LOOK)
        alone.command(cmd_name)(found)
        return typer.main.get_command(alone)


app = typer.Typer(
    cls=_Commands,
    help="Find what holds a bench-top model wind turbine back, and what to change, in watts.",
    no_args_is_help=True,
    **_LOOK,
)


def _say_version(asked: bool):
    if asked:
        print(__version__)
        raise typer.Exit


@app.callback()
def _top(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and stop.", is_eager=True, callback=_say_version)
    ] = False,
):
    pass


def run():
    """Run the command line; a user's slip prints what, got, needs, try and ends with status 2."""
    try:
        app()
    except WhirlbenchError as error:
        print(error, file=sys.stderr)
        sys.exit(2)
