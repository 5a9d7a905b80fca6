"""Bring in a table that somebody sent: looked at as often as they like, then written down for the store."""

import json
from dataclasses import asdict
from pathlib import Path

from whirlbench.actions.hear import within_time
from whirlbench.actions.import_readings import taken
from whirlbench.actions.report import Report

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


def bring_in(place, wishes, out, tick=None, *, cancelled=None):
    """Look at a table, and write its readings where they are asked for.

    Parameters
    ----------
    place : str
        The file that was sent.
    wishes : dict
        ``mapping``, ``fill`` and ``decimal`` of ``import_readings``.
    out : str or None
        Where the good lines are written as JSON.
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
        if out:
            Path(out).write_text(json.dumps([asdict(one) for one in readings]), encoding="utf-8")
    return BringReport(
        columns=tuple(one.model_dump() for one in report.columns),
        decimal_mark=report.decimal_mark,
        readings=report.readings,
        refused=len(report.refused),
        refused_lines=tuple(one.model_dump() | {"text": one.text[:200]} for one in report.refused[:_SHOWN]),
        questions=tuple(one.model_dump() for one in report.questions[:_SHOWN]),
        without_wind=report.without_wind,
        sentence=report.sentence,
        first=tuple(asdict(one) for one in readings[:8]),
    )
