"""Large files that a job made, kept for a while in a folder that goes when the server ends."""

import shutil
import tempfile
import threading
from collections import OrderedDict
from pathlib import Path


class Shelf:
    """Places for so many files; the oldest makes room.

    Parameters
    ----------
    most : int
        Files at the same time.
    """

    def __init__(self, most=60):
        self._most, self._places, self._folder, self._lock = most, OrderedDict(), None, threading.Lock()

    def place(self, key, name):
        """Place for what a key stands for, the same one as long as it is kept."""
        with self._lock:
            if self._folder is None:
                self._folder = tempfile.TemporaryDirectory(prefix="whirlbench-shelf-")
            if key not in self._places:
                self._places[key] = Path(tempfile.mkdtemp(dir=self._folder.name)) / name
            self._places.move_to_end(key)
            while len(self._places) > self._most:
                _, old = self._places.popitem(last=False)
                shutil.rmtree(old.parent, ignore_errors=True)
            return self._places[key]

    def found(self, place):
        """A file that is still here, or None."""
        place = Path(place) if place else None
        return place if place and place.is_file() else None
