"""How answers look in a terminal: sentences first, then tables."""

import textwrap

from rich import box
from rich.console import Console
from rich.table import Table

from whirlbench import units

_WIDTH = 100
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
        print(report.model_dump_json(indent=1))
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


def watts(power):
    """Power as a person writes it.

    Parameters
    ----------
    power : float
        [W].

    Returns
    -------
    str
        In W or mW.
    """
    return units.show(power, "mW") if abs(power) < 0.0995 else units.show(power, "W")
