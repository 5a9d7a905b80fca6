"""What is wrong with a build besides its watts, and what a move puts right or brings in."""

from dataclasses import dataclass

from whirlbench.predict.strength import strength

LED_CURRENT = 0.03  # [A] indicator LEDs are made for 20 mA: common practice
_RESISTOR_POWER = 0.5  # [W] rating of the usual small resistors: common practice


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
    for problem in _load(worth):
        found.setdefault(problem.name, problem)
    return found


def _load(worth):
    """A load that the current would overheat."""
    part = worth.assembly.turbine.load
    for prediction in worth.predictions:
        state = max((prediction.rest, prediction.pushed), key=lambda one: one.power[0])
        amps, watts = float(state.current[0]), float(state.power[0])
        if part.kind == "leds" and amps / part.in_parallel > LED_CURRENT:
            note = (
                f"{1000 * amps / part.in_parallel:.0f} mA through LEDs made for about 20 mA: they get hot and die; "
                "add a resistor in series or more strings side by side"
            )
            yield Problem("LED current", note, True)
        if part.kind == "resistor" and watts > _RESISTOR_POWER:
            note = f"{watts:.2g} W in the load: a small resistor burns fingers; take one rated for twice that"
            yield Problem("heat in the load", note, False)


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
