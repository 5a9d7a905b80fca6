"""``whirlbench examples``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench.cli import show


def examples(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where to put them; made if missing.", show_default=False)
    ],
):
    """Copy example turbines, a parts bin, an event and readings to FOLDER, to change into your own."""
    from whirlbench.actions.examples import examples as act

    for path in act(folder):
        print(path)
    show.say(
        f"Now try: whirlbench improve {folder / 'starter.toml'} --bin {folder / 'parts-bin.toml'} "
        f"--readings {folder / 'starter-readings.csv'} --event {folder / 'event.toml'}"
    )
