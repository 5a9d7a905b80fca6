"""Run the server: say where it is, open the browser, end in good order."""

import threading
import webbrowser

import uvicorn

from whirlbench.actions import room
from whirlbench.errors import InputError
from whirlbench.store.store import Store
from whirlbench.web.app import app_of
from whirlbench.web.settings import calm_threads, free

_A_MOMENT = 1.2  # [s] until the server answers


def serve(settings, *, everywhere, browser, say):
    """Serve the room until somebody ends it."""
    calm_threads()
    host = "0.0.0.0" if everywhere else "127.0.0.1"
    if not free(host, settings.port):
        got, needs = f"{settings.port}, where another program answers", "a free port"
        raise InputError("port", got, needs, try_="name another one, such as --port 8081")
    with Store(settings.store) as store:
        ready, place = room.room(store).ready, store.place
    say(f"The room is at {settings.address}")
    say(f"Everything is kept in {place}")
    own = f"http://localhost:{settings.port}/" + ("" if ready else f"setup?key={settings.set_up_key}")
    if not ready:
        say(f"Set it up once, on this computer: {own}")
    say("Ctrl-C ends it; nothing that was saved is lost.")
    if browser:
        timer = threading.Timer(_A_MOMENT, webbrowser.open, [own])
        timer.daemon = True
        timer.start()
    options = {"timeout_graceful_shutdown": 1, "log_level": "warning", "proxy_headers": False, "server_header": False}
    uvicorn.run(app_of(settings), host=host, port=settings.port, ws_max_size=4096, **options)
