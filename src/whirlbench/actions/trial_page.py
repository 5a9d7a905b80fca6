"""Bench tests as a page takes them: the list, a sheet, and what a filled-in sheet makes of a kept turbine."""

import csv
import io
import tempfile
from pathlib import Path

from whirlbench.actions import trial
from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.report import Report
from whirlbench.actions.trial import TrialReport
from whirlbench.parts import plain, written
from whirlbench.parts.files import read_turbine

_SHEET, _TURBINE, _NEW = "sheet.csv", "turbine.toml", "new.toml"


class TriedReport(Report):
    """Answer of ``tried``: what was found, and the turbine that it makes, as canonical JSON."""

    told: TrialReport
    turbine: str


def listed():
    """All bench tests, called from another process.

    Returns
    -------
    TrialList
        In the order in which a team would do them.
    """
    return trial.listed()


def guided(name, turbine, told):
    """Sheet of a bench test.

    Parameters
    ----------
    name : str
        Of the test.
    turbine : sequence or None
        Text and files of a kept turbine.
    told : sequence of str
        Facts such as ``pulley radius=10 mm``.

    Returns
    -------
    TrialSheet
        All that stands on it.
    """
    return trial.sheet(name, turbine=restored(*turbine) if turbine else None, told=told)


def printed(name, turbine, paper):
    """Sheet of a bench test to print.

    Parameters
    ----------
    name : str
        Of the test.
    turbine : sequence or None
        Text and files of a kept turbine.
    paper : str
        ``A4`` or ``letter``.

    Returns
    -------
    bytes
        PDF.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.pdf"
        trial.sheet(name, turbine=restored(*turbine) if turbine else None, out=path, paper=paper)
        return path.read_bytes()


def tried(name, turbine, header, rows):
    """What a filled-in sheet makes of a turbine.

    Parameters
    ----------
    name : str
        Of the test.
    turbine : sequence
        Text and files of a kept turbine.
    header : sequence of str
        Headings with units, columns first, then facts.
    rows : sequence of sequence of str
        Cells as typed, in the order of the header.

    Returns
    -------
    TriedReport
        Numbers with doubt, changed keys, and the new turbine.

    Raises
    ------
    InputErrors
        Cells that cannot be used.
    InputError
        Readings that make no sense.
    """
    page = io.StringIO()
    writer = csv.writer(page, delimiter=";", lineterminator="\n")
    writer.writerows([header, *rows])
    with tempfile.TemporaryDirectory() as folder:
        sheet, file, new = (Path(folder) / one for one in (_SHEET, _TURBINE, _NEW))
        sheet.write_text(page.getvalue(), encoding="utf-8")
        file.write_text(written.text_of(restored(*turbine)), encoding="utf-8")
        told = trial.read(name, sheet, turbine=file, out=new)
        return TriedReport(told=told.model_copy(update={"written_to": None}), turbine=plain.text_of(read_turbine(new)))
