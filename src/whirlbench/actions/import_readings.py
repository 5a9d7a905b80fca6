"""Bring anybody's table of readings in: match its columns, take the good lines, tell why the others are refused."""

from pathlib import Path

from whirlbench.actions.report import Report
from whirlbench.advise.contradictions import contradictions
from whirlbench.errors import InputError
from whirlbench.measure import headers
from whirlbench.measure.columns import COLUMNS
from whirlbench.measure.readings_file import write_readings
from whirlbench.measure.sheet import take_apart
from whirlbench.measure.table_import import filled, table_decimal, table_readings

_MARKS = {"": None, ",": ",", ".": ".", "comma": ",", "point": "."}


class ColumnMatch(Report):
    """One column of the file and what it is taken for; without a column its cells go to the note."""

    header: str
    column: str | None
    unit: str
    trust: str
    why: str
    example: str


class RefusedLine(Report):
    """A line that did not come in."""

    line: int
    text: str
    reason: str


class AskedLine(Report):
    """A line that came in and should be looked at again."""

    line: int
    question: str


class ImportReport(Report):
    """Answer of ``import``; every line of the file is counted once."""

    file: str
    encoding: str
    separator: str
    decimal_mark: str | None
    columns: tuple[ColumnMatch, ...]
    readings: int
    refused: tuple[RefusedLine, ...]
    header_lines: int
    remark_lines: int
    blank_lines: int
    questions: tuple[AskedLine, ...]
    without_wind: int
    written: str | None
    sentence: str


def import_readings(path, *, mapping=(), fill=(), decimal="", out=None):
    """Take the readings out of a table, and write them to a readings file.

    Parameters
    ----------
    path : path
        CSV in any usual encoding, parted by commas, semicolons or tabs.
    mapping : sequence of str
        A person's word on columns, such as ``V out=voltage [mV]``.
    fill : sequence of str
        What holds for every row, such as ``wind_speed=4.5 m/s``.
    decimal : str
        The mark before decimals; empty to have it found.
    out : path, optional
        A new file; without it nothing is written.

    Returns
    -------
    ImportReport
        Columns, good and refused lines, questions.

    Raises
    ------
    InputError
        No such file, nothing in it, or a wish that cannot be met.
    """
    readings, report = taken(path, mapping=mapping, fill=fill, decimal=decimal)
    if not (out and readings):
        return report
    write_readings(out, readings)
    sentence = _sentence(readings, report.refused, str(out))
    return report.model_copy(update={"written": str(out), "sentence": sentence})


def taken(path, *, mapping=(), fill=(), decimal=""):
    """Readings of a table, before they are written anywhere.

    Parameters
    ----------
    path : path
        CSV in any usual encoding, parted by commas, semicolons or tabs.
    mapping : sequence of str
        A person's word on columns, such as ``V out=voltage [mV]``.
    fill : sequence of str
        What holds for every row, such as ``wind_speed=4.5 m/s``.
    decimal : str
        The mark before decimals; empty to have it found.

    Returns
    -------
    tuple of (tuple of Reading, ImportReport)
        The good lines, and all that is to say of the file.

    Raises
    ------
    InputError
        No such file, nothing in it, or a wish that cannot be met.
    """
    path = Path(path)
    sheet = take_apart(_bytes(path))
    if decimal not in _MARKS:
        raise InputError("decimal", f"'{decimal}'", "a comma or a point", try_="write --decimal , or --decimal .")
    if not (sheet.rows or sheet.header_lines):
        raise InputError(path.name, "no line with cells", "a header and a row or more", try_="look at the file")
    matches = headers.correct(headers.propose(sheet.header, sheet.unit_row), mapping)
    mark = _MARKS[decimal] or table_decimal(sheet, matches)
    readings, refused = table_readings(sheet, matches, decimal=mark, fill=filled(fill))
    return readings, ImportReport(
        file=path.name,
        encoding=sheet.encoding,
        separator={"\t": "tab"}.get(sheet.separator, sheet.separator),
        decimal_mark=mark,
        columns=tuple(_column(k, match, sheet) for k, match in enumerate(matches)),
        readings=len(readings),
        refused=tuple(RefusedLine(line=one.line, text=one.text, reason=one.reason) for one in refused),
        header_lines=len(sheet.header_lines),
        remark_lines=len(sheet.remark_lines),
        blank_lines=len(sheet.blank_lines),
        questions=tuple(AskedLine(line=one.row, question=one.question) for one in contradictions(readings)),
        without_wind=sum(one.wind_speed is None and one.tip_force is None for one in readings),
        written=None,
        sentence=_sentence(readings, refused, None),
    )


def _bytes(path):
    try:
        return path.read_bytes()
    except OSError:
        raise InputError("file", f"'{path}'", "a CSV file that can be read", try_="check name and folder") from None


def _column(k, match, sheet):
    example = next((cells[k] for _, _, cells in sheet.rows if k < len(cells) and cells[k]), "")
    unit = match.unit if match.column and COLUMNS[match.column] is not None else ""
    return ColumnMatch(
        header=match.header, column=match.column, unit=unit, trust=match.trust, why=match.why, example=example[:40]
    )


def _sentence(readings, refused, written):
    count = f"{len(readings)} {'reading' if len(readings) == 1 else 'readings'}"
    lines = f"{len(refused)} {'line' if len(refused) == 1 else 'lines'}"
    came = f"{count} came in" if written else f"{count} would come in"
    tail = f", {lines} did not: see why below" if refused else ", no line was refused"
    return f"{came}{tail}."
