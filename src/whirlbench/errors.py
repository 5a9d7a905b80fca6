"""Every error a user can see.

WhirlbenchError
├── InputError        a field holds something we cannot use: what, got, needs, try
│   ├── OutOfRange    a number outside the range a formula or part is good for
│   ├── UnitError     text that is not a number with a fitting unit
│   ├── UnknownKey    a name that nothing answers to; says the nearest
│   └── Conflict      somebody else changed it first; nothing was written
├── InputErrors       everything that is wrong in one file, told at once
├── TableError        a shipped table that breaks the rules of the house
└── MissingExtra      a feature that needs an optional part of the installation
"""

import difflib

import numpy as np


class WhirlbenchError(Exception):
    """Root of everything Whirlbench says no with."""


class InputError(WhirlbenchError):
    """A field that cannot be used, told in four pieces.

    Parameters
    ----------
    what : str
        Name of the field as the user knows it.
    got : str
        What stood there.
    needs : str
        What it takes instead.
    try_ : str
        What the user can do next.
    """

    def __init__(self, what, got, needs, *, try_):
        self.what, self.got, self.needs, self.try_ = what, got, needs, try_
        super().__init__(f"{what}: got {got}, needs {needs}. Try: {try_}.")

    def __reduce__(self):
        """Let the error travel whole from a worker process."""
        return _remade, (type(self), self.what, self.got, self.needs, self.try_)

    def under(self, where):
        """Return the same error with the field's place in the file put before its name.

        Parameters
        ----------
        where : str
            Place of the field, for example ``turbine.toml > generator``.

        Returns
        -------
        InputError
            Same class, longer ``what``.
        """
        return type(self)(f"{where} > {self.what}", self.got, self.needs, try_=self.try_)


class OutOfRange(InputError):
    """A number outside the range that a formula or a part is good for."""


class UnitError(InputError):
    """Text that is not a number with a fitting unit."""


class UnknownKey(InputError):
    """A name that nothing answers to."""


class Conflict(InputError):
    """A change to something that somebody else changed first; nothing was written."""


class TableError(WhirlbenchError):
    """A table without its source, or with a row that does not fit its header."""


class MissingExtra(WhirlbenchError):
    """A feature that needs an optional part of the installation."""


def within(what, value, *, low, high, unit, try_):
    """Refuse a number, or any of an array of numbers, outside a closed range.

    Parameters
    ----------
    what : str
        Name of the quantity in plain words.
    value : float or array
        The number or numbers to check, SI.
    low, high : float
        Ends of the range, both allowed; infinities switch an end off.
    unit : str
        SI unit for the message.
    try_ : str
        What the user can do next.

    Raises
    ------
    OutOfRange
        A value below ``low``, above ``high``, or not a number at all.
    """
    if type(value) is float and low <= value <= high:  # most are: this is asked very often
        return
    numbers = np.asarray(value, dtype=float)
    bad = ~((numbers >= low) & (numbers <= high))
    if bad.any():
        worst = numbers[bad].flat[0] if numbers.ndim else float(numbers)
        span = f"{low:g} to {high:g} {unit}".strip()
        raise OutOfRange(what, f"{worst:g} {unit}".strip(), span, try_=try_)


def nearest(name, known):
    """Sentence that points from a misspelt name to the nearest known one.

    Parameters
    ----------
    name : str
        The name that nothing answers to.
    known : iterable of str
        The names that exist.

    Returns
    -------
    str
        ``did you mean 'x'?`` or the list of all names.
    """
    known = {one.lower(): one for one in sorted(known)}
    wanted = name.lower()
    begun = [one for one in known if len(wanted) > 2 and one.startswith(wanted)]  # a name cut short
    close = begun or difflib.get_close_matches(wanted, known, n=1, cutoff=0.5)
    return f"write '{known[close[0]]}', the nearest known name" if close else "use one of " + ", ".join(known.values())


class InputErrors(WhirlbenchError):
    """Everything that is wrong in one file or form, told at once.

    Parameters
    ----------
    errors : sequence of InputError
        At least one.
    """

    def __init__(self, errors):
        self.errors = tuple(errors)
        super().__init__("\n".join(str(error) for error in self.errors))

    def __reduce__(self):
        """Let the errors travel whole from a worker process."""
        return type(self), (self.errors,)


def _remade(kind, *pieces):
    return kind(*pieces[:-1], try_=pieces[-1])
