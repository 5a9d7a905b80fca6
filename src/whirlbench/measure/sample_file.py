"""Samples on disk: only ever appended, and on the disk itself before they count as kept."""

import json
import os
from pathlib import Path

from whirlbench.errors import InputError

BOOKS = ("taken_at", "restart", "seq", "ms")  # columns before those of the logger


class SampleFile:
    """A CSV or JSONL file of samples; loggers that change their columns get a further file each.

    Attributes
    ----------
    paths : list of Path
        Files written, ``run.csv``, then ``run-2.csv`` and so on.
    kept : int
        Samples that are safely on the disk.
    """

    def __init__(self, path):
        path = Path(path)
        if path.suffix not in (".csv", ".jsonl"):
            raise InputError("out", f"'{path}'", "a name that ends in .csv or .jsonl", try_="--out run.csv")
        self.paths, self.kept = [], 0
        self._path, self._open = path, {}
        self._fresh = self._made(path)

    def append(self, taken_at, samples):
        """Write samples; when this returns, a loss of power takes none of them away.

        Parameters
        ----------
        taken_at : str
            When they came, ISO 8601.
        samples : sequence of Sample
            In order.

        Raises
        ------
        InputError
            The disk is full or gone; what was kept before stays.
        """
        try:
            for file in {self._write(taken_at, sample) for sample in samples}:
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            needs = f"a disk that takes more; {self.kept} samples are kept"
            raise InputError("out", f"'{self._path}' ({error.strerror})", needs, try_="make room") from None
        self.kept += len(samples)

    def close(self):
        """Close all files."""
        for file in filter(None, [*self._open.values(), self._fresh]):
            file.close()

    def _write(self, taken_at, sample):
        """Write one sample to the file of its columns."""
        csv = self._path.suffix == ".csv"
        key = sample.header if csv else None
        if key not in self._open:
            self._open[key], self._fresh = self._fresh or self._made(self._next_name()), None
            if csv:
                self._open[key].write(",".join([*BOOKS, *sample.header]) + "\n")
        self._open[key].write(self._line(taken_at, sample))
        return self._open[key]

    def _made(self, path):
        """A new file; nothing that is there is touched."""
        try:
            file = path.open("x", encoding="utf-8", newline="\n")
        except FileExistsError:
            needs = "a name that is free, for nothing is ever overwritten"
            raise InputError("out", f"'{path}', which is there already", needs, try_="another name") from None
        except OSError as error:
            needs = "a place that can be written"
            raise InputError("out", f"'{path}' ({error.strerror})", needs, try_="a folder of your own") from None
        self.paths.append(path)
        return file

    def _next_name(self):
        return self._path.with_stem(f"{self._path.stem}-{len(self.paths) + 1}")

    def _line(self, taken_at, sample):
        books = (taken_at, sample.restart, sample.sequence, sample.milliseconds)
        if self._path.suffix == ".csv":
            return ",".join([*map(str, books), *sample.cells]) + "\n"
        numbers = {name: float(cell) if cell else None for name, cell in zip(sample.header, sample.cells, strict=True)}
        return json.dumps(dict(zip(BOOKS, books, strict=True)) | numbers) + "\n"
