"""The team's loggers: a secret for each, told once, and how to send."""

from fastapi import APIRouter
from starlette.exceptions import HTTPException

from whirlbench import units
from whirlbench.actions import loggers, readings, runs
from whirlbench.errors import InputError, UnknownKey
from whirlbench.web import entry, people, render
from whirlbench.web.pages.readings import Number

router = APIRouter(prefix="/teams/{team}/readings/logger")


@router.get("")
def logger(visit: people.TeamVisit):
    """Loggers and how they send."""
    return _page(visit)


@router.post("")
def let_in(visit: people.TeamVisit, form: people.Form):
    """Let a logger in; its secret is shown on this answer and never again."""
    name = str(form.get("name", "")).strip()
    try:
        secret = loggers.let_in(visit.store, visit.team, name)
    except InputError as error:
        return _page(visit, wrong=str(error), name=name, status=422)
    return _page(visit, secret=secret, name=name)


@router.post("/end")
def end(visit: people.TeamVisit, form: people.Form):
    """Let a logger in no longer."""
    number = str(form.get("number", ""))
    if not (number.isascii() and number.isdigit() and len(number) < 19):
        raise HTTPException(422)
    loggers.end(visit.store, visit.team, int(number))
    return render.go(f"/teams/{visit.number}/readings/logger")


@router.get("/run/{number}")
def run(visit: people.TeamVisit, number: Number):
    """One run: what was measured, and the form that makes a reading of it."""
    return _run(visit, number)


@router.post("/run/{number}")
def average(visit: people.TeamVisit, number: Number, form: people.Form):
    """Put the means over a steady stretch of a run among the readings."""
    texts = {name: str(form.get(name, ""))[:40].strip() for name in ("first", "last", "wind_speed", "load_resistance")}
    try:
        ends = {name: _seconds(name, texts[name]) for name in ("first", "last")}
        typed = {name: entry.number(name, texts[name], entry.UNITS[name][0]) for name in entry.KEPT}
        fixed = {name: value for name, value in typed.items() if value is not None}
        runs.averaged(visit.store, visit.team, number, **ends, fixed=fixed, author=visit.author)
    except UnknownKey:
        raise
    except InputError as error:
        return _run(visit, number, texts=texts, wrong=str(error), status=422)
    visit.request.app.state.hub.nudge()
    return render.go(f"/teams/{visit.number}/readings#table")


def _seconds(name, text):
    text = text.replace(",", ".")
    return units.read(name, f"{text} s" if text.replace(".", "").isdigit() else text, "s") if text else None


def _run(visit, number, *, texts=None, wrong="", status=200):
    found = runs.shown(visit.store, visit.team, number)
    texts = texts or dict.fromkeys(("first", "last", "wind_speed", "load_resistance"), "")
    lines = [(one, _said(one, one.mean), _said(one, one.sd)) for one in found.quantities]
    return render.page(visit, "run.html", status=status, run=found, lines=lines, texts=texts, wrong=wrong)


def _said(one, value):
    """Number of a quantity with the unit that people read."""
    return entry.shown(one.name, value) if one.name in entry.UNITS else f"{value:.4g} {one.unit}".strip()


def _page(visit, *, secret="", name="", wrong="", status=200):
    place = f"{visit.request.url.scheme}://{visit.request.url.netloc}/api/v1/teams/{visit.number}"
    turbines = [one.name for one in readings.turbines_of(visit.store, visit.team) if one.now]
    page = {"loggers": loggers.listed(visit.store, visit.team), "runs": runs.listed(visit.store, visit.team).runs}
    page |= {"secret": secret, "called": name, "wrong": wrong, "place": place, "turbine": next(iter(turbines), "")}
    return render.page(visit, "logger.html", status=status, **page)
