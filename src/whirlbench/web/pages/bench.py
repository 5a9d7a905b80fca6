"""The workbench: the turbine drawn to scale, its parts changed in place, and what it does meanwhile."""

import json
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse

from whirlbench.actions import keep as keeping
from whirlbench.actions.history import history
from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.taken import powers_read
from whirlbench.actions.undo import undo as take_back
from whirlbench.charts import look
from whirlbench.charts.energy import part_words
from whirlbench.charts.performance import performance
from whirlbench.charts.scale import percent
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.parts import plain
from whirlbench.web import people, render, shown
from whirlbench.web.desk import desk_of, wrong_of
from whirlbench.web.pages import start

router = APIRouter()
_BENCH, _OUTLOOK = "whirlbench.actions.bench:bench", "whirlbench.actions.outlook:outlook"
_WINDS = (1.0, 0.6, 0.8, 1.2, 1.4)  # shares of the turbine's own wind, that one first
_BUSY = 3  # calls that wait: with more, bands may wait until the room is calmer


@router.get("/teams/{team}/bench")
async def bench(visit: people.TeamVisit):
    """The bench, with what the address says is typed on it."""
    return await _page(visit, visit.request.query_params)


@router.get("/teams/{team}/bench/answer")
async def answer(visit: people.TeamVisit):
    """What the typed turbine does by best estimate: pieces of the page, and numbers for its 3-D picture."""
    desk = await run_in_threadpool(desk_of, visit, visit.request.query_params)
    if desk is None or desk.wrong:
        return _refused(visit, {} if desk is None else desk.wrong)
    try:
        found = await _seen(visit, desk)
    except WhirlbenchError as error:
        return _refused(visit, wrong_of(error, desk.kept))
    html = await run_in_threadpool(_piece, visit, "bench_answer.html", {**found, "piecewise": True})
    seen = found["seen"]
    told = {"figure": seen["figure"], "point": seen["glance"]["here"], "version": desk.chosen.kept.number}
    return JSONResponse({"html": html, "chart": _chart(seen["glance"]["curve"]), **told})


@router.get("/teams/{team}/bench/outlook")
async def outlook(visit: people.TeamVisit):
    """Power over wind with its band, once the room is calm enough."""
    desk = await run_in_threadpool(desk_of, visit, visit.request.query_params)
    if desk is None or desk.wrong:
        return _refused(visit, {} if desk is None else desk.wrong)
    if visit.work.waiting > _BUSY:
        return JSONResponse({"later": True})
    try:
        points = await _outlook(visit, desk)
    except WhirlbenchError as error:
        return _refused(visit, wrong_of(error, desk.kept))
    html = await run_in_threadpool(
        _piece, visit, "bench_outlook.html", {"points": points, "here": points[0], "desk": desk}
    )
    chart = _chart(points, await run_in_threadpool(_read, visit, desk))
    return JSONResponse({"html": html, "chart": chart})


@router.post("/teams/{team}/bench/keep")
async def keep(visit: people.TeamVisit, form: people.Form):
    """Keep what is typed as a new version, or under a new name as another turbine."""
    desk = await run_in_threadpool(desk_of, visit, form)
    if desk is None:
        return render.go(f"/teams/{visit.number}/bench")
    if desk.wrong:
        return await _page(visit, form, status=422)
    name = str(form.get("name") or "").strip() or desk.kept.name
    turbine = desk.turbine.changed(name=name)
    try:
        await visit.work.ask(_BENCH, *desk.plain, shown.inches(visit.request))  # what cannot be computed is not kept
        kept = await run_in_threadpool(_keep, visit, desk, turbine)
    except WhirlbenchError as error:
        return await _page(visit, form, status=422, wrong=wrong_of(error, desk.kept))
    return render.go(f"/teams/{visit.number}/bench?{urlencode({'turbine': kept.turbine})}")


@router.post("/teams/{team}/bench/undo")
def undo(visit: people.TeamVisit, form: people.Form):
    """Take back the last keeping of a turbine."""
    name = str(form.get("turbine", ""))
    for one in history(visit.store, visit.team, limit=200).changes:
        if one.verb == "keep turbine" and one.subject == name and one.undone_by is None:
            take_back(visit.store, visit.team, change=one.change, author=visit.author)
            visit.request.app.state.hub.nudge()
            return render.go(f"/teams/{visit.number}/bench")
    raise InputError("undo", "nothing of this turbine", "a version that was kept", try_="look at its versions")


async def _page(visit, texts, *, status=200, wrong=None):
    """The whole bench; with ``whole`` in the address also what else a script would ask for."""
    desk = await run_in_threadpool(desk_of, visit, texts)
    if desk is None:
        return start.page(visit)
    inches, seen = shown.inches(visit.request), None
    wrong = {**desk.wrong, **(wrong or {})}
    try:
        seen = await _seen(visit, desk)
        points = await _outlook(visit, desk) if texts.get("whole") else []
    except WhirlbenchError as error:
        wrong, points = {**wrong, **wrong_of(error, desk.kept)}, []
    page = {
        "desk": desk,
        "groups": desk.groups(inches=inches),
        "typed": desk.typed,
        "kept_texts": desk.kept_texts(inches=inches),
        "wrong": wrong,
        "points": points,
        "chart": _chart(points or seen["seen"]["glance"]["curve"], await run_in_threadpool(_read, visit, desk))
        if seen
        else None,
        **(seen or {"seen": None, "before": None, "path": None, "changes": ()}),
    }
    return render.page(visit, "bench.html", status=422 if wrong and status == 200 else status, **page)


async def _seen(visit, desk):
    """What the typed turbine does, and the kept one beside it."""
    inches = shown.inches(visit.request)
    seen = json.loads(await visit.work.ask(_BENCH, *desk.plain, inches))
    kept = seen if not desk.typed else json.loads(await visit.work.ask(_BENCH, *desk.kept_plain, inches))
    path = energy_steps(seen["glance"]["here"]["energy_path"])
    before = {"before": kept["glance"]["here"], "kept_view": kept["front_view"]}
    return {"desk": desk, "seen": seen, "path": path, "changes": desk.changes(inches=inches), **before}


async def _outlook(visit, desk):
    """Points with bands, rising with the wind; one wind at a time, so that a slider never waits long."""
    points = []
    for share in _WINDS:
        points += json.loads(await visit.work.ask(_OUTLOOK, *desk.plain, [share]))["points"]
    return points


def energy_steps(path):
    """Steps of the energy path behind the blades: words, group, watts, and place in a bar that is 1 long."""
    caught = [step for step in path if step["part"] not in ("wake", "tower")]
    whole, begun, found = sum(max(step["power_W"], 0.0) for step in caught), 0.0, []
    for step in caught:
        share = max(step["power_W"], 0.0) / whole if whole > 0 else 0.0
        words, group = part_words(step["part"]), look.group_of(step["part"])
        found.append({"words": words, "group": group, "power": step["power_W"], "share": share, "begun": begun})
        begun += share
    return {"caught": whole, "steps": found, "in_words": percent}


def _read(visit, desk):
    """Dots of the chart: what the team read with the kept turbine, where that is what is shown."""
    kept = desk.chosen.kept
    return () if desk.typed else powers_read(visit.store, visit.team, kept.turbine, kept.text)


def _chart(points, readings=()):
    return performance(points, readings, width="container", height=260)


def _refused(visit, wrong):
    said = {path: [render.say(visit.request, one) for one in texts] for path, texts in wrong.items()}
    return JSONResponse({"wrong": said}, 422)


def _piece(visit, template, context):
    return render.page(visit, template, **context).body.decode()


def _keep(visit, desk, turbine):
    whole = restored(plain.text_of(turbine), desk.chosen.kept.files)
    report = keeping.keep(visit.store, visit.team, whole, author=visit.author)
    visit.request.app.state.hub.nudge()
    return report
