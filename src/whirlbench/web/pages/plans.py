"""Test plans: make one, keep it with the team, go through its runs, print its sheet."""

import secrets
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import Response

from whirlbench.actions import plans, readings
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.measure.plan import Plan
from whirlbench.web import entry, people, render
from whirlbench.web.heavy import worked
from whirlbench.web.sending import safe_name

router = APIRouter(prefix="/teams/{team}/readings")
_ORDERED, _SHEET = "whirlbench.actions.plan_order:ordered", "whirlbench.actions.plan_order:sheet"
_MOST_FACTORS = 4
_TEXTS = ("name", "gain", "scatter", "replicates", "blocks", "block_name", "fraction", "paired")
_KINDS = {"pdf": "application/pdf", "csv": "text/csv"}


@router.get("/plans")
def every(visit: people.TeamVisit):
    """Plans of the team, and a new one."""
    return _page(visit, dict(visit.request.query_params))


@router.post("/plans")
async def make(visit: people.TeamVisit, form: people.Form):
    """Look at a plan, or keep it."""
    typed = {name: str(form.get(name, ""))[:200].strip() for name in (*_TEXTS, *_factor_names(), "seed")}
    try:
        plan = Plan.model_validate_json(await worked(visit, _ORDERED, _wishes(typed)))
        if form.get("do") == "keep":
            name = typed["name"] or plan.title
            done = await run_in_threadpool(plans.keep, visit.store, visit.team, name, plan, author=visit.author)
            visit.request.app.state.hub.nudge()
            return render.go(f"/teams/{visit.number}/readings/plan?{urlencode({'name': done.name})}")
    except WhirlbenchError as error:
        return await run_in_threadpool(_page, visit, typed, wrong=str(error), status=422)
    return await run_in_threadpool(_page, visit, typed, plan=plan)


@router.get("/plan")
def one(visit: people.TeamVisit, name: str = "", run: int = 0):
    """A plan with what is done of it, and the next run to enter."""
    kept = _kept(visit, name)
    taken = _taken(visit, kept)
    left = kept.plan.left(kept.done)
    now = next((each for each in left if each.number == run), left[0] if left else None)
    last = readings.listed(visit.store, visit.team, limit=1).readings
    form = entry.first(last[0].reading() if last else None, entry.chosen_units(visit.request))
    order, open_more = entry.order([each.reading() for each in last])
    turbines = readings.turbines_of(visit.store, visit.team)
    usual = next((f"{each.version} {each.name}" for each in turbines if each.now), "")
    back = f"/teams/{visit.number}/readings/plan?{urlencode({'name': kept.name})}"
    context = {"kept": kept, "taken": taken, "now": now, "form": form, "order": order, "open_more": open_more}
    context |= {"turbines": turbines, "turbine": usual, "fields": entry.UNITS, "extra": entry.MORE, "show": entry.shown}
    context |= {"plan": kept.name, "run": now.number if now else "", "back": back, "look": None, "change": 0}
    context |= {"sent": secrets.token_urlsafe(12), "query": urlencode({"name": kept.name})}
    return render.page(visit, "plan.html", **context)


@router.get("/plan/sheet.{kind}")
async def sheet(visit: people.TeamVisit, kind: str, name: str = "", paper: str = "A4"):
    """Record sheet of a plan, to print or to fill in."""
    if kind not in _KINDS:
        raise HTTPException(404)
    kept = await run_in_threadpool(_kept, visit, name)
    content = await worked(visit, _SHEET, kept.plan.model_dump(mode="json"), kind, paper)
    headers = {"content-disposition": f'attachment; filename="{safe_name(kept.name)}.{kind}"'}
    return Response(content, media_type=_KINDS[kind], headers=headers)


def _kept(visit, name):
    try:
        return plans.kept(visit.store, visit.team, name)
    except InputError:
        raise HTTPException(404) from None


def _taken(visit, kept):
    """Latest reading of each run that is done."""
    return {line.plan_row: line for line in readings.of_plan(visit.store, visit.team, kept.name)}


def _factor_names():
    return [f"{what}-{place}" for place in range(1, _MOST_FACTORS + 1) for what in ("factor", "levels")]


def _wishes(typed):
    factors = [(typed[f"factor-{place}"], typed[f"levels-{place}"]) for place in range(1, _MOST_FACTORS + 1)]
    whole = {name: _whole(name, typed[name]) for name in ("replicates", "blocks", "seed")}
    texts = {name: typed[name] for name in ("gain", "scatter", "block_name", "fraction")}
    factors = [(name, levels) for name, levels in factors if name or levels]
    return {"factors": factors, **whole, **texts, "paired": typed["paired"] == "yes"}


def _whole(name, text):
    if text and not (text.isascii() and text.isdigit() and len(text) < 10):
        raise InputError(name, f"'{text}'", "a whole number, or nothing", try_="leave it empty")
    return int(text) if text else None


def _page(visit, typed, *, plan=None, wrong="", status=200):
    typed = dict.fromkeys((*_TEXTS, *_factor_names()), "") | {"seed": str(secrets.randbelow(10**6))} | typed
    listed = plans.listed(visit.store, visit.team).plans
    context = {"plans": listed, "typed": typed, "plan": plan, "wrong": wrong, "slots": range(1, _MOST_FACTORS + 1)}
    return render.page(visit, "plans.html", status=status, encode=urlencode, **context)
