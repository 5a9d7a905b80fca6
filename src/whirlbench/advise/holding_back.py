"""Which part holds the turbine back, and why we say so."""

from dataclasses import dataclass

from whirlbench import units
from whirlbench.advise.next_test import chance_better

_CLEAR = 0.75
_EVEN = 0.5
NAMES = {
    "rotor": "rotor",
    "drivetrain": "drivetrain",
    "generator": "generator",
    "load": "load",
    "tower": "tower and base",
}


@dataclass(frozen=True)
class HoldingBack:
    """The verdict.

    Attributes
    ----------
    part : str
        Part group, or ``nothing`` where no move is worth its work.
    why : str
        The reason in a few sentences.
    sure : bool
        Whether it stands clear of the second.
    """

    part: str
    why: str
    sure: bool


def holding_back(sentence, ranked, now):
    """Verdict from what each part group could gain.

    Parameters
    ----------
    sentence : str
        What becomes of the wind's energy now.
    ranked : sequence of Valued
        Allowed moves that stand and start, best first.
    now : Worth
        The turbine as it is.

    Returns
    -------
    HoldingBack
        Part and reason.
    """
    best = {}
    for one in ranked:
        if one.mean > 0 and one.chance >= _EVEN:
            best.setdefault(one.move.part, one)
    groups = sorted(best.values(), key=lambda one: -one.mean)
    if not now.stands[0]:
        first = best.get("tower")
        mend = f" First {first.move.change}." if first else " Nothing in the bin mends that."
        return HoldingBack("tower", f"The stand does not hold in this wind, so no power counts.{mend} {sentence}", True)
    if not groups or groups[0].mean <= max(0.01 * now.power.mean(), 1e-6):
        return HoldingBack("nothing", f"{sentence} No single change from the bin is worth its work.", True)
    first = groups[0]
    text = f"{sentence} The most to gain lies in the {NAMES[first.move.part]}: {first.move.change}, {_gain(first)}."
    if len(groups) == 1:
        return HoldingBack(first.move.part, text, True)
    second = groups[1]
    rest = f" The best in the {NAMES[second.move.part]} is {second.move.change}, {_gain(second)}."
    sure = chance_better(first, second) >= _CLEAR
    if not sure:
        rest += " I cannot tell these two apart yet."
    return HoldingBack(first.move.part, text + rest, sure)


def _gain(one):
    unit = "mW" if abs(one.mean) < 0.1 else "W"
    return f"{units.show(one.mean, unit, 2)} more, with a chance of {100 * one.chance:.0f} % to be a gain"
