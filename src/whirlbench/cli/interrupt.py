"""Ctrl-C: once to end with what there is, twice to end at once."""

import contextlib
import signal
import threading


class Interrupt:
    """Whether Ctrl-C was pressed since somebody began to ask.

    Notes
    -----
    Before anybody asks, and at the second time, it ends the command as it always does.
    """

    def __init__(self):
        self._listening = self._pressed = False

    def __call__(self):
        self._listening = True
        return self._pressed

    def press(self, *_):
        """Take in a Ctrl-C; a signal handler.

        Raises
        ------
        KeyboardInterrupt
            Where nobody can end early, or not early enough.
        """
        if self._pressed or not self._listening:
            raise KeyboardInterrupt
        self._pressed = True


@contextlib.contextmanager
def caught():
    """Take in Ctrl-C for work that can end early.

    Yields
    ------
    Interrupt
        To be called by that work now and then; True ends it.
    """
    interrupt = Interrupt()
    if threading.current_thread() is not threading.main_thread():  # signals are for the main thread
        yield interrupt
        return
    before = signal.signal(signal.SIGINT, interrupt.press)
    try:
        yield interrupt
    finally:
        signal.signal(signal.SIGINT, before)
