"""Readings sorted into those that are asked about and those that are learned from, and what the latter teach."""

from dataclasses import dataclass

from whirlbench.advise import carry
from whirlbench.advise.calibrate import Fit, calibrate
from whirlbench.advise.plausible import worlds_after
from whirlbench.advise.slips import slips
from whirlbench.measure.gather import gathered
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.predict.world import Beliefs


@dataclass(frozen=True)
class Findings:
    """What came of a file of readings.

    Attributes
    ----------
    asked : tuple of Slip
        Readings that are asked about and not learned from.
    believed : tuple of Reading
        All others.
    fit : Fit or None
        What these taught; None where none is left.
    beliefs : Beliefs
        What is believed now.
    """

    asked: tuple
    believed: tuple
    fit: Fit | None
    beliefs: Beliefs


def learn(turbine, readings, prior):
    """Findings of readings.

    Parameters
    ----------
    turbine : Turbine
        The turbine as built; the readings' own loads take the place of its load.
    readings : sequence of Reading
        At the fan, and pulls on the tower; very many are brought together under fewer conditions.
    prior : Beliefs
        What is believed of the parts.

    Returns
    -------
    Findings
        Questions, readings believed, fit.
    """
    readings = gathered(readings)
    asked = tuple(slips(turbine, readings, prior))
    doubtful = {slip.row for slip in asked}
    believed = tuple(reading for reading in readings if reading.row not in doubtful)
    fit = calibrate(turbine, believed, prior) if believed else None
    return Findings(asked, believed, fit, fit.beliefs if fit else prior)


@dataclass(frozen=True)
class History:
    """What earlier builds have taught.

    Attributes
    ----------
    lessons : tuple of carry.Lesson
        Oldest first.
    in_hand : float
        Expected scored power of the best of them [W].
    """

    lessons: tuple = ()
    in_hand: float = 0.0


def learn_in_turn(earlier, scorer):
    """What builds that were read one after the other have taught, each beginning with what was known by then.

    Parameters
    ----------
    earlier : sequence of (Turbine, sequence of Reading)
        Oldest first.
    scorer : Scorer
        Values them.

    Returns
    -------
    History
        Lessons, and the best power so far.
    """
    lessons, in_hand = [], 0.0
    for turbine, readings in earlier:
        turbine = whole.settled(turbine, scorer.winds(turbine))
        prior = carry.believed(lessons, turbine)
        lesson = learn(turbine, readings, prior)
        worlds = worlds_of(turbine, lesson)
        lessons.append(carry.lesson(turbine, lesson.beliefs, worlds))
        in_hand = max(in_hand, float(scorer.worth(turbine, worlds).power.mean()))
    return History(tuple(lessons), in_hand)


def worlds_of(turbine, lesson, lessons=()):
    """Believed worlds of a turbine after its readings.

    Parameters
    ----------
    turbine : Turbine
        As built.
    lesson : Findings
        What its readings taught.
    lessons : sequence of carry.Lesson
        What other builds have taught.

    Returns
    -------
    Worlds
        In agreement with the readings.
    """
    if lesson.fit is None:
        return world.draw(lesson.beliefs, world.COUNT, lessons=lessons)
    return worlds_after(lesson.fit, turbine, lesson.believed, lessons=lessons)
