"""Compare builds: is one better than the other, by how much, and how sure is that."""

import math

from whirlbench.actions.report import Report
from whirlbench.charts import effects, files
from whirlbench.errors import InputError, InputErrors, UnknownKey, nearest
from whirlbench.measure import anova, drift, verdict
from whirlbench.measure.columns import COLUMNS
from whirlbench.measure.model import model
from whirlbench.measure.plan import REFERENCE, settings_of
from whirlbench.measure.runs import Runs

QUANTITIES = {"power": "W", **{name: unit for name, unit in COLUMNS.items() if unit and name != "load_resistance"}}
_CALLED = {"power": "electrical power"}
_WORTH_SAYING = 0.01  # of the wind, which is 3 % of the power


class GainLine(Report):
    """The second setting over the first; numbers in the unit of the report, shares of the first mean."""

    factor: str
    first: str
    second: str
    first_mean: float
    second_mean: float
    gain: float
    low: float | None
    high: float | None
    share: float | None
    share_low: float | None
    share_high: float | None
    seen: float | None
    freedom: float
    verdict: str
    sentence: str


class SourceLine(Report):
    """One line of the analysis of variance."""

    source: str
    freedom: float
    square_sum: float
    mean_square: float
    ratio: float | None
    chance: float | None


class RunLine(Report):
    """One run as it was compared."""

    setting: tuple[str, ...]
    outcome: float


class CompareReport(Report):
    """Answer of ``compare``."""

    quantity: str
    unit: str
    factors: tuple[str, ...]
    design: str
    why: str
    better: bool
    sentence: str
    gains: tuple[GainLine, ...]
    depends: tuple[str, ...]
    anova: tuple[SourceLine, ...]
    checks: tuple[str, ...]
    cautions: tuple[str, ...]
    runs: tuple[RunLine, ...]


def compare(readings, *, by=("build",), of="power", block="block", start=None, design=None, wanted=None):
    """Compare the settings of a set of readings.

    Parameters
    ----------
    readings : dict of str to sequence of Reading
        For one file its readings under any name; of several files each is a build and its name counts.
    by : sequence of str
        Columns to compare by, or names of the plan's factors that the build column carries; of several files no
        meaning.
    of : str
        What to compare: ``power`` or a column of numbers.
    block : str
        Column that says which runs belong together.
    start : str, optional
        Setting to compare with; without it the first by number or alphabet, or the first file.
    design : str, optional
        ``welch``, ``paired``, ``blocked`` or ``randomised``; without it as the runs were taken.
    wanted : float, optional
        Gain that must not be missed, as a share of the start's mean [-].

    Returns
    -------
    CompareReport
        The verdict.

    Raises
    ------
    InputError
        Columns or settings that are not there, or a design that does not fit.
    InputErrors
        Readings without the number that is compared.
    """
    if of not in QUANTITIES:
        raise UnknownKey("quantity", f"'{of}'", "one that can be compared", try_=nearest(of, QUANTITIES))
    rows, labels = _in_time(*_labelled(readings, by))
    outcomes, rows, labels, notes = _steadied(rows, labels, of)
    levels = {"build": tuple(readings)} if len(readings) > 1 else {}
    blocks = _blocks(rows, block)
    runs = Runs(tuple(outcomes), labels, levels, blocks, unit=QUANTITIES[of])
    runs = runs if start is None else runs.starting_at(start)
    least = None if wanted is None else wanted * _start_mean(runs)
    found = verdict.compare(runs, design=design, wanted=least)
    used = design not in ("welch", "randomised")
    return CompareReport(
        quantity=_CALLED.get(of, of.replace("_", " ")),
        unit=runs.unit,
        factors=runs.names,
        design=found.design,
        why=found.why,
        better=bool(found.better),
        sentence=found.sentence,
        gains=tuple(_line(gain) for gain in found.gains),
        depends=tuple(_depends(*pair) for pair in found.depends),
        anova=_anova(runs, used),
        checks=anova.residual_checks(runs, blocks=used),
        cautions=(*notes, *found.cautions, *_winds(rows, runs)),
        runs=tuple(
            RunLine(setting=setting, outcome=outcome)
            for setting, outcome in zip(zip(*runs.columns, strict=True), runs.outcomes, strict=True)
        ),
    )


def picture(report):
    """Chart of every run with the gains, or of several factors of what each does.

    Parameters
    ----------
    report : CompareReport
        Answer of ``compare``.

    Returns
    -------
    dict
        Vega-Lite.
    """
    told = {"quantity": report.quantity, "unit": report.unit}
    if len(report.factors) == 1:
        order = [report.gains[0].first, *(one.second for one in report.gains if one.first == report.gains[0].first)]
        runs = [{"setting": one.setting[0], "outcome": one.outcome} for one in report.runs]
        gains = [{"name": f"{one.second} over {one.first}", **one.model_dump()} for one in report.gains]
        return effects.comparison(sorted(runs, key=lambda run: order.index(run["setting"])), gains, **told)
    return effects.effect_plot(_means(report), _joint(report), **told)


def draw_comparison(report, path):
    """Draw what ``picture`` describes.

    Parameters
    ----------
    report : CompareReport
        Answer of ``compare``.
    path : path
        File to write; its ending chooses the format.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        An ending that is no picture, or a folder that cannot be written.
    """
    return files.save(picture(report), path)


def _labelled(readings, by):
    """All readings in order, and the level of each factor for every one."""
    if len(readings) > 1:
        rows = [row for each in readings.values() for row in each]
        return rows, {"build": [name for name, each in readings.items() for _ in each]}
    rows = list(next(iter(readings.values())))
    settings = [settings_of(row.build) for row in rows if row.build != REFERENCE]
    planned = list(settings[0]) if settings and settings[0] else []
    if tuple(by) == ("build",) and planned and all(list(one) == planned for one in settings):
        by = planned
    return rows, {name: [_level(row, name, planned) for row in rows] for name in by}


def _in_time(rows, labels):
    """Rows in the order in which they were taken, where all of them say when."""
    times = [row.taken_at for row in rows]
    if not all(times) or len({len(time) for time in times}) > 1:
        return rows, labels
    order = sorted(range(len(rows)), key=times.__getitem__)
    return [rows[i] for i in order], {name: [column[i] for i in order] for name, column in labels.items()}


def _level(row, name, planned):
    if name in planned:
        return REFERENCE if row.build == REFERENCE else settings_of(row.build).get(name, "")
    if name not in COLUMNS:
        known = [*planned, *COLUMNS]
        raise UnknownKey("by", f"'{name}'", "a column, or a factor of the plan", try_=nearest(name, known))
    found = getattr(row, name)
    return f"{found:g} {COLUMNS[name]}".strip() if isinstance(found, float) else str(found or "")


def _steadied(rows, labels, of):
    """Outcomes of the test runs, with a real drift of the reference runs taken out."""
    errors, outcomes = [], []
    for place, row in enumerate(rows):
        outcome = getattr(row, of)
        missing = [name for name, column in labels.items() if not column[place]]
        if outcome is None:
            try_ = "write volts and ohms, or volts and amps" if of == "power" else "write it, or take the line out"
            errors.append(InputError(f"line {row.row} > {of}", "nothing", "a number", try_=try_))
        errors += [InputError(f"line {row.row} > {name}", "nothing", "a setting", try_="name it") for name in missing]
        outcomes.append(outcome)
    if errors:
        raise InputErrors(errors)
    watching = [REFERENCE in column for column in zip(*labels.values(), strict=True)]
    notes = []
    times = [place for place, watches in enumerate(watching) if watches]
    if len(times) >= 3:
        moved = drift.linear_drift(times, [outcomes[place] for place in times])
        words = f"The reference runs changed by {100 * moved.change:+.1f} % from first to last"
        notes = [f"{words}: that is real and was taken out." if moved.real else f"{words}, which may be luck."]
        if moved.real:
            outcomes = [one / (1 + moved.slope * (place - moved.times[0])) for place, one in enumerate(outcomes)]
    kept = [place for place, watches in enumerate(watching) if not watches]
    thinned = {name: tuple(column[place] for place in kept) for name, column in labels.items()}
    return [outcomes[place] for place in kept], [rows[place] for place in kept], thinned, notes


def _blocks(rows, column):
    if column not in COLUMNS:
        raise UnknownKey("block", f"'{column}'", "a column", try_=nearest(column, COLUMNS))
    cells = [getattr(row, column) for row in rows]
    texts = [f"{cell:g}" if isinstance(cell, float) else str(cell or "") for cell in cells]
    if not any(texts):
        return ()
    empty = [row.row for row, text in zip(rows, texts, strict=True) if not text]
    if empty:
        raise InputError(f"line {empty[0]} > {column}", "nothing", "a block", try_="fill the column, or leave it empty")
    return tuple(texts)


def _start_mean(runs):
    name = runs.names[0]
    first = [y for y, level in zip(runs.outcomes, runs.labels[name], strict=True) if level == runs.levels[name][0]]
    return sum(first) / len(first)


def _line(gain):
    ends = {
        key: None if not math.isfinite(getattr(gain, key)) else getattr(gain, key) for key in ("low", "high", "seen")
    }
    return GainLine(**{**vars(gain), **ends})


def _depends(first, second):
    return f"What {first} gains depends on {second}: look at both together before you choose."


def _anova(runs, blocks):
    used = runs.blocks if blocks else ()
    if model(runs.columns, levels=tuple(runs.levels.values()), blocks=used).freedom < 1:
        return ()
    return tuple(SourceLine(**vars(line)) for line in anova.anova(runs, blocks=blocks))


def _winds(rows, runs):
    """Settings that did not get the same wind or the same load cannot be compared by their watts."""
    cautions = []
    for name, column in runs.labels.items():
        for what in ("wind_speed", "load_resistance"):
            means = _mean_by_level(rows, column, what)
            changed_on_purpose = what.partition("_")[0] in name or "ohm" in "".join(means)
            if changed_on_purpose or len(means) < 2 or min(means.values()) <= 0:
                continue
            low, high = min(means, key=means.get), max(means, key=means.get)
            more = means[high] / means[low] - 1
            if more > _WORTH_SAYING and what == "wind_speed":
                worth = f"worth {100 * ((1 + more) ** 3 - 1):.0f} % of power by itself"
                cautions.append(f"{high} had {100 * more:.1f} % more wind than {low}, {worth}.")
            elif more > _WORTH_SAYING:
                cautions.append(f"{high} and {low} stood at different loads: the load may be the gain.")
    return cautions


def _mean_by_level(rows, column, what):
    seen = {}
    for row, level in zip(rows, column, strict=True):
        number = getattr(row, what)
        if number is not None:
            seen.setdefault(level, []).append(number)
    return {level: sum(numbers) / len(numbers) for level, numbers in seen.items()}


def _means(report):
    """Mean at each level, levels in the order of the gains."""
    rows = []
    for name in report.factors:
        own = [gain for gain in report.gains if gain.factor == name]
        rows.append({"factor": name, "level": own[0].first, "mean": own[0].first_mean})
        rows += [
            {"factor": name, "level": gain.second, "mean": gain.second_mean}
            for gain in own
            if gain.first == own[0].first
        ]
    return rows


def _joint(report):
    """Plain means of every two settings of every pair of factors."""
    levels = {name: [row["level"] for row in _means(report) if row["factor"] == name] for name in report.factors}
    rows = []
    for i, first in enumerate(report.factors):
        for j, second in enumerate(report.factors[:i]):
            for one in levels[second]:
                for other in levels[first]:
                    both = [run.outcome for run in report.runs if (run.setting[j], run.setting[i]) == (one, other)]
                    if both:
                        pair = {"first": second, "first_level": one, "second": first, "second_level": other}
                        rows.append({**pair, "mean": sum(both) / len(both)})
    return rows
