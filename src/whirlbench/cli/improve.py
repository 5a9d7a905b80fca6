"""``whirlbench improve``: the main job."""

import collections
import contextlib
import sys
from pathlib import Path
from typing import Annotated

import typer

from whirlbench import units
from whirlbench.cli import interrupt, options, show
from whirlbench.errors import InputError, UnknownKey, nearest
from whirlbench.parts.files import read_bin, read_event, read_turbine

_EFFORTS = ("quick", "normal", "thorough")
_INTERRUPTED = 130  # what a shell gives for Ctrl-C
_OF_A_KIND = 3
_PAGE = 12  # moves
_LIKELY = 0.6
_WORTH_A_LOOK = 0.005  # of the power now


_Bin = Annotated[
    Path, typer.Option("--bin", metavar="BIN", help="TOML file of what the room has to build from.", show_default=False)
]
_Readings = Annotated[
    Path | None, typer.Option(metavar="CSV", help="Readings at the fan: they narrow the bands.", show_default=False)
]
_Search = Annotated[
    str | None,
    typer.Option(
        metavar="EFFORT",
        help="Search whole builds: quick, normal (half a minute) or thorough. Ctrl-C ends it with the best so far.",
        show_default=False,
    ),
]
_On = Annotated[
    str | None,
    typer.Option(
        metavar="ADDRESS",
        help="Search on a dask.distributed cluster: the address of its scheduler, such as tcp://192.168.0.5:8786.",
        show_default=False,
    ),
]
_Earlier = Annotated[
    list[str] | None,
    typer.Option(
        metavar="TURBINE=CSV",
        help="A build read before and its readings: old.toml=old.csv; once for each, oldest first.",
        show_default=False,
    ),
]
_Trying = Annotated[
    bool,
    typer.Option("--trying", help="With --search: the build most worth trying next, not the surest one."),
]
_SureStart = Annotated[
    str | None,
    typer.Option(
        metavar="CHANCE",
        help="Advise only builds that start by themselves this surely, 50 to 100 %: the event's, or 90 %; a try 50 %.",
        show_default=False,
    ),
]


def improve(
    turbine: options.TurbineFile,
    *,
    parts_bin: _Bin,
    readings: _Readings = None,
    earlier: _Earlier = None,
    event: options.EventFile = None,
    wind: options.Wind = None,
    search: _Search = None,
    on: _On = None,
    trying: _Trying = False,
    sure_start: _SureStart = None,
    top: Annotated[int, typer.Option(min=1, max=500, help="How many moves to show.")] = _PAGE,
    plot: options.Plot = None,
    as_json: options.AsJson = False,
):
    """Say what holds TURBINE back and rank every move the room can make, in watts."""
    from whirlbench.actions.improve import improve as act
    from whirlbench.measure.readings import read_readings

    _check_search(search, on, trying)
    part, bin_part = read_turbine(turbine), read_bin(parts_bin)
    rows = read_readings(readings) if readings else ()
    given = {
        "earlier": tuple(map(_read_before, earlier or ())),
        "event": read_event(event) if event else None,
        "wind_speeds": options.winds(wind),
        "sure_start": None if sure_start is None else units.read("sure start", sure_start, ""),
    }
    with _interruptible() as cancelled, _search(search, on, trying) as asked, show.progress(1, quiet=as_json) as tick:
        report = act(part, bin_part, readings=rows, search=asked, tick=tick, cancelled=cancelled, **given)
    if plot:
        from whirlbench.actions.draw import draw_prediction
        from whirlbench.actions.predict import PredictReport

        now = PredictReport(turbine=report.turbine, points=(report.now,))
        draw_prediction(part, now, plot, readings=rows, beliefs=report.beliefs.belief())
    show.answer(report, as_json, lambda answer: _in_words(answer, top))


@contextlib.contextmanager
def _interruptible():
    """Lend what tells of a first Ctrl-C; where that or a second one leaves no answer, say so and end."""
    try:
        with interrupt.caught() as cancelled:
            yield cancelled
    except KeyboardInterrupt:
        print("Stopped before there was an answer.", file=sys.stderr)
        raise typer.Exit(_INTERRUPTED) from None


def _read_before(text):
    """An earlier build and its readings."""
    turbine, equals, readings = text.rpartition("=")
    if not equals:
        raise InputError("earlier", f"'{text}'", "a turbine file, = and its readings", try_="old.toml=old-readings.csv")
    from whirlbench.measure.readings import read_readings

    return read_turbine(Path(turbine)), read_readings(Path(readings))


def _check_search(effort, address, trying):
    if effort is None and trying:
        raise InputError("trying", "no search", "a search", try_="add --search quick")
    if effort is None and address is not None:
        raise InputError("on", f"'{address}' without a search", "a search", try_="add --search normal")
    if effort is not None and effort not in _EFFORTS:
        raise UnknownKey("search", f"'{effort}'", "a known effort", try_=nearest(effort, _EFFORTS))


@contextlib.contextmanager
def _search(effort, address, trying):
    """The search that is asked for, on a cluster where one is named; or None."""
    from whirlbench.actions import cluster
    from whirlbench.actions.improve import Search

    if address is None:
        yield None if effort is None else Search(effort, trying=trying)
        return
    with cluster.executor(address) as executor:
        yield Search(effort, executor, trying=trying)


def _in_words(report, top):
    show.say(f"{report.turbine}: {report.holding_back.why}")
    for asked in report.questions:
        show.say(f"Please check line {asked.line} of the readings: {asked.question}. It was not learned from.")
    now = report.now
    show.say(
        f"Now: {show.watts(report.scored_power_W)} expected with all doubts counted, "
        f"{show.between(report.scored_power_low_W, report.scored_power_high_W)} likely "
        f"({show.watts(now.electrical_power_W)} at {now.wind_speed_m_s:.2g} m/s by best estimate)."
    )
    for problem in report.problems:
        show.say(f"As it is: {problem}")
    shown = _varied(report, top)
    _cautions(shown)
    show.table(
        ["", "move", "gain>", "likely", "chance>", "starts", "rules", "work>"],
        [_row(i, move) for i, move in enumerate(shown, start=1)],
        title=f"The best {len(shown)} of {len(report.moves)} moves (all of them: --json)",
    )
    _quickest(report.moves)
    _path(report.best_build)
    _taught(report)
    _next(report.next_test)
    for warning in now.warnings:
        show.say(f"Careful: {warning}")


def _varied(report, top):
    """First moves worth a look; on one page at most three of each kind, so that one part does not fill it."""
    shown, seen = [], collections.Counter()
    for move in report.moves:
        kind = (move.part, move.effort_min)
        seen[kind] += 1
        worth_it = move.gain_W > _WORTH_A_LOOK * report.scored_power_W or move.puts_right
        if top > _PAGE or not shown or (seen[kind] <= _OF_A_KIND and worth_it):
            shown.append(move)
    return shown[:top]


def _cautions(shown):
    """What to mind comes before the ranking, each caution once."""
    minded, notes = {}, {}
    for number, move in enumerate(shown, start=1):
        if move.broken_rules:
            minded.setdefault(f"not allowed: {', '.join(move.broken_rules)}.", []).append(number)
        for problem in move.brings:
            name = problem.partition(":")[0]
            minded.setdefault(notes.setdefault(name, problem), []).append(number)
        if move.caution:
            minded.setdefault(move.caution, []).append(number)
    for caution, numbers in minded.items():
        moves = f"move {numbers[0]}" if len(numbers) == 1 else f"moves {', '.join(map(str, numbers))}"
        show.say(f"Mind, before {moves}: {caution}")


def _row(number, move):
    mends = f" (puts right: {', '.join(move.puts_right)})" if move.puts_right else ""
    return [
        str(number),
        move.change + mends,
        show.watts(move.gain_W, sign=True),
        show.between(move.gain_low_W, move.gain_high_W),
        f"{100 * move.chance_of_gain:.0f} %",
        "yes" if move.starts else "no",
        ("kept" if move.allowed else "broken") if move.safe else "unsafe",
        f"{move.effort_min:.0f} min",
    ]


def _quickest(moves):
    """The move that gains most for its work, where it is not the first anyway."""
    good = [move for move in moves if move.safe and move.allowed and move.starts and move.chance_of_gain >= _LIKELY]
    if not good:
        return
    quick = max(good, key=lambda move: move.gain_W / move.effort_min)
    if quick is not good[0] and quick.gain_W > 0:
        show.say(
            f"Most for the work: {quick.change} ({show.watts(quick.gain_W, sign=True)} in {quick.effort_min:.0f} min)."
        )


def _path(best):
    if best.stopped_early or not best.steps:
        show.say(best.then)
    for number, step in enumerate(best.steps, start=1):
        gain = f"{show.watts(step.gain_W, sign=True)}, {step.effort_min:.0f} min"
        show.say(f"Step {number} ({gain}): {step.change}.")
    if best.steps:
        power = f"{show.watts(best.power_W)} +- {show.watts(best.power_sd_W)}"
        starts = f"a start by itself in {100 * best.start_chance:.0f} % of all believed cases"
        then = "" if best.stopped_early else f" {best.then}"
        show.say(f"That would give {power} after {best.effort_min:.0f} min of work, with {starts}.{then}")


def _next(test):
    show.say(f"Next test ({test.effort_min:.0f} min): {test.measure}. {test.why}")
    for outcome in test.outcomes:
        gain = f" ({show.watts(outcome.gain_W, sign=True)})" if outcome.gain_W else ""
        show.say(f"  {outcome.reading} (chance {100 * outcome.chance:.0f} %): {outcome.best}{gain}.")


def _taught(report):
    if not report.learned:
        show.say("No readings yet, so the bands are wide: they come from the doubt in parts, wind and blade section.")
        return
    words = [one.sentence for one in report.learned if one.narrowed]
    show.say(f"The readings say: {'; '.join(words)}." if words else "The readings narrow nothing yet.")
    rest = [one.meaning for one in report.learned if not one.narrowed]
    if rest:
        show.say(f"They do not tell: {', '.join(rest)}.")
    for pair in report.cannot_tell_apart:
        show.say(f"I cannot tell these apart yet: {pair}.")
