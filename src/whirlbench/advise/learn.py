"""Readings sorted into those that are asked about and those that are learned from, and what the latter teach."""

from dataclasses import dataclass

from whirlbench.advise.calibrate import Fit, calibrate
from whirlbench.advise.slips import slips


@dataclass(frozen=True)
class Lesson:
    """What came of a file of readings.

    Attributes
    ----------
    asked : tuple of Slip
        Readings that are asked about and not learned from.
    believed : tuple of Reading
        All others.
    fit : Fit or None
        What these taught; None where none is left.
    """

    asked: tuple
    believed: tuple
    fit: Fit | None


def learn(turbine, readings, prior):
    """Lesson of readings.

    Parameters
    ----------
    turbine : Turbine
        The turbine as built; the readings' own loads take the place of its load.
    readings : sequence of Reading
        At the fan, and pulls on the tower.
    prior : Beliefs
        What is believed of the parts.

    Returns
    -------
    Lesson
        Questions, readings believed, fit.
    """
    asked = tuple(slips(turbine, readings, prior))
    doubtful = {slip.row for slip in asked}
    believed = tuple(reading for reading in readings if reading.row not in doubtful)
    return Lesson(asked, believed, calibrate(turbine, believed, prior) if believed else None)
