"""Two processes of this machine for a search: deaf to Ctrl-C, which is for their parent, and ended when told."""

import concurrent.futures
import contextlib
import multiprocessing
import signal

_COUNT = 2
_told = None  # in a worker: the event that its parent ends it with


class Ended(Exception):
    """Raised in a worker whose parent wants no more of it."""


class Workers(concurrent.futures.ProcessPoolExecutor):
    """Executor with two spawned processes.

    Notes
    -----
    Jobs end themselves by ``check``. To terminate the processes instead would be less to write, but in Python 3.11 it
    can hang for ever when jobs wait in line, since nobody empties the pipe that they stand in.
    """

    def __init__(self):
        context = multiprocessing.get_context("spawn")
        self._told = context.Event()
        super().__init__(_COUNT, mp_context=context, initializer=_begin, initargs=(self._told,))

    def submit(self, fn, /, *args, **kwargs):
        """Hand in a call; the processes that this starts hear no Ctrl-C from their birth on.

        Parameters
        ----------
        fn : callable
            What to do.
        *args, **kwargs
            Its arguments.

        Returns
        -------
        Future
            Its result to come.
        """
        with _held():
            return super().submit(fn, *args, **kwargs)

    def stop(self):
        """End all work, half done or not, and both processes."""
        self._told.set()
        self.shutdown(cancel_futures=True)  # waits: a process that is just being born needs what it is born with


def check():
    """Tell a job to end where its parent wants no more of it; called now and then by the job.

    Raises
    ------
    Ended
        In a worker that was told to stop.
    """
    if _told is not None and _told.is_set():
        raise Ended


def _begin(told):
    global _told
    _told = told
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextlib.contextmanager
def _held():
    """Keep Ctrl-C waiting: a process born meanwhile keeps it waiting for ever."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
