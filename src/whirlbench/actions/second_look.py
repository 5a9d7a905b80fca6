"""A second look at a reading before it is kept: could it be a slip, and what is it worth."""

import contextlib
from dataclasses import replace
from math import pi

from whirlbench.actions.doubt import doubt
from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.report import Report
from whirlbench.advise.contradictions import contradictions
from whirlbench.advise.slips import slips
from whirlbench.errors import WhirlbenchError
from whirlbench.measure.readings import Reading
from whirlbench.predict.turbine import priors

_NEW = 0  # line of the reading that is looked at
_RPM = pi / 30
_USUAL = {
    "voltage": ((1e-3, "mV, not V"), (1e3, "V, not mV"), (0.1, "one digit less"), (10.0, "one digit more")),
    "current": ((1e-3, "mA, not A"), (1e3, "A, not mA"), (0.1, "one digit less"), (10.0, "one digit more")),
    "rotor_speed": ((1 / _RPM, "rad/s, not rpm"), (_RPM, "rpm, not rad/s")),
}


class Correction(Report):
    """A number that would leave nothing to ask, SI, and the slip that it supposes."""

    column: str
    number: float
    words: str


class SecondLook(Report):
    """Answer of ``second_look``; an empty question means that nothing is odd. Low and high hold 19 of 20."""

    question: str
    corrections: tuple[Correction, ...]
    electrical_power_W: float | None
    electrical_power_low_W: float | None
    electrical_power_high_W: float | None
    power_coefficient: float | None
    power_coefficient_low: float | None
    power_coefficient_high: float | None
    tip_speed_ratio: float | None


def second_look(reading, *, turbine=None, alike=()):
    """Question about a new reading, if there is one to ask, with its power and coefficient.

    Parameters
    ----------
    reading : dict
        Fields of a ``Reading`` without its row, SI.
    turbine : sequence, optional
        Text and files of what stands at the fan; without it only contradictions are found.
    alike : sequence of dict
        Earlier readings in the same condition.

    Returns
    -------
    SecondLook
        What to ask and what it is worth; nothing is written.
    """
    new = Reading(row=_NEW, **reading)
    others = [Reading(row=place, **one) for place, one in enumerate(alike, 1)]
    part = _part(turbine)
    question = _questions(part, [new], others).get(_NEW, "")
    return SecondLook(
        question=question, corrections=_corrections(part, new, others) if question else (), **_worth(part, new)
    )


def look_again(reading, turbine, alike):
    """Second look, called by position from another process.

    Parameters
    ----------
    reading : dict
        Fields of a ``Reading`` without its row, SI.
    turbine : sequence or None
        Text and files of what stands at the fan.
    alike : sequence of dict
        Earlier readings in the same condition.

    Returns
    -------
    SecondLook
        As ``second_look`` answers.
    """
    return second_look(reading, turbine=turbine, alike=alike)


def _part(turbine):
    try:
        return restored(*turbine) if turbine else None
    except WhirlbenchError:
        return None  # a turbine that this program cannot read says nothing about its readings


def _questions(part, news, others):
    """Question by row; of the others only what they say about the new ones."""
    found = contradictions([*others, *news])
    if part is not None:
        with contextlib.suppress(WhirlbenchError):  # a turbine that cannot be computed says nothing here
            found += slips(part, [one for one in news if one.wind_speed is not None], priors(part))
    return {slip.row: slip.question for slip in reversed(found)}


def _corrections(part, new, others):
    """Usual slips that, put right, leave nothing to ask."""
    tries = [
        (name, factor * getattr(new, name), words)
        for name, usual in _USUAL.items()
        if getattr(new, name)
        for factor, words in usual
    ]
    # a block of its own for each, so that they are not taken for repeats of one another
    rows = [
        replace(new, row=-place, block=f"{new.block} {place}", **{name: number})
        for place, (name, number, _) in enumerate(tries, 1)
    ]
    asked = _questions(part, rows, others)
    fine = [one for row, one in zip(rows, tries, strict=True) if row.row not in asked]
    return tuple(Correction(column=name, number=number, words=words) for name, number, words in fine)


def _worth(part, new):
    names = [name for name in SecondLook.model_fields if name not in ("question", "corrections")]
    found = dict.fromkeys(names)
    found["electrical_power_W"] = new.power
    if part is None:
        return found
    try:
        point = doubt(part, [new]).points[0]
    except WhirlbenchError:
        return found  # no volts with ohms, no speed: nothing to be worth yet
    return {name: getattr(point, name) for name in names}
