"""Decimal commas, decimal points and marks between thousands: which is which in this file."""

import re

from whirlbench.errors import InputError

_HEAD = re.compile(r"^[+\-−]?[\d.,]+(?:[eE][+-]?\d+)?")
_GROUPED = re.compile(r"(?<=\d)[\s'’](?=\d{3}(?!\d))")
POINT, COMMA = ".", ","


def decimal_mark(texts, separator):
    """The mark that stands before decimals in these cells.

    Parameters
    ----------
    texts : iterable of str
        Cells of columns with numbers.
    separator : str
        What parts the cells of the file.

    Returns
    -------
    str or None
        ``.`` or ``,``; None where the cells disagree, so that a cell with two readings has to be refused.
    """
    seen, unclear = set(), set()
    for text in texts:
        head = _head(text)
        own = _own_mark(head)
        if own:
            seen.add(own)
        elif own is None:
            unclear.add(POINT if POINT in head else COMMA)
    if seen:
        return seen.pop() if len(seen) == 1 else None
    if unclear == {COMMA}:  # 1,234 is a decimal where the comma does not part the cells, and else could be both
        return COMMA if separator != COMMA else None
    return POINT if len(unclear) < 2 else None


def pointed(text, decimal, *, place):
    """The same text with a point before its decimals and nothing between thousands.

    Parameters
    ----------
    text : str
        A cell.
    decimal : str or None
        The mark of this file, as ``decimal_mark`` tells it.
    place : str
        File, line and column, for the error.

    Returns
    -------
    str
        Ready for ``units.read``.

    Raises
    ------
    InputError
        A number that can be read in two ways.
    """
    text = _GROUPED.sub("", text).replace("−", "-")
    head = _head(text)
    own = _own_mark(head)
    if own == "":
        return text
    mark = own or decimal
    if mark is None:
        needs = "a number that reads one way only"
        raise InputError(place, f"'{head}'", needs, try_="say which mark stands before decimals: --decimal , or .")
    other = POINT if mark == COMMA else COMMA
    whole, _, decimals = head.lstrip("+-").partition(mark)
    if mark in decimals or other in decimals or (other in whole and not _in_groups(whole)):
        try_ = "write decimals with one mark, and groups of three digits with another or none"
        raise InputError(place, f"'{head}'", "a number", try_=try_)
    return head.replace(other, "").replace(mark, POINT) + text[len(head) :]


def _head(text):
    """The number that a cell opens with."""
    match = _HEAD.match(_GROUPED.sub("", text).replace("−", "-"))
    return match[0] if match else ""


def _own_mark(head):
    """The decimal mark that a number shows by itself; empty where it needs none, None where it could be both."""
    if POINT not in head and COMMA not in head:
        return ""
    digits = re.sub(r"[eE].*", "", head).lstrip("+-")
    marks = re.findall(r"[.,]", digits)
    last = marks[-1]
    if len(set(marks)) == 2:
        return last
    if len(marks) > 1:  # 1.234.567: between thousands, so the decimals have the other one
        return (COMMA if last == POINT else POINT) if _in_groups(digits) else last
    return None if _in_groups(digits) and digits == head.lstrip("+-") else last  # 1,234: one thousand, or one and a bit


def _in_groups(digits):
    return bool(re.fullmatch(r"[1-9]\d{0,2}([.,])\d{3}(?:\1\d{3})*|\d+", digits))
