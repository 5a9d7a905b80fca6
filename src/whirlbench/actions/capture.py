"""Take samples from a logger on a serial port and keep every one of them."""

import contextlib
import time
from dataclasses import dataclass
from datetime import UTC, datetime

from whirlbench.actions.report import Report
from whirlbench.actions.run_report import QuantityLine, energy_of, quantity_lines
from whirlbench.errors import within
from whirlbench.measure.protocol import LineReader
from whirlbench.measure.run_summary import RunSummary
from whirlbench.measure.sample_file import SampleFile
from whirlbench.measure.serial_port import SerialPort

_BATCH = 0.2  # [s]
_LONGEST = 7 * 86400.0  # [s]


class CaptureReport(Report):
    """Answer of ``capture``."""

    port: str
    files: tuple[str, ...]
    duration_s: float
    samples: int
    lost: int
    garbled_lines: int
    lines_before_header: int
    repeated: int
    restarts: int
    disconnects: int
    stopped_by_hand: bool
    quantities: tuple[QuantityLine, ...]
    energy_J: float | None
    energy_sd_J: float | None
    runs: tuple[int, ...] = ()


@dataclass(frozen=True)
class Now:
    """How a capture stands.

    Attributes
    ----------
    elapsed : float
        [s].
    connected : bool
        Whether the port is open.
    kept, lost, garbled : int
        Samples on the disk, samples missing, lines that were none.
    latest : dict of str to (float, str)
        Last numbers with their units, SI.
    """

    elapsed: float
    connected: bool
    kept: int
    lost: int
    garbled: int
    latest: dict


def capture(port, path, *, baud=115200, duration=None, stop=None, tick=None, fixed=None, keeper=None):
    """Write what a logger sends to a file until time is up or somebody ends it.

    Parameters
    ----------
    port : str
        Serial port.
    path : path
        New file, ``.csv`` or ``.jsonl``.
    baud : int
        Signals a second.
    duration : float, optional
        [s]; without it only ``stop`` ends the run.
    stop : callable, optional
        Asked between two batches, so that none is half kept; True ends the run.
    tick : callable, optional
        Called with a ``Now`` after every batch that is safely on the disk.
    fixed : dict of str to float, optional
        Columns of readings that hold for the whole run, SI, such as ``load_resistance``.
    keeper : Keeper, optional
        Puts the run into a team's store when it is over.

    Returns
    -------
    CaptureReport
        Counts, the statistics of every quantity, and the energy where power can be had.

    Raises
    ------
    InputError
        No such port, a file that is there already, or a time out of range.
    """
    if duration is not None:
        within("for", duration, low=0.1, high=_LONGEST, unit="s", try_="write a time such as '60 s'")
    line, stopped = SerialPort(port, baud), False
    with contextlib.closing(line), contextlib.closing(SampleFile(path)) as file:
        run = _Run(line, file, fixed)
        while not stopped and (duration is None or run.elapsed < duration):
            run.batch(_BATCH if duration is None else min(_BATCH, max(duration - run.elapsed, 0.01)))
            if tick:
                tick(run.now())
            stopped = bool(stop and stop())
        report = run.report(stopped)
    if keeper is None or not report.samples:
        return report
    return report.model_copy(update={"runs": tuple(keeper.keep(one, fixed) for one in file.paths)})


class _Run:
    """One capture on its way."""

    def __init__(self, line, file, fixed):
        self._line, self._file, self._reader = line, file, LineReader()
        self._begun, self._summary, self._latest = time.monotonic(), RunSummary(fixed), {}
        self._clock = (-1, 0.0)  # restart, and what to add to the logger's clock in it

    @property
    def elapsed(self):
        return time.monotonic() - self._begun

    def batch(self, seconds):
        """Read for a while, keep what came, then count it."""
        losses = self._line.disconnects
        samples = self._reader.feed(self._line.read(seconds))
        if self._line.disconnects > losses:
            self._reader.cut()
        if samples:
            self._file.append(datetime.now(UTC).isoformat(timespec="milliseconds"), samples)
            for sample in samples:
                self._count(sample)

    def _count(self, sample):
        seconds = sample.milliseconds / 1000
        if self._clock[0] != sample.restart:
            self._clock = (sample.restart, self.elapsed - seconds)
        self._latest = sample.numbers()
        self._summary.add(seconds + self._clock[1], self._latest)

    def now(self):
        reader = self._reader
        return Now(self.elapsed, self._line.connected, self._file.kept, reader.lost, reader.garbled, self._latest)

    def report(self, stopped):
        reader = self._reader
        return CaptureReport(
            port=self._line.name,
            files=tuple(map(str, self._file.paths)),
            duration_s=self.elapsed,
            samples=self._file.kept,
            lost=reader.lost,
            garbled_lines=reader.garbled,
            lines_before_header=reader.unheaded,
            repeated=reader.repeated,
            restarts=reader.restarts,
            disconnects=self._line.disconnects,
            stopped_by_hand=stopped,
            quantities=quantity_lines(self._summary),
            **energy_of(self._summary),
        )
