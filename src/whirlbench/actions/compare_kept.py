"""Compare readings that a team kept, with the picture of it; in another process."""

from dataclasses import replace

from whirlbench.actions.compare import CompareReport, compare, picture
from whirlbench.actions.report import Report
from whirlbench.measure.readings import Reading


class ComparedReport(Report):
    """Answer of ``compared``: the verdict, and its picture as a Vega-Lite description."""

    verdict: CompareReport
    picture: dict
    left_out: int


def compared(groups, wishes):
    """Whether one set of readings is better than another.

    Parameters
    ----------
    groups : dict of str to list of dict
        Readings under their names; one group is compared by its builds.
    wishes : dict
        ``of``: a quantity; ``wanted``: gain that must not be missed, a share or None; ``alike``: compare only
        readings in the same wind and load, condition by condition.

    Returns
    -------
    ComparedReport
        The verdict.

    Raises
    ------
    InputError
        Nothing to compare, or nothing in the same wind and load.
    InputErrors
        Readings without the number that is compared.
    """
    readings = {name: [Reading(**one) for one in rows] for name, rows in groups.items()}
    count = sum(map(len, readings.values()))
    if len(readings) > 1 and wishes.get("alike"):
        readings = _in_shared_conditions(readings)
    report = compare(readings, of=wishes["of"], wanted=wishes.get("wanted"))
    left_out = count - sum(map(len, readings.values()))
    return ComparedReport(verdict=report, picture=picture(report), left_out=left_out)


def _in_shared_conditions(readings):
    """Only readings whose wind and load were seen by every group; where there are several, each is a block."""
    seen = [{_condition(row) for row in rows} for rows in readings.values()]
    shared = set.intersection(*seen)
    if not shared:
        return readings  # the comparison itself says what differs
    kept = {name: [row for row in rows if _condition(row) in shared] for name, rows in readings.items()}
    if len(shared) == 1:
        return {name: [replace(row, block="") for row in rows] for name, rows in kept.items()}
    names = {one: f"condition {place}" for place, one in enumerate(sorted(shared, key=str), 1)}
    return {name: [replace(row, block=names[_condition(row)]) for row in rows] for name, rows in kept.items()}


def _condition(row):
    return None if row.wind_speed is None else round(row.wind_speed, 1), row.load_resistance, row.pushed
