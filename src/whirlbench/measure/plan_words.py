"""Sizes of a plan as people type them."""

from whirlbench import units
from whirlbench.errors import InputError


def sizes_of(gain, scatter, *, try_):
    """Sizes that a design is made for, as both faces type them.

    Parameters
    ----------
    gain, scatter : str or None
        ``8 %`` or ``5 mW``; both as shares or both in watts.
    try_ : str
        How both are written where they are typed.

    Returns
    -------
    dict
        ``gain``, ``scatter`` and ``size_unit`` for a design; empty where nothing was typed.

    Raises
    ------
    InputError
        A share and watts together, watts without a scatter, or a size that is not more than 0.
    """
    typed = {name: text for name, text in (("gain", gain), ("scatter", scatter)) if text is not None}
    shares = {text.strip().endswith("%") for text in typed.values()}
    if not typed:
        return {}
    if len(shares) > 1 or (set(typed) == {"gain"} and shares == {False}):
        raise InputError("gain and scatter", " and ".join(typed.values()), "both in % or both in watts", try_=try_)
    unit = "" if shares == {True} else "W"
    read = {name: units.read(name, text, unit) for name, text in typed.items()}
    for name, size in read.items():
        if size <= 0:
            raise InputError(name, typed[name], "more than 0", try_="write its size without a sign")
    return {**read, "size_unit": unit}
