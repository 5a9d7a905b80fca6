"""Files that people sent, for as long as they are needed: a few minutes, under a name that nobody can guess."""

import contextlib
import secrets
import shutil
import tempfile
import threading
import time
from pathlib import Path

from starlette.datastructures import UploadFile

from whirlbench.errors import InputError

_MINUTES, _MOST = 20, 40
_PREFIX = "whirlbench-sent-"
_LEFT = 24 * 60 * 60.0  # [s] after which what a killed server left behind is removed


class Uploads:
    """Files that were sent and not used yet.

    Parameters
    ----------
    clock : callable
        Seconds that never run back.
    """

    def __init__(self, clock=time.monotonic):
        self._clock, self._sent, self._folder, self._lock = clock, {}, None, threading.Lock()

    def put(self, team, sent, *, what, endings):
        """Keep a file that a form sent; the key under which its team finds it again."""
        if not isinstance(sent, UploadFile) or not sent.filename:
            raise InputError(what, "no file", "a file", try_="choose one first")
        ending = Path(sent.filename).suffix.lower()
        if ending not in endings:
            needs = f"a name that ends in {', '.join(endings)}"
            raise InputError(
                what, f"'{ending}'" if ending else "no ending", needs, try_="save it in one of these forms"
            )
        key = secrets.token_urlsafe(18)
        place = self._place(key, ending)
        with place.open("wb") as file:
            shutil.copyfileobj(sent.file, file, 1 << 16)
        with self._lock:
            self._sent[key] = (self._clock(), team, place, shown_name(sent.filename))
        return key

    def find(self, team, key):
        """Place and name of a file of a team, or None where it is gone."""
        with self._lock:
            self._sweep()
            found = self._sent.get(key)
        return found[2:] if found and found[1] == team else None

    def drop(self, team, key):
        """Forget a file."""
        with self._lock:
            if key in self._sent and self._sent[key][1] == team:
                _remove(self._sent.pop(key)[2])

    def close(self):
        """Forget all of them."""
        if self._folder:
            self._folder.cleanup()

    def _place(self, key, ending):
        with self._lock:
            if self._folder is None:
                _remove_what_was_left()
                self._folder = tempfile.TemporaryDirectory(prefix=_PREFIX)
            self._sweep()
            folder = Path(self._folder.name) / secrets.token_hex(8)
        folder.mkdir()
        return folder / f"sent{ending}"

    def _sweep(self):
        late = self._clock() - 60 * _MINUTES
        old = [key for key, (at, *_) in self._sent.items() if at < late]
        crowd = list(self._sent)[: max(0, len(self._sent) - _MOST)]
        for key in {*old, *crowd}:
            _remove(self._sent.pop(key)[2])


def shown_name(name):
    """Name of a file as it is shown: its last piece, one line, not too long."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return "".join(letter for letter in last if letter.isprintable())[-60:] or "file"


def _remove(place):
    shutil.rmtree(place.parent, ignore_errors=True)


def _remove_what_was_left():
    for folder in Path(tempfile.gettempdir()).glob(f"{_PREFIX}*"):
        with contextlib.suppress(OSError):
            if time.time() - folder.stat().st_mtime > _LEFT:
                shutil.rmtree(folder, ignore_errors=True)
