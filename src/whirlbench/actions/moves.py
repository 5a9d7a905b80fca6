"""What holds a kept turbine back and what to change, as the workbench asks for it: every move can be tried there."""

import concurrent.futures
import contextlib
import json

from whirlbench.actions.improve import Search, improve
from whirlbench.actions.improve_report import RankedMove, Test, Verdict
from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.report import Report
from whirlbench.errors import InputError
from whirlbench.measure.readings import Reading
from whirlbench.parts import fields
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.event import Event
from whirlbench.parts.plain import part_of


class Offer(Report):
    """A move, and what to type on the bench to try it; null where it cannot be typed."""

    move: RankedMove
    texts: dict[str, str] | None


class MovesReport(Report):
    """Answer of ``moves``."""

    turbine: str
    holding_back: Verdict
    problems: tuple[str, ...]
    scored_power_W: float
    scored_power_low_W: float
    scored_power_high_W: float
    moves: tuple[Offer, ...]
    steps: tuple[Offer, ...]
    gain_W: float
    then: str
    searched: bool
    next_test: Test
    questions: tuple[str, ...]
    readings: int


def moves(build, room, readings, searching, *, tick, cancelled):
    """Find what holds a turbine back and value every move, in a worker process.

    Parameters
    ----------
    build : list of (str, dict)
        Canonical JSON of the parts, and the text of the files that they lean on by name.
    room : list of str
        Canonical JSON of the parts bin and of the event; an empty text for no event.
    readings : str
        JSON of the readings that were taken with this turbine.
    searching : bool
        Look for the best of all builds instead of the next moves alone.
    tick : callable
        Called with the stage and the share of the work that is done.
    cancelled : callable
        True ends a search with the best found so far.

    Returns
    -------
    MovesReport
        Verdict, moves, path, next test.

    Raises
    ------
    InputError
        A part that cannot be computed, told in four pieces.
    """
    part = restored(*build)
    parts_bin, event = part_of(PartsBin, room[0]), part_of(Event, room[1]) if room[1] else None
    rows = tuple(Reading(**row) for row in json.loads(readings))
    with _search(searching) as search:
        found = improve(part, parts_bin, readings=rows, event=event, search=search, tick=tick, cancelled=cancelled)
    steps, at = [], part
    for one in found.best_build.steps:
        at = one.turbine
        steps.append(_offer(part, one, at))
    return MovesReport(
        turbine=found.turbine,
        holding_back=found.holding_back,
        problems=found.problems,
        scored_power_W=found.scored_power_W,
        scored_power_low_W=found.scored_power_low_W,
        scored_power_high_W=found.scored_power_high_W,
        moves=tuple(_offer(part, one, one.turbine) for one in found.moves),
        steps=tuple(steps),
        gain_W=found.best_build.gain_W,
        then=found.best_build.then,
        searched=found.best_build.searched,
        next_test=found.next_test,
        questions=tuple(one.question for one in found.questions),
        readings=len(rows),
    )


def _offer(now, move, turbine):
    try:
        texts = fields.texts_between(now, turbine)
    except InputError:
        texts = None
    return Offer(move=move, texts=texts)


@contextlib.contextmanager
def _search(wanted):
    """Search in this process alone: the room's computer has two cores, and one of them answers the sliders."""
    if not wanted:
        yield None
        return
    with concurrent.futures.ThreadPoolExecutor(1) as executor:
        yield Search("quick", executor)
        executor.shutdown(cancel_futures=True)
