"""A serial port that may vanish and come back."""

import contextlib
import time

from whirlbench.errors import InputError

try:
    from termios import error as _terminal_error
except ImportError:  # not on this system
    _terminal_error = OSError

_GONE = (OSError, _terminal_error)
_RETRY = 0.2  # [s]
_PIECE = 0.05  # [s]


class SerialPort:
    """Bytes of a serial port; a port that is gone is opened again as soon as it is back.

    Attributes
    ----------
    name : str
        Device as the system calls it.
    disconnects : int
        How often it was lost.
    """

    def __init__(self, name, baud):
        self.name, self.disconnects = str(name), 0
        self._baud, self._line = baud, None
        try:
            self._line = self._opened()
        except (*_GONE, ValueError) as error:
            known = ", ".join(ports()) or "none"
            needs = f"a serial port that can be opened; this computer shows: {known}"
            try_ = "plug the logger in, and close other programs that hold its port"
            raise InputError(
                "port", f"'{name}' ({getattr(error, 'strerror', None) or error})", needs, try_=try_
            ) from None

    @property
    def connected(self):
        """Whether the port is open now."""
        return self._line is not None

    def read(self, seconds):
        """Bytes that came within a time; fewer or none when the port is gone.

        Parameters
        ----------
        seconds : float
            How long to gather.

        Returns
        -------
        bytes
            All that came, also right before the port was lost.
        """
        pieces, end = [], time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                self._line = self._line or self._opened()
                # never more than is there: a longer read loses its beginning when the port goes in the middle of it
                pieces.append(self._line.read(self._line.in_waiting or 1))
            except _GONE:
                if self._line is not None:
                    self._lose()
                    break
                time.sleep(min(_RETRY, max(0.0, end - time.monotonic())))
        return b"".join(pieces)

    def close(self):
        """Let go of the port."""
        if self._line is not None:
            with contextlib.suppress(*_GONE):
                self._line.close()
            self._line = None

    def _lose(self):
        self.disconnects += 1
        self.close()

    def _opened(self):
        import serial

        return serial.Serial(self.name, self._baud, timeout=_PIECE, exclusive=True)


def ports():
    """Names of the serial ports that this computer shows.

    Returns
    -------
    list of str
        In order.
    """
    from serial.tools import list_ports

    return sorted(port.device for port in list_ports.comports())
