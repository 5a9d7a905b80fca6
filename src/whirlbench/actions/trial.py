"""Bench tests of parts: the list, a sheet to fill in, and what a filled-in sheet makes of the turbine."""

import math
import tomllib
from pathlib import Path

from whirlbench.actions.report import Report
from whirlbench.errors import InputError
from whirlbench.make.trial_sheet import trial_sheet
from whirlbench.measure import trials
from whirlbench.measure.trial import Built, written
from whirlbench.measure.trial_table import csv_text, headers, known_facts, printed_rows, read_filled
from whirlbench.measure.trial_text import sheet_text
from whirlbench.parts.files import read_turbine
from whirlbench.parts.part import build
from whirlbench.parts.toml import with_changes
from whirlbench.parts.turbine import Turbine
from whirlbench.predict import generator, stand
from whirlbench.units import show
from whirlbench.value import Value

_MODULUS_DOUBT = 0.1  # of a tube's modulus, relative: PVC pipes are quoted from 2.5 to 2.9 GPa
_ENDINGS = (".pdf", ".txt", ".csv")


class TrialLine(Report):
    """One bench test in the list."""

    name: str
    title: str
    tells: str
    effort_min: int


class TrialList(Report):
    """Answer of ``trial list``."""

    trials: tuple[TrialLine, ...]


class TrialFact(Report):
    """Something that is written down once."""

    name: str
    unit: str
    value: str
    hint: str


class TrialSheet(Report):
    """Answer of ``trial sheet``."""

    name: str
    title: str
    tells: str
    effort_min: int
    needs: tuple[str, ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    formula: str
    facts: tuple[TrialFact, ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    text: str


class TrialNumber(Report):
    """One number that a test found, SI, and as a person writes it."""

    what: str
    number: float
    sd: float
    unit: str
    source: str
    shown: str


class TrialChange(Report):
    """One key of the turbine's file, before and after."""

    key: str
    before: str | tuple[str, ...] | None
    after: str | tuple[str, ...] | None


class TrialReport(Report):
    """Answer of ``trial read``."""

    name: str
    turbine: str
    readings: int
    found: tuple[TrialNumber, ...]
    changes: tuple[TrialChange, ...]
    sentences: tuple[str, ...]
    written_to: str | None


def listed():
    """All bench tests.

    Returns
    -------
    TrialList
        In the order in which a team would do them.
    """
    return TrialList(
        trials=tuple(
            TrialLine(name=one.name, title=one.title, tells=one.tells, effort_min=one.minutes)
            for one in trials.TRIALS.values()
        )
    )


def sheet(name, *, turbine=None, told=(), out=None, paper="A4"):
    """Guided sheet of a bench test, on the screen and as a file.

    Parameters
    ----------
    name : str
        Of the test.
    turbine : Turbine, optional
        Tells what is known already, such as the radii of the rings.
    told : sequence of str
        Facts such as ``pulley radius=10 mm``.
    out : path, optional
        File to write: .pdf to print, .txt to read, .csv to fill in. A .csv that is there is not overwritten.
    paper : str
        ``A4`` or ``letter``.

    Returns
    -------
    TrialSheet
        All that stands on the sheet.

    Raises
    ------
    InputError
        No such test or fact, or a file that cannot be written.
    """
    one = trials.trial(name)
    facts = known_facts(one, turbine, told)
    rows = printed_rows(one, facts, turbine)
    report = TrialSheet(
        **{key: getattr(one, key) for key in ("name", "title", "tells", "needs", "steps", "cautions", "formula")},
        effort_min=one.minutes,
        facts=tuple(
            TrialFact(name=fact.name, unit=fact.unit, value=facts[fact.name], hint=_hint(fact)) for fact in one.facts
        ),
        columns=tuple(headers(one)[: len(one.columns)]),
        rows=tuple(tuple(row) for row in rows),
        text=sheet_text(one, facts, rows),
    )
    if out is not None:
        _write_sheet(report, Path(out), csv_text(one, facts, turbine), paper)
    return report


def _hint(fact):
    return " or ".join(fact.choices) if fact.choices else fact.hint


def _write_sheet(report, path, table, paper):
    ending = path.suffix.lower()
    if ending not in _ENDINGS:
        raise InputError("out", f"'{path.name}'", "an ending " + ", ".join(_ENDINGS), try_=f"name it {report.name}.pdf")
    if ending == ".pdf":
        trial_sheet(path, report.model_dump(), paper=paper)
    else:
        _write_new(path, report.text if ending == ".txt" else table)


def read(name, readings, *, turbine, told=(), out=None):
    """What a filled-in sheet makes of a turbine, written into a new file.

    Parameters
    ----------
    name : str
        Of the test.
    readings : path
        The filled-in sheet as CSV.
    turbine : path
        The turbine's file; it stays as it is.
    told : sequence of str
        Facts such as ``pulley radius=10 mm``; they go before those of the sheet.
    out : path, optional
        New file of the turbine with what was found; without it nothing is written.

    Returns
    -------
    TrialReport
        Numbers with doubt, changed keys, remarks.

    Raises
    ------
    InputErrors
        Cells that cannot be used.
    InputError
        A file that cannot be read or written, or readings that make no sense.
    """
    one, part = trials.trial(name), read_turbine(turbine)
    filled = read_filled(one, _bytes(readings), turbine=part, told=told, place=Path(readings).name)
    result = one.evaluate(filled, _built(part))
    text = Path(turbine).read_text(encoding="utf-8-sig")
    data = tomllib.loads(text)
    measured = {path: after for path, after in result.changes.items() if _at(data, path) != after}
    rest = _the_rest(part, data, measured)
    changes = rest | measured
    new = with_changes(with_changes(text, rest), measured, remark=f"bench test {name}")
    build(Turbine, tomllib.loads(new), from_file=True, where="new turbine")
    if out is not None:
        _write_new(Path(out), new)
    return TrialReport(
        name=name,
        turbine=part.name,
        readings=len(filled),
        found=tuple(_number(each) for each in result.found),
        changes=tuple(
            TrialChange(key=" > ".join(path), before=_at(data, path), after=after) for path, after in changes.items()
        ),
        sentences=result.sentences,
        written_to=None if out is None else str(out),
    )


def _built(part):
    data, foot = generator.generator_data(part.generator), stand.stand(part.tower, part.base)
    stiffness = Value(foot.bending_stiffness, _MODULUS_DOUBT * foot.bending_stiffness, "table of pipes and materials")
    brush_drop = generator.BRUSH_DROP if data.current == "dc" else Value(0.0)
    return Built(part, data.emf_constant, data.resistance, brush_drop, stiffness)


def _the_rest(part, data, measured):
    """What else has to stand in a generator's table when it becomes a measured one: all that is known of it."""
    if part.generator.kind == "measured" or not any(path[0] == "generator" for path in measured):
        return {}
    known = generator.generator_data(part.generator)
    whole = {
        "kind": "measured",
        "name": known.name,
        "emf_constant": written(known.emf_constant, "V/krpm"),
        "resistance": written(known.resistance, "ohm"),
        "friction": written(known.friction, "mN*m"),
        "breakaway": written(known.breakaway, "mN*m"),
        "viscous": show(known.viscous, "uN*m*s/rad", 4),
        "inertia": show(known.inertia, "g*cm^2", 4),
        "mass": show(known.mass, "g", 4),
        "current": known.current,
    }
    left = {("generator", key): None for key in data["generator"] if key not in (*whole, "rectifier")}
    return left | {("generator", key): value for key, value in whole.items() if ("generator", key) not in measured}


def _at(data, path):
    """What stands in a file at a path, or None."""
    for key in path:
        if not isinstance(data, dict) or key not in data:
            return None
        data = data[key]
    return data if data is None or isinstance(data, str | list) else str(data)


def _number(each):
    return TrialNumber(
        what=each.what,
        number=each.value.number,
        sd=each.value.sigma,
        unit=each.si,
        source=each.value.source,
        shown=_shown(each.value, each.unit),
    )


def _shown(value, unit):
    """Number and doubt, both to the second digit of the doubt."""
    if not value.sigma:
        return show(value.number, unit, 4)
    digits = 2 + math.floor(math.log10(max(abs(value.number), value.sigma) / value.sigma))
    return f"{show(value.number, unit, digits)} +- {show(value.sigma, unit, 2)}"


def _bytes(path):
    try:
        return Path(path).read_bytes()
    except OSError:
        raise InputError("readings", f"'{path}'", "a CSV file that can be read", try_="check name and folder") from None


def _write_new(path, text):
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError:
        needs = "a name that is free, for nothing is ever overwritten"
        raise InputError("out", f"'{path}', which is there already", needs, try_="another name") from None
    except OSError as error:
        needs = "a place that can be written"
        raise InputError("out", f"'{path}' ({error.strerror})", needs, try_="a folder of your own") from None
