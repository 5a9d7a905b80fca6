"""``whirlbench plan``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench import units
from whirlbench.cli import options, show
from whirlbench.errors import InputError
from whirlbench.measure import design, fractions
from whirlbench.measure.plan import Factor

_SHARES = {"1/2": 2, "1/4": 4, "1/8": 8, "1/16": 16}


_Factors = Annotated[
    list[str],
    typer.Option(
        "--factor", metavar="NAME=A,B", help="What is changed and to what: 'pitch=8 deg,12 deg'; again for more."
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
    typer.Option(min=0, max=50, help="Starter build again after so many runs; 0: never.", show_default=False),
]
_Minutes = Annotated[float, typer.Option(min=0.1, max=240, help="Minutes a run takes.")]
_Seed = Annotated[int, typer.Option(min=0, help="Same seed, same order.")]
_Sheet = Annotated[
    Path | None, typer.Option(metavar="FILE", help="Record sheet to print, FILE.pdf.", show_default=False)
]
_Paper = Annotated[str, typer.Option(help="Of the sheet: A4 or letter.")]
_Csv = Annotated[Path | None, typer.Option(metavar="FILE", help="Readings file to fill in.", show_default=False)]


def plan(
    factors: _Factors,
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
    as_json: options.AsJson = False,
):
    """Plan a fair test: how many runs, in which order, and how large a gain it sees."""
    from whirlbench.actions.plan import write_csv, write_sheet

    name, count = _blocks(blocks)
    made = design.design(
        [_factor(text) for text in factors],
        **_sizes(gain, scatter),
        replicates=replicates,
        blocks=count,
        block_name=name,
        paired=paired,
        generators=_generators(len(factors), fraction, words),
        reference_every=reference_every,
        minutes_per_run=minutes,
        seed=seed,
    )
    if sheet:
        write_sheet(made, sheet, paper=paper)
    if csv:
        write_csv(made, csv)
    show.answer(made, as_json, lambda answer: _in_words(answer, scatter is None))


def _in_words(made, assumed):
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
            "reference" if run.reference else "",
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


def _sizes(gain, scatter):
    """Gain and scatter, both as shares or both in watts."""
    given = [text for text in (gain, scatter) if text is not None]
    shares = [text.strip().endswith("%") for text in given]
    if not given:
        return {}
    if len(set(shares)) > 1 or (gain is not None and scatter is None and not shares[0]):
        got = " and ".join(given)
        raise InputError("gain and scatter", got, "both in % or both in watts", try_="--gain '8 %' --scatter '4 %'")
    unit = "" if shares[0] else "W"
    sizes = {"gain": gain, "scatter": scatter}
    read = {name: units.read(name, text, unit) for name, text in sizes.items() if text is not None}
    for name, size in read.items():
        if size <= 0:
            raise InputError(name, sizes[name], "more than 0", try_="write its size without a sign")
    return {**read, "size_unit": unit}


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
