"""Sheets of bench tests as tables: written to be filled in, and read when they are."""

import contextlib
import csv
import io
import math

import numpy as np

from whirlbench import units
from whirlbench.errors import InputError, InputErrors, UnknownKey, nearest, within
from whirlbench.measure import numerals
from whirlbench.measure.columns import split_header
from whirlbench.measure.sheet import take_apart
from whirlbench.measure.trial import Filled

_LARGEST = 1e6  # of any reading, SI


def known_facts(trial, turbine=None, told=()):
    """Facts of a sheet as far as they are known before anything is measured.

    Parameters
    ----------
    trial : Trial
        The test.
    turbine : Turbine, optional
        Tells some of them.
    told : sequence of str
        Such as ``pulley radius=10 mm``; they go before all others.

    Returns
    -------
    dict of str to str
        As text.

    Raises
    ------
    InputError
        A fact that the test does not ask for, or a text without =.
    """
    found = {fact.name: fact.default for fact in trial.facts}
    found |= trial.defaults(turbine) if turbine else {}
    for text in told:
        name, mark, value = (piece.strip() for piece in text.partition("="))
        if not mark or name not in found:
            names = [fact.name for fact in trial.facts]
            try_ = nearest(name, names) if names else "leave it out: this test asks for none"
            raise UnknownKey("set", f"'{text}'", "a fact of this test, =, and its value", try_=try_)
        found[name] = value
    return found


def headers(trial):
    """Headings of all columns and facts with their units.

    Parameters
    ----------
    trial : Trial
        The test.

    Returns
    -------
    list of str
        Such as ``speed [rpm]``, columns first.
    """
    return [f"{one.name} [{one.unit}]" if one.unit else one.name for one in (*trial.columns, *trial.facts)]


def csv_text(trial, facts, turbine=None):
    """Table to be filled in: what is known already stands there.

    Parameters
    ----------
    trial : Trial
        The test.
    facts : dict of str to str
        As ``known_facts`` gives them.
    turbine : Turbine, optional
        Tells the rows that the sheet itself fills in.

    Returns
    -------
    str
        CSV; facts stand in the first row.
    """
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    page.write(f"# Bench test {trial.name}: {trial.title}\n")
    writer.writerow(headers(trial))
    rows = printed_rows(trial, facts, turbine)
    for number, row in enumerate(rows):
        once = list(facts.values()) if number == 0 else [""] * len(facts)
        writer.writerow([*row, *once])
    return page.getvalue()


def printed_rows(trial, facts, turbine=None):
    """Rows of a sheet, each as long as there are columns.

    Parameters
    ----------
    trial : Trial
        The test.
    facts : dict of str to str
        As ``known_facts`` gives them.
    turbine : Turbine, optional
        Tells the rows that the sheet itself fills in.

    Returns
    -------
    list of list of str
        Empty cells are to be written by hand.
    """
    given = trial.printed(facts, turbine) if trial.printed else [[] for _ in range(trial.rows)]
    return [row + [""] * (len(trial.columns) - len(row)) for row in given]


def read_filled(trial, data, *, turbine=None, told=(), place="readings"):
    """A filled-in table.

    Parameters
    ----------
    trial : Trial
        The test.
    data : bytes
        CSV in any of the usual encodings, with any of the usual separators and decimal marks.
    turbine : Turbine, optional
        Tells facts that nobody wrote.
    told : sequence of str
        Facts from the command line: they go before the table's.
    place : str
        File name, for the errors.

    Returns
    -------
    Filled
        SI.

    Raises
    ------
    InputErrors
        All cells and headers that cannot be used.
    """
    sheet = take_apart(data)
    names = _headed(trial, sheet.header, place)
    decimal = numerals.decimal_mark(
        (cell for _, _, cells in sheet.rows for (one, _), cell in zip(names, cells, strict=False) if _numeric(one)),
        sheet.separator,
    )
    errors, lines, columns, once = [], [], {one.name: [] for one in trial.columns}, {}
    for line, _, cells in sheet.rows:
        known = zip(names, cells, strict=False)
        written = {one.name: (unit, cell) for (one, unit), cell in known if one and cell}
        for fact in trial.facts:
            if fact.name in written:
                once.setdefault(fact.name, []).append((line, *written[fact.name]))
        if not any(one.name in written for one in trial.columns if not one.printed):
            continue  # a row that nobody filled in
        lines.append(line)
        for one in trial.columns:
            with _told(errors):
                columns[one.name].append(_cell(one, written.get(one.name), decimal, f"{place} line {line}"))
    taken = _facts(trial, once, known_facts(trial, turbine, told), decimal, place=place, errors=errors, told=told)
    if not lines:
        errors.append(InputError(place, "no filled row", "readings", try_="fill in the sheet and save it as CSV"))
    if errors:
        raise InputErrors(errors)
    return Filled(tuple(lines), {name: np.array(cells, dtype=float) for name, cells in columns.items()}, taken)


@contextlib.contextmanager
def _told(errors):
    """Gathers an error, so that all are told at once."""
    try:
        yield
    except InputError as error:
        errors.append(error)


def _facts(trial, once, known, decimal, *, place, errors, told):
    """Facts by name; those of the command line go before those of the table."""
    spoken = {text.partition("=")[0].strip() for text in told}
    taken = {}
    for fact in trial.facts:
        with _told(errors):
            seen = [] if fact.name in spoken else once.get(fact.name, [])
            taken[fact.name] = _fact(fact, seen, known[fact.name], decimal, place=place)
    return taken


def _numeric(one):
    return one is not None and not getattr(one, "text", False) and not getattr(one, "choices", ())


def _headed(trial, header, place):
    """Column or fact and unit of every heading; headings that nobody knows are passed over."""
    asked = {one.name: one for one in (*trial.columns, *trial.facts)}
    found = []
    for cell in header:
        name, unit = split_header(cell)
        one = asked.get(name.replace("_", " "))
        found.append((one, unit or (one.unit if one else "")))
    seen = [one.name for one, _ in found if one]
    lacking = [one.name for one in trial.columns if one.needed and one.name not in seen]
    if lacking:
        needs = f"the columns {', '.join(head for head in headers(trial)[: len(trial.columns)])}"
        try_ = "take the test's own sheet, see trial sheet"
        raise InputErrors([InputError(place, f"no column '{name}'", needs, try_=try_) for name in lacking])
    return found


def _cell(one, written, decimal, place):
    if written is None:
        if not one.needed:
            return math.nan
        raise InputError(f"{place} > {one.name}", "nothing", "a number", try_="write it, or empty the whole row")
    if one.printed and not one.si:
        return math.nan  # a name of the row, such as a blade's number
    unit, cell = written
    return _number(one, cell, unit, decimal, place=f"{place} > {one.name}", low=-math.inf if one.printed else 0.0)


def _number(one, cell, unit, decimal, *, place, low=0.0):
    text = numerals.pointed(cell, decimal, place=place)
    own = text.lstrip("+-0123456789.eE ")
    number = units.read(place, text if own or not unit else f"{text} {unit}", one.si)
    if number < low:
        raise InputError(place, cell, "0 or more", try_="write the size without a sign")
    within(place, number, low=-_LARGEST, high=_LARGEST, unit=one.si, try_="look at the number and its unit")
    return number


def _fact(fact, seen, known, decimal, *, place):
    """One fact, from the table, or else from what was known."""
    texts = {cell for *_, cell in seen}
    if len(texts) > 1:
        what = f"{place} line {seen[1][0]} > {fact.name}"
        raise InputError(what, " and ".join(sorted(texts)), "one value for the whole sheet", try_="write it once")
    unit, text = seen[0][1:] if seen else ("", known)
    where = f"{place} > {fact.name}"
    if not text:
        try_ = f"--set '{fact.name}={units.EXAMPLES.get(fact.si, '1').split(chr(39))[0]}'"
        raise InputError(where, "nothing", fact.hint or "a value", try_=f"write it in the first row, or add {try_}")
    if fact.text:
        return text
    if fact.choices:
        if text.lower() not in fact.choices:
            raise UnknownKey(where, f"'{text}'", " or ".join(fact.choices), try_=nearest(text, fact.choices))
        return text.lower()
    number = _number(fact, text, unit, decimal, place=where)
    if not number:
        raise InputError(where, text, "more than 0", try_="measure it again and look at the unit")
    return number
