"""``whirlbench plan``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench.cli import options, show
from whirlbench.errors import InputError
from whirlbench.measure import design, fractions
from whirlbench.measure.plan import Factor
from whirlbench.measure.plan_words import sizes_of

_SHARES = {"1/2": 2, "1/4": 4, "1/8": 8, "1/16": 16}


_Factors = Annotated[
    list[str] | None,
    typer.Option(
        "--factor",
        metavar="NAME=A,B",
        help="What is changed and to what: 'pitch=8 deg,12 deg'; again for more.",
        show_default=False,
    ),
]
_Gain = Annotated[
    str | None,
    typer.Option(metavar="GAIN", help="Gain that must not be missed: '8 %' or '5 mW'.", show_default=False),
]
_Scatter = Annotated[
    str | None,
    typer.Option(metavar="SCATTER", help="How far equal runs scatter: '4 %' or '3 mW'.", show_default="5 %"),
]
_Replicates = Annotated[int | None, typer.Option(min=1, max=120, help="Runs of each setting.", show_default=False)]
_Blocks = Annotated[str, typer.Option(metavar="BLOCKS", help="Spread over days, teams or warm-ups: '3' or 'day=3'.")]
_Paired = Annotated[bool, typer.Option("--paired", help="Run two settings in pairs, close after each other.")]
_Fraction = Annotated[
    str | None,
    typer.Option(metavar="SHARE", help="Run a part of a two-level plan: 1/2, 1/4, 1/8.", show_default=False),
]
_Words = Annotated[
    str | None,
    typer.Option("--generators", metavar="WORDS", help="Your own fraction: 'D=ABC,E=BC'.", show_default=False),
]
_ReferenceEvery = Annotated[
    int | None,
    typer.Option(
        min=0,
        max=50,
        help="Starter build again after so many runs, to see the fan drift; 0: never.",
        show_default=False,
    ),
]
_Minutes = Annotated[float, typer.Option(min=0.1, max=240, help="Minutes a run takes.")]
_Seed = Annotated[int, typer.Option(min=0, help="Same seed, same order.")]
_Sheet = Annotated[
    Path | None, typer.Option(metavar="FILE", help="Record sheet to print, FILE.pdf.", show_default=False)
]
_Paper = Annotated[str, typer.Option(help="Of the sheet: A4 or letter.")]
_Csv = Annotated[Path | None, typer.Option(metavar="FILE", help="Readings file to fill in.", show_default=False)]


_Name = Annotated[
    str | None,
    typer.Option("--name", metavar="NAME", help="Of the kept plan; else what it changes.", show_default=False),
]


def plan(
    factors: _Factors = None,
    *,
    gain: _Gain = None,
    scatter: _Scatter = None,
    replicates: _Replicates = None,
    blocks: _Blocks = "1",
    paired: _Paired = False,
    fraction: _Fraction = None,
    words: _Words = None,
    reference_every: _ReferenceEvery = None,
    minutes: _Minutes = design.MINUTES,
    seed: _Seed = 0,
    sheet: _Sheet = None,
    paper: _Paper = "A4",
    csv: _Csv = None,
    team: options.IntoTeam = None,
    name: _Name = None,
    by: options.Author = "",
    place: options.StorePlace = None,
    as_json: options.AsJson = False,
):
    """Plan a fair test: how many runs, in which order, and how large a gain it sees.

    With --team the plan is kept: log readings with --plan NAME, and compare them with --plan NAME. Without --factor a
    kept plan is shown again with the runs that are done; --csv then writes those that are left.
    """
    kept = {"team": team, "name": name, "by": by, "place": place}
    if team and not factors:
        made, answer = _again(**kept)
    else:
        shape = {"replicates": replicates, "paired": paired, "reference_every": reference_every,
                 "minutes_per_run": minutes, "seed": seed}  # fmt: skip
        made = _designed(factors, (gain, scatter), blocks, (fraction, words), **shape)
        answer = _kept(made, **kept) if team else made
    _write(made, sheet, paper, csv, done=getattr(answer, "done", ()))
    show.answer(answer, as_json, lambda told: _told(told, made, scatter is None and factors))


def _designed(factors, sizes, blocks, share, **shape):
    if not factors:
        raise InputError("factor", "nothing", "what is changed and to what", try_="--factor 'pitch=8 deg,12 deg'")
    name, count = _blocks(blocks)
    return design.design(
        [_factor(text) for text in factors],
        **sizes_of(*sizes, try_="--gain '8 %' --scatter '4 %'"),
        blocks=count,
        block_name=name,
        generators=_generators(len(factors), *share),
        **shape,
    )


def _kept(made, *, team, name, by, place):
    from whirlbench.actions.plans import keep
    from whirlbench.store.store import Store

    with Store(place) as store:
        return keep(store, team, name or made.title, made, author=by)


def _again(*, team, name, by, place):
    """A kept plan with what is kept of it; without a name, nothing and all plans of the team."""
    from whirlbench.actions.plans import kept, listed
    from whirlbench.store.store import Store

    with Store(place) as store:
        if name is None:
            return None, listed(store, team)
        answer = kept(store, team, name)
    return answer.plan, answer


def _write(made, sheet, paper, csv, *, done):
    from whirlbench.actions.plan import write_csv, write_sheet

    if made is None and (sheet or csv):
        raise InputError("name", "nothing", "the plan to write", try_="add --name, or leave --sheet and --csv out")
    if sheet:
        write_sheet(made, sheet, paper=paper)
    if csv:
        write_csv(made, csv, done=done)


def _told(answer, made, assumed):
    if made is None:
        _list(answer)
        return
    done = getattr(answer, "done", ())
    if made is not answer:
        state = "kept" if answer.new else "as it was kept"
        show.say(f"Plan '{answer.name}' of {answer.team}, {state}, version {answer.version}.")
        if done:
            show.say(f"{len(done)} of {len(made.runs)} runs are done.")
    _in_words(made, assumed, done)


def _list(report):
    if not report.plans:
        show.say(f"{report.team} has kept no plan yet.")
        return
    show.table(
        ["plan", "kept (UTC)", "who", "changes", "runs>", "done>"],
        [
            [line.name, line.at[:16].replace("T", " "), line.author, line.title, str(line.runs), str(line.done)]
            for line in report.plans
        ],
    )


def _in_words(made, assumed, done):
    show.say(made.sentence)
    if assumed:
        show.say(
            f"Equal runs are taken to scatter by {made.shown(made.scatter)} (common practice): run one build six "
            "times, take the standard deviation, and plan again with --scatter."
        )
    for sentence in made.alike:
        show.say(f"Mind: {sentence}")
    heads = ["run>", *([made.block_name] if made.blocks > 1 else []), *made.names, ""]
    rows = [
        [
            str(run.number),
            *([str(run.block)] if made.blocks > 1 else []),
            *run.settings,
            " ".join(filter(None, ["reference" * run.reference, "done" * (run.number in done)])),
        ]
        for run in made.runs
    ]
    show.table(heads, rows, title=f"Runs in their order (seed {made.seed})")


def _factor(text):
    name, mark, levels = text.partition("=")
    if not mark or not name.strip():
        raise InputError("factor", f"'{text}'", "a name and its levels", try_="write pitch=8 deg,12 deg")
    pieces = [piece.strip() for piece in levels.split(",") if piece.strip()]
    return Factor(name=name.strip(), levels=tuple(pieces))


def _blocks(text):
    name, _, count = text.rpartition("=")
    try:
        return name.strip() or "block", int(count)
    except ValueError:
        raise InputError("blocks", f"'{text}'", "a number of blocks", try_="write 3 or day=3") from None


def _generators(count, fraction, words):
    if words is not None:
        return tuple(word.strip() for word in words.split(",") if word.strip())
    if fraction is None:
        return ()
    if fraction not in _SHARES:
        raise InputError("fraction", f"'{fraction}'", f"one of {', '.join(_SHARES)}", try_="begin with 1/2")
    return fractions.generators(count, _SHARES[fraction])
