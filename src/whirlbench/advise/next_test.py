"""Which doubt stands in the way of choosing, and the measurement that would lift it."""

from dataclasses import dataclass

import numpy as np

from whirlbench.predict.world import FACTORS, MEANING

_HOW = {
    "wind": "take the turbine away and read the wind in four rings of equal area across the rotor disc",
    "lift": "read volts and rpm with three different resistors in one wind",
    "drag": "disconnect the load (write open for its ohms) and read volts and the free-running rpm in one wind",
    "friction": "with the fan off, flick the rotor and record its speed every second until it stops",
    "teeth": "hang coins on a thread around the rotor shaft until the train just turns, with and without the gears",
    "emf": "turn the generator with a drill, read rpm and open-circuit volts at four speeds",
    "resistance": "at one steady speed read the volts with nothing connected and with a known resistor",
    "start": "bring the wind up slowly from nothing, three times, and note where the rotor breaks away",
    "joint": "pull the tower top sideways with a known weight over a pulley and measure how far it goes",
    "grip": "put the base on a board of the same floor and tilt it until it slides; note the angle",
}
_CLEAR = 0.8  # chance from which one move counts as better than another
_TELLING = 0.15  # share of the doubt below which no single measurement would decide


@dataclass(frozen=True)
class NextTest:
    """The measurement that would help most to choose.

    Attributes
    ----------
    measure : str
        What to do.
    narrows : str
        What it tells, in plain words.
    share : float
        Share of the doubt that it stands for, 0 to 1.
    why : str
        The reason in a sentence.
    """

    measure: str
    narrows: str
    share: float
    why: str


def chance_better(one, two):
    """Chance that one move gains more than another.

    Parameters
    ----------
    one, two : Valued
        Moves valued in the same worlds.

    Returns
    -------
    float
        0 to 1.
    """
    return float((one.gain > two.gain).mean())


def next_test(ranked, worlds):
    """The measurement that would help most to choose between the first moves.

    Parameters
    ----------
    ranked : sequence of Valued
        Best first, at least one.
    worlds : Worlds
        Belief about the turbine now, in which they were valued.

    Returns
    -------
    NextTest
        A measurement, or to build and try the first move where no measurement would decide.
    """
    first = ranked[0]
    rival = next((one for one in ranked[1:] if one.move.family != first.move.family), None)
    close = rival is not None and chance_better(first, rival) < _CLEAR
    doubt = first.gain - rival.gain if close else first.gain
    shares = {name: _share(doubt, worlds.log_factors[:, i]) for i, name in enumerate(FACTORS)}
    factor = max(shares, key=shares.get)
    question = f"between '{first.move.change}' and '{rival.move.change}'" if close else f"about '{first.move.change}'"
    if shares[factor] < _TELLING:
        why = f"No single measurement would settle the doubt {question}; the build itself will tell."
        return NextTest(
            f"try it: {first.move.change}, then read volts and rpm", "the change itself", shares[factor], why
        )
    why = f"{MEANING[factor].capitalize()} is {100 * shares[factor]:.0f} % of the doubt {question}."
    return NextTest(_HOW[factor], MEANING[factor], shares[factor], why)


def _share(doubt, factor):
    """Share of a doubt's variance that goes along with one factor."""
    if factor.std() < 1e-12 or doubt.std() < 1e-12:
        return 0.0
    return float(np.corrcoef(doubt, factor)[0, 1] ** 2)
