"""Plan a fair test: its runs in order, a sheet to print and a file to fill in."""

import csv
from pathlib import Path

from whirlbench.errors import InputError
from whirlbench.make.record_sheet import SheetRow, record_sheet

_HEADER = ("run", "block", "build", "wind_speed [m/s]", "load_resistance [ohm]", "voltage [V]", "rotor_speed [rpm]")
_LAST = ("taken_at", "note")


def write_sheet(plan, path, *, paper="A4"):
    """Write the plan's record sheet as PDF.

    Parameters
    ----------
    plan : Plan
        As ``measure.design`` makes it.
    path : path
        File to write.
    paper : str
        ``A4`` or ``letter``.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        A file that cannot be written, or unknown paper.
    """
    rows = [SheetRow(run.number, run.settings, plan.block_of(run), run.reference) for run in plan.runs]
    lines = [plan.sentence, f"Run them in this order, top to bottom: it was shuffled on purpose. Order {plan.seed}."]
    return record_sheet(path, rows, title=f"Test of {plan.title}", factors=plan.names, lines=lines, paper=paper)


def write_csv(plan, path, *, done=()):
    """Write a readings file with the plan's runs, to be filled in and given to ``compare``.

    Parameters
    ----------
    plan : Plan
        As ``measure.design`` makes it.
    path : path
        File to write; one that is already there may hold readings and is never overwritten.
    done : iterable of int
        Numbers of runs that are done and left out.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        A file that is there, or cannot be written.
    """
    path = Path(path)
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow([*_HEADER, *_LAST])
            for run in plan.left(done):
                row = [run.number, plan.block_of(run), plan.build_of(run)]
                writer.writerow([*row, *[""] * (len(_HEADER) + len(_LAST) - len(row))])
    except FileExistsError:
        raise InputError(
            "readings file", f"'{path}' already there", "a new name", try_="it may hold readings"
        ) from None
    except OSError as error:
        got = f"'{path}' ({(error.strerror or 'no reason').lower()})"
        raise InputError("readings file", got, "a place that can be written", try_="make the folder first") from None
    return path
