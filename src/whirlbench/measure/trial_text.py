"""The guided sheet of a bench test as plain text."""

import textwrap

from whirlbench.measure.trial_table import headers

_WIDTH = 96


def sheet_text(trial, facts, rows):
    """Sheet as text, for the screen or to be printed by anything.

    Parameters
    ----------
    trial : Trial
        The test.
    facts : dict of str to str
        What is known of the things that are written down once.
    rows : sequence of sequence of str
        Rows of the table; empty cells are written by hand.

    Returns
    -------
    str
        Lines of at most 96 letters.
    """
    pieces = [trial.title, textwrap.fill(f"Tells {trial.tells}. Takes about {trial.minutes} min.", _WIDTH), ""]
    for head, entries, mark in (("Mind", trial.cautions, "! "), ("You need", trial.needs, "- ")):
        pieces += [head, *(_hung(entry, mark) for entry in entries), ""]
    pieces += ["Do", *(_hung(step, f"[ ] {number}. ") for number, step in enumerate(trial.steps, start=1)), ""]
    if trial.facts:
        pieces += ["Write once", *(_once(fact, facts[fact.name]) for fact in trial.facts), ""]
    pieces += ["Write in every row", *_table(headers(trial)[: len(trial.columns)], rows), ""]
    pieces += [textwrap.fill(f"How the answer is worked out: {trial.formula}", _WIDTH)]
    return "\n".join(pieces) + "\n"


def _hung(entry, mark):
    return textwrap.fill(entry, _WIDTH, initial_indent=f"  {mark}", subsequent_indent=" " * (2 + len(mark)))


def _once(fact, known):
    hint = " or ".join(fact.choices) if fact.choices else fact.hint
    return f"  {fact.name}: {known or f'__________ {fact.unit}'}   ({hint})"


def _table(names, rows):
    widths = [max(len(name), 10, *(len(row[place]) for row in rows)) for place, name in enumerate(names)]
    rule = "  +" + "+".join("-" * (width + 2) for width in widths) + "+"
    lines = [
        "  | " + " | ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) + " |"
        for row in [names, *rows]
    ]
    return [rule, lines[0], rule, *lines[1:], rule]
