"""``whirlbench serve``."""

from typing import Annotated

import typer

from whirlbench.cli import options, show


def serve(
    *,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port that browsers come to.")] = 8080,
    only_here: Annotated[bool, typer.Option("--only-here", help="Answer to this computer alone.")] = False,
    name: Annotated[
        list[str] | None,
        typer.Option("--name", metavar="HOST", help="One more name that browsers may ask for.", show_default=False),
    ] = None,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open the page in a browser.")] = True,
    place: options.StorePlace = None,
):
    """Serve the page for the room until Ctrl-C; teams join with a browser on the same network."""
    from whirlbench.web import serving
    from whirlbench.web.settings import LOCAL, Settings, own_hosts

    hosts = (*(LOCAL if only_here else own_hosts()), *(one.lower() for one in name or ()))
    settings = Settings(store=place, port=port, hosts=hosts)
    serving.serve(settings, everywhere=not only_here, browser=browser, say=show.say)
