"""A bench test of one part: what to do, what to write down, and what the readings make of the turbine."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from whirlbench import units
from whirlbench.errors import InputError
from whirlbench.value import Value


@dataclass(frozen=True)
class Fact:
    """Something that is written down once.

    Attributes
    ----------
    name : str
        In plain words.
    unit, si : str
        Unit on the sheet, and the unit inside; both empty for a text or a plain number.
    default : str
        What holds where nothing is written; empty where it must be written.
    hint : str
        How to find it.
    choices : tuple of str
        The only answers, for a text; empty for a number.
    text : bool
        Any text, such as an accuracy.
    """

    name: str
    unit: str = ""
    si: str = ""
    default: str = ""
    hint: str = ""
    choices: tuple = ()
    text: bool = False


@dataclass(frozen=True)
class Column:
    """Something that is written down in every row.

    Attributes
    ----------
    name : str
        In plain words.
    unit, si : str
        Unit on the sheet, and the unit inside.
    needed : bool
        False where a row may leave it empty.
    printed : bool
        The sheet itself says it, such as the number of a ring.
    """

    name: str
    unit: str
    si: str
    needed: bool = True
    printed: bool = False


@dataclass(frozen=True)
class Built:
    """What the turbine's parts say now, for tests that stand on other numbers.

    Attributes
    ----------
    turbine : Turbine
        The turbine.
    emf_constant, resistance : Value
        Of its generator [V*s/rad], [ohm].
    brush_drop : Value
        Volts that its brushes lose [V].
    bending_stiffness : Value
        Of its tower's tube, modulus times second moment [N*m^2].
    """

    turbine: object
    emf_constant: Value
    resistance: Value
    brush_drop: Value
    bending_stiffness: Value


@dataclass(frozen=True)
class Filled:
    """A filled-in sheet.

    Attributes
    ----------
    lines : tuple of int
        Line of each row in the file.
    columns : dict of str to array
        SI; not a number where nothing was written.
    facts : dict of str to float or str
        SI.
    """

    lines: tuple
    columns: dict
    facts: dict

    def __len__(self):
        return len(self.lines)

    def __getitem__(self, name):
        """Column or fact of this name."""
        return self.columns[name] if name in self.columns else self.facts[name]


@dataclass(frozen=True)
class Found:
    """One number that a test found.

    Attributes
    ----------
    what : str
        In plain words.
    value : Value
        SI.
    unit, si : str
        Unit for people, and the unit inside.
    """

    what: str
    value: Value
    unit: str
    si: str


@dataclass(frozen=True)
class Result:
    """What a filled-in sheet says.

    Attributes
    ----------
    found : tuple of Found
        Numbers with doubt.
    changes : dict of tuple of str to str, list or None
        Keys of the turbine's file and their new values as they stand there; None takes a key out.
    sentences : tuple of str
        What a person should know of it.
    """

    found: tuple
    changes: dict
    sentences: tuple = ()


@dataclass(frozen=True)
class Trial:
    """A bench test.

    Attributes
    ----------
    name : str
        As typed.
    title, tells : str
        What it is, and what the turbine learns from it.
    minutes : int
        Work, common practice.
    needs, steps, cautions : tuple of str
        What lies ready, what is done, what to mind.
    formula : str
        How the answer is worked out, in plain words.
    facts, columns : tuple
        What is written down once, and in every row.
    evaluate : callable
        Takes a Filled and a Built, gives a Result.
    rows : int
        Empty rows on a sheet.
    defaults : callable
        Takes a turbine, gives facts that it knows, as text.
    printed : callable
        Takes facts as text and a turbine or None, gives rows that the sheet itself fills in, as lists of text.
    """

    name: str
    title: str
    tells: str
    minutes: int
    needs: tuple
    steps: tuple
    cautions: tuple
    formula: str
    facts: tuple
    columns: tuple
    evaluate: Callable
    rows: int = 8
    defaults: Callable = field(default=lambda turbine: {})
    printed: Callable | None = None


def written(value, unit, digits=4):
    """A value as it stands in a turbine's file.

    Parameters
    ----------
    value : Value
        SI.
    unit : str
        Unit in the file.
    digits : int
        Significant digits of the number.

    Returns
    -------
    str
        Such as ``9.262 ohm +- 1.4 %``.
    """
    doubt = f" +- {100 * value.relative:.2g} %" if value.relative else ""
    return units.show(value.number, unit, digits) + doubt


def several(filled, count, what):
    """Refuse a sheet with too few rows.

    Parameters
    ----------
    filled : Filled
        The sheet.
    count : int
        Least number of rows.
    what : str
        What the rows are.

    Raises
    ------
    InputError
        Fewer rows.
    """
    if len(filled) < count:
        raise InputError(what, f"{len(filled)}", f"{count} or more", try_="take a few more, spread widely")


def every(filled, name):
    """Column in which every row must be written.

    Parameters
    ----------
    filled : Filled
        The sheet.
    name : str
        Of a column that a row may leave empty.

    Returns
    -------
    array or None
        SI; None where no row has it.

    Raises
    ------
    InputError
        Some rows have it and some do not.
    """
    column = filled[name]
    gaps = np.isnan(column)
    if gaps.all():
        return None
    if gaps.any():
        line = filled.lines[int(np.argmax(gaps))]
        raise InputError(
            f"line {line} > {name}", "nothing", "a number as in the other rows", try_="fill it or empty all"
        )
    return column
