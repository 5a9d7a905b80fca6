"""The other side of ``work``: what a worker process does."""

import contextlib
import importlib
import multiprocessing
import os
import signal
import threading
import time

_news = _stop = None
_OFTEN = 0.2  # [s] between two pieces of news about a job


def begin(news, stop, slow):
    """Make a fresh process a worker."""
    global _news, _stop
    _news, _stop = news, stop
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which then ends its workers
    threading.Thread(target=_end_with, args=(multiprocessing.parent_process(),), daemon=True).start()
    if slow:
        with contextlib.suppress(AttributeError, OSError):
            os.nice(10)


def _end_with(server):
    """A server that was killed leaves no worker behind."""
    server.join()
    os._exit(1)


def run(call, given):
    """Make a call; a report comes back as the bytes of its JSON."""
    return _plain(_function(call)(*given))


def run_job(name, call, given):
    """Make a long call that tells how far it is, and that may be asked to end early."""
    _stop.clear()
    last = 0.0

    def tick(stage, share):
        nonlocal last
        now = time.monotonic()
        if now - last >= _OFTEN:
            last = now
            _news.put((name, stage, float(share)))

    return _plain(_function(call)(*given, tick=tick, cancelled=_stop.is_set))


def _function(call):
    module, _, name = call.partition(":")
    return getattr(importlib.import_module(module), name)


def _plain(answer):
    return answer.model_dump_json(by_alias=True).encode() if hasattr(answer, "model_dump_json") else answer
