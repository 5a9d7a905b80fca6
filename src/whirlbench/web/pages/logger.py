"""The team's loggers: a secret for each, told once, and how to send."""

from fastapi import APIRouter
from starlette.exceptions import HTTPException

from whirlbench.actions import loggers, readings, runs
from whirlbench.errors import InputError
from whirlbench.web import people, render

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


def _page(visit, *, secret="", name="", wrong="", status=200):
    place = f"{visit.request.url.scheme}://{visit.request.url.netloc}/api/v1/teams/{visit.number}"
    turbines = [one.name for one in readings.turbines_of(visit.store, visit.team) if one.now]
    page = {"loggers": loggers.listed(visit.store, visit.team), "runs": runs.listed(visit.store, visit.team).runs}
    page |= {"secret": secret, "called": name, "wrong": wrong, "place": place, "turbine": next(iter(turbines), "")}
    return render.page(visit, "logger.html", status=status, **page)
