"""The line protocol of a logger on a serial port: samples, noise and gaps told apart (docs/logger.md)."""

import binascii
import json
import math
import re
from dataclasses import dataclass

from whirlbench import units
from whirlbench.errors import InputError
from whirlbench.measure.columns import COLUMNS, NUMBERS, split_header

LONGEST = 512  # bytes of a line: what is longer has lost its end
_MOST = 2**32  # a sequence number or clock beyond it is noise
_CHECKSUM = re.compile(rb"^(.*)\*([0-9A-Fa-f]{4})$", re.DOTALL)
_COUNT = re.compile(r"\d{1,10}")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?")
_HEADING = re.compile(r"[^\W\d][\w ]*(?:\[[^\[\],]{1,20}\])?\s*")


@dataclass(frozen=True)
class Sample:
    """One line of a logger that came through whole.

    Attributes
    ----------
    sequence, milliseconds : int
        The logger's own count and clock.
    restart : int
        How often the logger had begun anew before it.
    header : tuple of str
        Such as ``voltage [mV]``.
    cells : tuple of str
        Numbers as they were sent, ``""`` where nothing was measured.
    """

    sequence: int
    milliseconds: int
    restart: int
    header: tuple
    cells: tuple

    def numbers(self):
        """Numbers by name: known columns in SI, others as sent under their own header.

        Returns
        -------
        dict of str to (float, str)
            Number and unit; what was not measured is left out.
        """
        return {
            name: (scale * float(cell) + offset, unit)
            for (name, unit, scale, offset), cell in zip(map(meaning, self.header), self.cells, strict=True)
            if cell
        }


def checksum(line):
    """Checksum of a line: CRC-16 with polynomial 0x1021 begun at 0xFFFF, four hexadecimal digits.

    Parameters
    ----------
    line : bytes
        The line without its end.

    Returns
    -------
    bytes
        Such as ``b"29B1"``.

    References
    ----------
    .. [1] The check value of this CRC for ``123456789`` is 29B1 (from memory).
    """
    return b"%04X" % binascii.crc_hqx(line, 0xFFFF)


class LineReader:
    """Takes bytes as they come and gives samples; counts what was lost.

    Attributes
    ----------
    lost : int
        Samples missing between two that came, told by the sequence numbers; a garbled one is among them.
    garbled : int
        Lines that were no sample, header or remark.
    unheaded : int
        Lines of numbers that came before any header told what they are.
    repeated : int
        Samples that came twice.
    restarts : int
        Times the sequence began anew.
    """

    def __init__(self):
        self.lost = self.garbled = self.unheaded = self.repeated = self.restarts = 0
        self._rest, self._too_long = b"", False
        self._header, self._last, self._sealed = None, None, False

    def feed(self, data):
        """Samples that are whole with these bytes.

        Parameters
        ----------
        data : bytes
            Any piece of the stream.

        Returns
        -------
        list of Sample
            In order.
        """
        *lines, self._rest = re.split(rb"[\r\n]", self._rest + data)
        found = []
        for line in lines:
            if self._too_long:  # the end of a line that was given up
                self._too_long = False
            elif line.strip(b" \t\0"):
                sample = self._line(line)
                found += [sample] if sample else []
        if len(self._rest) > LONGEST:
            self.garbled += not self._too_long
            self._rest, self._too_long = b"", True
        return found

    def cut(self):
        """The line broke off: half a line must not be joined to what comes next."""
        self.garbled += bool(self._rest.strip())
        self._rest, self._too_long = b"", False

    def _line(self, line):
        """A sample, or None and a count."""
        try:
            text = self._unsealed(line).decode("ascii").strip()
            if text.startswith("#"):
                return None
            if text.startswith("{"):
                return self._sample(*_from_json(text))
            cells = [cell.strip() for cell in text.split(",")]
            if cells[:2] == ["seq", "ms"]:
                self._header = _checked_header(cells[2:])
                return None
            if self._header is None and _COUNT.fullmatch(cells[0]):
                self.unheaded += 1
                return None
            return self._sample(cells, self._header)
        except (ValueError, TypeError, OverflowError, RecursionError):
            self.garbled += 1
            return None

    def _unsealed(self, line):
        """The line without its checksum; once a line bore one that fits, all have to."""
        sealed = _CHECKSUM.match(line.strip())
        if sealed:
            if checksum(sealed[1]) != sealed[2].upper():
                raise ValueError("checksum")
            if not self._sealed:  # a header that came before without one may be half a header
                self._sealed, self._header = True, None
            return sealed[1]
        if self._sealed and not line.lstrip().startswith(b"#"):
            raise ValueError("no checksum")
        return line

    def _sample(self, cells, header):
        if header is None or len(cells) != len(header) + 2 or not all(map(_COUNT.fullmatch, cells[:2])):
            raise ValueError("no sample")
        if not all(cell == "" or (_NUMBER.fullmatch(cell) and math.isfinite(float(cell))) for cell in cells[2:]):
            raise ValueError("no number")
        sequence, milliseconds = int(cells[0]), int(cells[1])
        if max(sequence, milliseconds) >= _MOST:
            raise ValueError("no count")
        last, self._last = self._last, sequence
        if last is not None and sequence == last:
            self.repeated += 1
            return None
        if last is not None and sequence < last:
            self.restarts += 1
        elif last is not None:
            self.lost += sequence - last - 1
        return Sample(sequence, milliseconds, self.restarts, tuple(header), tuple(cells[2:]))


def _from_json(text):
    """Cells and header of a JSON line."""
    values = json.loads(text)
    counts = [values.pop(name) for name in ("seq", "ms") if name in values]
    numbers = [*counts, *values.values()]
    if any(isinstance(one, bool) or not isinstance(one, int | float | None) for one in numbers):
        raise ValueError("no numbers")
    return ["" if one is None else repr(one) for one in numbers], _checked_header(list(values))


def _checked_header(cells):
    if not cells or len(set(cells)) < len(cells) or not all(map(_HEADING.fullmatch, cells)):
        raise ValueError("no header")
    return tuple(cells)


def meaning(heading):
    """Meaning of a logger's column.

    Parameters
    ----------
    heading : str
        Such as ``voltage [mV]``.

    Returns
    -------
    tuple of (str, str, float, float)
        Name and unit, SI where it is a column of readings, with the scale and the offset that make its numbers so.
    """
    name, unit = split_header(heading)
    if name in NUMBERS:
        try:
            zero, one = (units.read(name, f"{number} {unit}".strip(), COLUMNS[name]) for number in (0, 1))
            return name, COLUMNS[name], one - zero, zero
        except InputError:
            pass
    return heading, unit, 1.0, 0.0
