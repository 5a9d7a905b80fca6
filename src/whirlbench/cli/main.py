"""The ``whirlbench`` command."""

import sys
from typing import Annotated

import typer

from whirlbench import __version__
from whirlbench.cli.check import check
from whirlbench.cli.examples import examples
from whirlbench.cli.improve import improve
from whirlbench.cli.predict import predict
from whirlbench.cli.rotor import rotor
from whirlbench.errors import WhirlbenchError

app = typer.Typer(
    help="Find what holds a bench-top model wind turbine back, and what to change, in watts.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for command in (check, examples, improve, predict, rotor):
    app.command()(command)


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
