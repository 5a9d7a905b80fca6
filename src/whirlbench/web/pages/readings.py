"""Readings: quick entry for two people at a fan, the table below it, one row with its history."""

import asyncio
import functools
import json
import secrets
from dataclasses import asdict, replace
from typing import Annotated

from fastapi import APIRouter, Path, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse

from whirlbench.actions import readings, undo
from whirlbench.errors import Conflict, InputError, WhirlbenchError
from whirlbench.store import clock
from whirlbench.web import entry, people, render

router = APIRouter(prefix="/teams/{team}/readings")
Number = Annotated[int, Path(ge=1, le=2**63 - 1)]
_PAGE, _USED_LATELY, _LONGEST_MARK = 50, 5, 80
_PATIENCE = 4.0  # [s] that a reading waits for its second look
_LOOK = "whirlbench.actions.second_look:look_again"


@router.get("")
def table(visit: people.TeamVisit, *, before: Annotated[int | None, Query(ge=1, le=2**63 - 1)] = None, change: int = 0):
    """Entry form, and a page of the table; ``change`` is what was done just now and can be undone."""
    query = visit.request.query_params
    found = readings.listed(visit.store, visit.team, before=before, limit=_PAGE)
    form = entry.first(found.readings[0].reading() if found.readings else None, entry.chosen_units(visit.request))
    for name in form.texts:  # another page may hand something over, such as a speed that was heard
        form.texts[name] = query.get(name, form.texts[name])[:200]
    return _table(visit, found, form, change=change, plan=query.get("plan", ""), run=query.get("run", ""))


@router.get("/rows")
def rows(visit: people.TeamVisit, *, before: Annotated[int | None, Query(ge=1, le=2**63 - 1)] = None):
    """Rows of the table alone, for a page that heard news."""
    found = readings.listed(visit.store, visit.team, before=before, limit=_PAGE)
    return render.page(visit, "readings_rows.html", found=found, show=entry.shown)


@router.post("")
async def enter(visit: people.TeamVisit, form: people.Form):
    """Keep a reading, or ask about it first."""
    typed = entry.typed(form)
    turbine = standing(form.get("turbine"))
    if typed.wrong:
        return await _again(visit, typed, form, status=422)
    if form.get("sure") != "yes":
        look = await second_look(visit, typed.reading(), turbine)
        if look.get("question"):
            return await _again(visit, typed, form, look=look)
    else:
        look = {}

    def keep():
        given = {"source": "the page", "turbine": turbine, "plan": form.get("plan") or None, "author": visit.author}
        row = typed.reading(taken_at=clock.now(), run=str(form.get("run", ""))[:80])
        mark = str(form.get("sent", ""))[:_LONGEST_MARK] or None
        return readings.enter(visit.store, visit.team, [row], marks=[mark], **given)

    try:
        done = await run_in_threadpool(keep)
    except InputError as error:
        typed.wrong["turbine"] = str(error)
        return await _again(visit, typed, form, status=422)
    visit.request.app.state.hub.nudge()
    if wants_json(visit.request):
        answer = JSONResponse({"kept": done.model_dump(), "look": look, "sent": secrets.token_urlsafe(12)})
    else:
        back = str(form.get("back", ""))
        own = f"/teams/{visit.number}/"
        answer = render.go(back if back.startswith(own) else f"{own}readings?change={done.change or 0}#table")
    return entry.keep_units(answer, typed.units)


@router.post("/look")
async def look(visit: people.TeamVisit, form: people.Form):
    """What a reading that is still being typed is worth, and whether it could be a slip."""
    typed = entry.typed(form)
    if typed.wrong:
        return JSONResponse({"wrong": typed.wrong})
    return JSONResponse({"look": await second_look(visit, typed.reading(), standing(form.get("turbine")))})


@router.get("/row/{number}")
def row(visit: people.TeamVisit, number: Number):
    """One reading to change, with its history."""
    found = readings.row(visit.store, visit.team, number)
    return _row(visit, found, entry.of_reading(found.now.reading(), entry.chosen_units(visit.request)))


@router.post("/row/{number}")
async def change(visit: people.TeamVisit, number: Number, form: people.Form):
    """Write a newer version of a reading, or ask about it first; of two writers each sees both and chooses."""
    found = await run_in_threadpool(readings.row, visit.store, visit.team, number)
    seen = seen_version(form, found)
    typed = entry.typed(form, before=found.versions[seen - 1].reading())
    if typed.wrong:
        return await run_in_threadpool(_row, visit, found, typed, status=422, seen=seen)
    now = found.now.reading()
    mine = replace(now, **typed.fields())
    if form.get("sure") != "yes" and replace(mine, note=now.note) != now:
        turbine = (found.now.turbine, found.now.turbine_version) if found.now.turbine else None
        look = await second_look(visit, mine, turbine, instead_of=number)
        if look.get("question"):
            return await run_in_threadpool(_row, visit, found, typed, seen=seen, question=look["question"])
    write = functools.partial(readings.change, seen=seen, reading=mine, author=visit.author)
    try:
        done = await run_in_threadpool(write, visit.store, visit.team, number)
    except Conflict:
        found = await run_in_threadpool(readings.row, visit.store, visit.team, number)
        return await run_in_threadpool(_row, visit, found, typed, status=409, seen=seen)
    visit.request.app.state.hub.nudge()
    answer = render.go(f"/teams/{visit.number}/readings?change={done.change}#table")
    return entry.keep_units(answer, typed.units)


@router.post("/row/{number}/delete")
def take_out(visit: people.TeamVisit, number: Number, form: people.Form):
    """Take a reading out of the table."""
    found = readings.row(visit.store, visit.team, number)
    seen = seen_version(form, found)
    try:
        done = readings.take_out(visit.store, visit.team, number, seen=seen, author=visit.author)
    except Conflict:
        found = readings.row(visit.store, visit.team, number)
        typed = entry.of_reading(found.now.reading(), entry.chosen_units(visit.request))
        return _row(visit, found, typed, status=409, seen=seen, deleting=True)
    visit.request.app.state.hub.nudge()
    return render.go(f"/teams/{visit.number}/readings?change={done.change}#table")


@router.post("/undo")
def take_back(visit: people.TeamVisit, form: people.Form):
    """Take back what was done to the table."""
    number = str(form.get("change", ""))
    if not (number.isascii() and number.isdigit() and 0 < int(number[:19]) < 2**63):
        raise HTTPException(422)
    undo.undo(visit.store, visit.team, change=int(number), author=visit.author)
    visit.request.app.state.hub.nudge()
    return render.go(f"/teams/{visit.number}/readings#table")


def standing(text):
    """Turbine and version that a form names, such as ``3 Starter``; None for none."""
    number, _, name = str(text or "").partition(" ")
    if not (number.isascii() and number.isdigit() and len(number) < 10 and name):
        return None
    return name, int(number)


def seen_version(form, found):
    """Version that the writer of a form had before their eyes."""
    number = str(form.get("seen", ""))
    if not (number.isascii() and number.isdigit() and 1 <= int(number[:9]) <= len(found.versions)):
        raise HTTPException(422)
    return int(number)


def wants_json(request: Request):
    """Whether a script asks."""
    return "application/json" in request.headers.get("accept", "")


async def second_look(visit, reading, turbine, **besides):
    """Second look at a reading; empty where no worker is free, for a reading never waits for it."""
    try:
        held = await run_in_threadpool(
            readings.neighbours, visit.store, visit.team, reading, turbine=turbine, **besides
        )
    except InputError:
        return {}
    fields = {name: value for name, value in asdict(reading).items() if name not in ("row", "note", "taken_at")}
    alike = [
        {name: value for name, value in asdict(one.reading()).items() if name not in ("row", "note", "taken_at")}
        for one in held.alike
    ]
    try:
        return json.loads(await asyncio.wait_for(visit.work.ask(_LOOK, fields, held.turbine, alike), _PATIENCE))
    except (HTTPException, TimeoutError, WhirlbenchError):
        return {}


async def _again(visit, typed, form, *, look=None, status=200):
    """The form again, as it was typed, with what is wrong or asked beside it."""
    if wants_json(visit.request):
        return JSONResponse({"wrong": typed.wrong, "asked": look}, status)

    def page():
        found = readings.listed(visit.store, visit.team, limit=_PAGE)
        given = {name: str(form.get(name, "")) for name in ("turbine", "sent", "plan", "run", "back")}
        return _table(visit, found, typed, status=status, look=look, **given)

    return await run_in_threadpool(page)


def _table(visit, found, form, *, status=200, **more):
    lately = found.readings[:_USED_LATELY]
    order, open_more = entry.order([one.reading() for one in lately])
    turbines = readings.turbines_of(visit.store, visit.team)
    last = next((one.turbine for one in found.readings if one.turbine), None)
    newest = [f"{one.version} {one.name}" for one in turbines if one.now]
    usual = next((one for one in newest if one.partition(" ")[2] == last), newest[0] if newest else "")
    given = {"look": None, "change": 0, "plan": "", "run": "", "back": "", "sent": "", "turbine": ""} | more
    given["turbine"] = given["turbine"] or usual
    given["sent"] = given["sent"] or secrets.token_urlsafe(12)
    return render.page(
        visit, "readings.html", status=status, found=found, form=form, order=order, open_more=open_more,
        turbines=turbines, fields=entry.UNITS, extra=entry.MORE, show=entry.shown, **given,
    )  # fmt: skip


def _row(visit, found, form, *, status=200, seen=None, **more):
    seen = seen or found.now.version
    now = entry.of_reading(found.now.reading(), form.units)
    base = entry.of_reading(found.versions[seen - 1].reading(), form.units)
    clash = []
    for name in (*entry.UNITS, *entry.WORDS, "pushed"):
        mine, theirs, before = (_said(one, name) for one in (form, now, base))
        if status == 409 and mine != theirs:
            chosen = "theirs" if mine == before else "mine" if theirs == before else ""
            clash.append({"name": name, "mine": mine, "theirs": theirs, "chosen": chosen})
    return render.page(
        visit, "reading.html", status=status, found=found, form=form, seen=seen, clash=clash,
        fields=entry.UNITS, words=entry.WORDS, show=entry.shown, quicker=status == 409,
        **{"deleting": False, "question": ""} | more,
    )  # fmt: skip


def _said(form, name):
    return ("yes" if form.pushed else "no") if name == "pushed" else form.texts[name]
