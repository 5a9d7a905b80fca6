"""Bring in a table that somebody sent: looked at as often as they like, then written down for the store."""

import json
import re
from dataclasses import asdict
from pathlib import Path

from whirlbench.actions.hear import within_time
from whirlbench.actions.import_readings import AskedLine, taken
from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.report import Report
from whirlbench.advise.slips import slips
from whirlbench.errors import WhirlbenchError
from whirlbench.measure.gather import gathered
from whirlbench.predict.turbine import priors

_MAP = re.compile(r"say the unit: --map '[^']*'")  # what a command line would be told
_LIMIT = 100  # [s]
_SHOWN = 60  # lines of each kind that are told one by one


class BringReport(Report):
    """Answer of ``bring_in``: how the columns match, and what came of the lines; long lists are cut."""

    columns: tuple[dict, ...]
    decimal_mark: str | None
    readings: int
    refused: int
    refused_lines: tuple[dict, ...]
    questions: tuple[dict, ...]
    without_wind: int
    sentence: str
    first: tuple[dict, ...]


def bring_in(place, wishes, out, turbine=None, *, tick=None, cancelled=None):
    """Look at a table, and write its readings where they are asked for.

    Parameters
    ----------
    place : str
        The file that was sent.
    wishes : dict
        ``mapping``, ``fill`` and ``decimal`` of ``import_readings``.
    out : str or None
        Where the good lines are written as JSON.
    turbine : sequence, optional
        Text and files of what stood at the fan: readings far beyond what it could do are asked about.
    tick, cancelled : callable, optional
        Where it runs as a job.

    Returns
    -------
    BringReport
        Nothing of it is in the store yet.

    Raises
    ------
    InputError
        Nothing in the file, a wish that cannot be met, or too much work.
    """
    with within_time(_LIMIT):
        readings, report = taken(place, **wishes)
        asked = _asked(turbine, readings) or report.questions
        if out:
            Path(out).write_text(json.dumps([asdict(one) for one in readings]), encoding="utf-8")
    return BringReport(
        columns=tuple(one.model_dump() for one in report.columns),
        decimal_mark=report.decimal_mark,
        readings=report.readings,
        refused=len(report.refused),
        refused_lines=tuple(
            {"line": one.line, "text": one.text[:200], "reason": _MAP.sub("write it above", one.reason)}
            for one in report.refused[:_SHOWN]
        ),
        questions=tuple(one.model_dump() for one in asked[:_SHOWN]),
        without_wind=report.without_wind,
        sentence=report.sentence,
        first=tuple(asdict(one) for one in readings[:8]),
    )


def _asked(turbine, readings):
    """Questions of readings that this turbine could not have shown, or that contradict themselves."""
    seen = gathered([one for one in readings if one.wind_speed is not None])
    try:
        part = restored(*turbine) if turbine and seen else None
        return (
            tuple(AskedLine(line=one.row, question=one.question) for one in slips(part, seen, priors(part)))
            if part
            else ()
        )
    except WhirlbenchError:
        return ()  # a turbine that cannot be computed says nothing about its readings
