"""How answers look in a terminal: sentences first, then tables."""

import contextlib
import textwrap

from rich import box
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn
from rich.table import Table

from whirlbench import units

_WIDTH = 100
_NOTHING = 1e-6  # [W] below it no meter of a school sees anything
console = Console(highlight=False, width=None if Console().is_terminal else _WIDTH, soft_wrap=False)


def answer(report, as_json, in_words):
    """Print a report as JSON, or in words.

    Parameters
    ----------
    report : Report
        What an action answered.
    as_json : bool
        Print the JSON object.
    in_words : callable
        Prints the report for a person.
    """
    if as_json:
        print(report.model_dump_json(indent=1, by_alias=True))
    else:
        in_words(report)


def say(text):
    """Print a paragraph, wrapped.

    Parameters
    ----------
    text : str
        The paragraph.
    """
    console.print(textwrap.fill(text, min(console.width, _WIDTH)), markup=False)


def table(columns, rows, *, title=None):
    """Print a plain table; numbers stand to the right.

    Parameters
    ----------
    columns : sequence of str
        Headings; one that ends in ``>`` stands to the right.
    rows : iterable of sequence of str
        Cells.
    title : str, optional
        Line above.
    """
    grid = Table(box=box.SIMPLE_HEAD, title=title, title_justify="left", title_style="bold", pad_edge=False)
    for name in columns:
        grid.add_column(name.removesuffix(">"), justify="right" if name.endswith(">") else "left")
    for row in rows:
        grid.add_row(*row)
    console.print(grid)


def watts(power, *, sign=False):
    """Power as a person writes it.

    Parameters
    ----------
    power : float
        [W].
    sign : bool
        Put a plus before a gain.

    Returns
    -------
    str
        In W or mW.
    """
    if abs(power) < _NOTHING:
        return "0 mW"
    text = units.show(power, "mW", 2) if abs(power) < 0.0995 else units.show(power, "W", 2)
    return f"+{text}" if sign and power > 0 else text


def between(low, high):
    """Range of power in one unit.

    Parameters
    ----------
    low, high : float
        [W].

    Returns
    -------
    str
        Such as ``0.12 to 0.31 W``.
    """
    unit, scale = ("W", 1.0) if max(abs(low), abs(high)) >= 0.0995 else ("mW", 1e3)
    ends = [f"{power * scale:.2g}" if abs(power) > _NOTHING else "0" for power in (low, high)]
    return f"{ends[0]} to {ends[1]} {unit}"


@contextlib.contextmanager
def progress(count, *, quiet=False):
    """Progress bar on the error stream, so that output stays clean.

    Parameters
    ----------
    count : int
        Stages to come.
    quiet : bool
        Show nothing.

    Yields
    ------
    callable
        To be called with the name of each stage as it begins, and with the share of the whole that is done where
        that is known better than by counting stages.
    """
    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeElapsedColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    if quiet or not bar.console.is_terminal:
        yield lambda stage, share=None: None
        return
    with bar:
        task = bar.add_task("", total=count)
        begun = 0

        def tick(stage, share=None):
            nonlocal begun
            bar.update(task, description=stage, completed=begun if share is None else share * count)
            begun += 1

        yield tick
