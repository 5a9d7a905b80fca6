"""Run the server: say where it is, open the browser, end in good order."""

import multiprocessing
import signal
import sys
import threading
import webbrowser

import uvicorn

from whirlbench.actions import room
from whirlbench.errors import InputError
from whirlbench.store.store import Store
from whirlbench.web.app import app_of
from whirlbench.web.settings import calm_threads, free

_A_MOMENT = 1.2  # [s] until the server answers
_PATIENCE = 0.5  # [s] with a worker that is asked to end


def serve(settings, *, everywhere, browser, say):
    """Serve the room until somebody ends it."""
    calm_threads()
    host = "0.0.0.0" if everywhere else "127.0.0.1"
    if not free(host, settings.port):
        got, needs = f"{settings.port}, where another program answers", "a free port"
        raise InputError("port", got, needs, try_="name another one, such as --port 8081")
    with Store(settings.store) as store:
        ready, place = room.room(store).ready, store.place
    own = f"http://localhost:{settings.port}/" + ("" if ready else f"setup?key={settings.set_up_key}")
    _tell(settings, say, place=place, own="" if ready else own)
    if browser:
        timer = threading.Timer(_A_MOMENT, webbrowser.open, [own])
        timer.daemon = True
        timer.start()
    options = {"timeout_graceful_shutdown": 1, "log_level": "warning", "proxy_headers": False, "server_header": False}
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # a service is ended as by Ctrl-C
    uvicorn.run(app_of(settings), host=host, port=settings.port, ws_max_size=4096, **options)
    _end_workers()
    say("The room is closed; everything is kept.")


def _tell(settings, say, *, place, own):
    """Say where the room is; a terminal shows it to phones too."""
    others = [each for each in settings.addresses if each != settings.address]
    say(f"The room is at {settings.address}" + (f" (or {', '.join(others)})" if others else ""))
    if sys.stdout.isatty() and settings.addresses:
        import segno

        segno.make(settings.address).terminal(compact=True, border=2)
    say(f"Everything is kept in {place}")
    if own:
        say(f"Set it up once, on this computer: {own}")
    say("Ctrl-C ends it; nothing that was saved is lost.")


def _end_workers():
    """Let no worker live on, whatever it is busy with: it has nothing that is not kept or computed again."""
    for ending in ("terminate", "kill"):
        for each in multiprocessing.active_children():
            getattr(each, ending)()
        for each in multiprocessing.active_children():
            each.join(_PATIENCE)
