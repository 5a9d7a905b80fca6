"""Tables in and out: one is sent, its columns matched, its good lines kept; others to download."""

import json
import secrets
import tempfile
from pathlib import Path

from fastapi import APIRouter
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import FileResponse

from whirlbench.actions import readings
from whirlbench.actions.log_readings import marks_of
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.measure.columns import COLUMNS, NUMBERS
from whirlbench.measure.readings import Reading
from whirlbench.web import entry, people, render
from whirlbench.web.heavy import worked
from whirlbench.web.pages.readings import standing
from whirlbench.web.sending import safe_name
from whirlbench.web.uploads import Uploads

router = APIRouter(prefix="/teams/{team}/readings")
_ENDINGS = (".csv", ".txt", ".tsv")
_BRING, _EXPORT = "whirlbench.actions.bring_in:bring_in", "whirlbench.actions.export:export_apart"
_MUCH_BYTES, _MUCH_ROWS, _MOST_COLUMNS = 300_000, 5_000, 60
_KINDS = {
    "csv": "text/csv",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_SENT = Uploads()


@router.get("/import")
def exchange(visit: people.TeamVisit):
    """Where a table is sent from, and tables to download."""
    return _start(visit)


@router.post("/import")
def send(visit: people.TeamVisit, form: people.Form):
    """Take a table, to be looked at first."""
    try:
        key = _SENT.put(visit.number, form.get("file"), what="file", endings=_ENDINGS)
    except InputError as error:
        return _start(visit, wrong=str(error), status=422)
    return render.go(f"/teams/{visit.number}/readings/import/{key}")


@router.get("/import/{key}")
async def look(visit: people.TeamVisit, key: str):
    """How the columns of a table match."""
    return await _match(visit, key, {}, wishes={"mapping": [], "fill": [], "decimal": ""})


@router.post("/import/{key}")
async def bring(visit: people.TeamVisit, key: str, form: people.Form):
    """Look again with other columns, or keep the good lines."""
    try:
        wishes = _wishes(form)
    except InputError as error:
        return await _match(visit, key, form, wishes={"mapping": [], "fill": [], "decimal": ""}, wrong=str(error))
    if form.get("do") != "keep":
        return await _match(visit, key, form, wishes=wishes)
    place, name = _found(visit, key)
    out = place.parent / f"{secrets.token_hex(8)}.json"
    try:
        await worked(visit, _BRING, str(place), wishes, str(out), much=_is_much(place))
    except WhirlbenchError as error:
        return await _match(visit, key, form, wishes={**wishes, "mapping": [], "fill": []}, wrong=str(error))

    def keep():
        rows = [Reading(**one) for one in json.loads(out.read_text(encoding="utf-8"))]
        given = {"source": name, "turbine": standing(form.get("turbine")), "author": visit.author}
        done = readings.enter(visit.store, visit.team, rows, marks=marks_of(name, rows), **given)
        _SENT.drop(visit.number, key)
        return done

    done = await run_in_threadpool(keep)
    visit.request.app.state.hub.nudge()
    return render.go(f"/teams/{visit.number}/readings?change={done.change or 0}#table")


@router.get("/export.{kind}")
async def export(visit: people.TeamVisit, kind: str, versions: str = ""):
    """All readings of the team as a table for other programs."""
    if kind not in _KINDS:
        raise HTTPException(404)
    count = (await run_in_threadpool(readings.listed, visit.store, visit.team, limit=1)).count
    folder = tempfile.TemporaryDirectory(prefix="whirlbench-export-")
    place = Path(folder.name) / f"{safe_name(visit.team, 'readings')}.{kind}"
    where = visit.request.app.state.settings.store
    given = (None if where is None else str(where), visit.team, str(place))
    try:
        await worked(visit, _EXPORT, *given, much=count > _MUCH_ROWS)
    except BaseException:
        folder.cleanup()
        raise
    return FileResponse(place, media_type=_KINDS[kind], filename=place.name, background=BackgroundTask(folder.cleanup))


def _start(visit, *, wrong="", status=200):
    count = readings.listed(visit.store, visit.team, limit=1).count
    return render.page(visit, "exchange.html", status=status, wrong=wrong, count=count, endings=",".join(_ENDINGS))


def _found(visit, key):
    found = _SENT.find(visit.number, key)
    if found is None:
        raise HTTPException(404, "This file is no longer here. Send it again.")
    return found


def _turbine(visit, form):
    """Turbine that the readings will be kept with, as the worker takes it; the newest before anybody chose."""
    chosen = standing(form.get("turbine"))
    if "turbine" not in form:
        chosen = next(((one.name, one.version) for one in readings.turbines_of(visit.store, visit.team)), None)
    return readings.neighbours(visit.store, visit.team, None, turbine=chosen).turbine if chosen else None


def _is_much(place):
    return place.stat().st_size > _MUCH_BYTES


async def _match(visit, key, form, *, wishes, wrong=""):
    place, name = _found(visit, key)
    try:
        given = str(place), wishes, None, await run_in_threadpool(_turbine, visit, form)
        report = json.loads(await worked(visit, _BRING, *given, much=_is_much(place)))
    except WhirlbenchError as error:
        told = str(error).replace(place.name, name)
        if any(wishes.values()):
            return await _match(visit, key, form, wishes={"mapping": [], "fill": [], "decimal": ""}, wrong=told)
        _SENT.drop(visit.number, key)
        return await run_in_threadpool(_start, visit, wrong=told, status=422)
    turbines = await run_in_threadpool(readings.turbines_of, visit.store, visit.team)
    page = {"report": report, "file": name, "key": key, "wrong": wrong, "turbines": turbines, "columns": list(COLUMNS)}
    page |= {"numbers": NUMBERS, "form": form, "show": entry.shown, "most": _MOST_COLUMNS}
    return render.page(visit, "import_match.html", status=422 if wrong else 200, **page)


def _wishes(form):
    mapping = []
    for place in range(1, _MOST_COLUMNS + 1):
        column, unit = (str(form.get(f"{what}-{place}", "")).strip() for what in ("column", "unit"))
        if column == "-":
            mapping.append(f"#{place}=")
        elif column in COLUMNS:
            mapping.append(f"#{place}={column}" + (f" [{unit[:20]}]" if unit and column in NUMBERS else ""))
    fill = []
    for name in ("wind_speed", "load_resistance"):
        said = str(form.get(name, "")).strip()[:40]
        if said:
            number = entry.number(name, said, str(form.get(f"{name}_unit", "")) or entry.UNITS[name][0])
            fill.append(f"{name}={number!r} {COLUMNS[name]}")
    decimal = str(form.get("decimal", ""))
    return {"mapping": mapping, "fill": fill, "decimal": decimal if decimal in ("comma", "point") else ""}
