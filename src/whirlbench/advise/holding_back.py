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
    opening : str
        What becomes of the wind's energy now, or why none counts.
    best : tuple of Valued
        The best move of the part group, then that of the second; empty where no move is worth its work.
    sure : bool
        Whether the first stands clear of the second.
    """

    part: str
    opening: str
    best: tuple
    sure: bool

    @property
    def why(self):
        """The reason in a few sentences."""
        if not self.best:
            return self.opening
        first, *second = self.best
        lies = NAMES[first.move.part]
        text = f"{self.opening} The most to gain lies in the {lies}: {first.move.change}, {_gain(first)}."
        for one in second:
            text += f" The best in the {NAMES[one.move.part]} is {one.move.change}, {_gain(one)}."
        return text if self.sure else text + " I cannot tell these two apart yet."


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
        mend = f"First {first.move.change}." if first else "Nothing in the bin mends that."
        opening = f"The stand does not hold in this wind, so no power counts. {mend} {sentence}"
        return HoldingBack("tower", opening, (), True)
    if not groups or groups[0].mean <= max(0.01 * now.power.mean(), 1e-6):
        return HoldingBack("nothing", f"{sentence} No single change from the bin is worth its work.", (), True)
    first, *others = groups
    sure = not others or chance_better(first, others[0]) >= _CLEAR
    return HoldingBack(first.move.part, sentence, tuple(groups[:2]), sure)


def _gain(one):
    unit = "mW" if abs(one.mean) < 0.1 else "W"
    return f"{units.show(one.mean, unit, 2)} more, with a chance of {100 * one.chance:.0f} % to be a gain"
