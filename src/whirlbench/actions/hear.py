"""Listen to a recording that somebody sent: within a time limit, and the recording is removed in any case."""

import contextlib
import signal
import threading
from pathlib import Path

from whirlbench.actions.listen import ListenReport, listen
from whirlbench.actions.report import Report
from whirlbench.charts import sound
from whirlbench.errors import InputError

_LIMIT = 90  # [s]
_MOST_POINTS = 1200  # of the picture


class HearReport(Report):
    """Answer of ``hear``: what was heard, and its picture as a Vega-Lite description."""

    heard: ListenReport
    picture: dict


def hear(place, options, *, tick, cancelled):
    """Speed of the rotor in a recording that was sent.

    Parameters
    ----------
    place : str
        The recording; it is removed at the end, whatever comes of it.
    options : dict
        Of ``listen``: ``blade_count``, ``guess``, ``fan_path``, ``mains``; the fan's recording is removed too.
    tick, cancelled : callable
        Tells how far it is; asks whether to end.

    Returns
    -------
    HearReport
        The speed, how sure it is, and the spectrum.

    Raises
    ------
    InputError
        A file that cannot be read, a number out of range, or too much work.
    """
    try:
        tick("listening", 0.1)
        with within_time(_LIMIT):
            report = listen(place, **options)
        tick("drawing", 0.9)
        return HearReport(heard=report.model_copy(update={"spectrum": ()}), picture=_picture(report))
    except InputError as error:
        named = error.got.replace(Path(place).name, "this file")
        raise InputError(
            error.what.replace(Path(place).name, "recording"), named, error.needs, try_=error.try_
        ) from None
    finally:
        for one in filter(None, (place, options.get("fan_path"))):
            Path(one).unlink(missing_ok=True)


@contextlib.contextmanager
def within_time(seconds):
    """Stop work that takes too long, where the system has an alarm for it.

    Parameters
    ----------
    seconds : int
        [s].

    Yields
    ------
    None
        To the work.

    Raises
    ------
    InputError
        Time is up.
    """
    if not hasattr(signal, "setitimer") or threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(*_):
        raise InputError("file", f"more than {seconds} s of work", "a shorter one", try_="cut out the part that counts")

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def _picture(report):
    """Spectrum as a picture for the page: the strongest of every few points, so that no line is lost."""
    step = max(1, len(report.spectrum) // _MOST_POINTS)
    groups = [report.spectrum[first : first + step] for first in range(0, len(report.spectrum), step)]
    points = [max(group, key=lambda point: point.height_dB).model_dump() for group in groups]
    marks = [mark.model_dump() for mark in report.marks]
    return sound.swells(points, marks, width="container")
