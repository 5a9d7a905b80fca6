"""What is wrong with a build besides its watts, and what a move puts right or brings in."""

from dataclasses import dataclass

from whirlbench.predict.strength import strength


@dataclass(frozen=True)
class Problem:
    """Something that does not hold.

    Attributes
    ----------
    name : str
        What is looked at.
    note : str
        What it means and what to do.
    unsafe : bool
        A part that may break, slide or tip; otherwise a caution.
    """

    name: str
    note: str
    unsafe: bool


def problems(worth):
    """Everything that does not hold in a build, by name.

    Parameters
    ----------
    worth : Worth
        The build in every world.

    Returns
    -------
    dict of str to Problem
        Empty where all holds.
    """
    found = {}
    for margin in strength(worth.assembly, worth.predictions).margins:
        if margin.kept is False:
            name = margin.name.split(" at ")[0]  # a resonance is one problem in whatever wind it comes
            found.setdefault(name, Problem(name, margin.note, margin.decides))
    return found


def change(before, after):
    """What a move puts right and what it brings in.

    Parameters
    ----------
    before, after : dict of str to Problem
        Problems of the turbine before and after the move.

    Returns
    -------
    tuple of two tuples
        Names put right, and problems brought in.
    """
    mended = tuple(name for name in before if name not in after)
    brought = tuple(problem for name, problem in after.items() if name not in before)
    return mended, brought
