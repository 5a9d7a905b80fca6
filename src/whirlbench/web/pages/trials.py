"""Bench tests: the list, a guided sheet to fill in on the page, and its numbers kept in the turbine."""

import json
import re

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import Response

from whirlbench.actions import keep
from whirlbench.actions.kept_turbine import restored
from whirlbench.errors import InputErrors, UnknownKey, WhirlbenchError
from whirlbench.web import people, render
from whirlbench.web.chosen import chosen
from whirlbench.web.heavy import worked
from whirlbench.web.sending import safe_name

router = APIRouter(prefix="/teams/{team}/readings/trials")
_CALL = "whirlbench.actions.trial_page:"
_LINE = re.compile(r"sheet\.csv line (\d+)")
_LONGEST = 200


@router.get("")
async def every(visit: people.TeamVisit):
    """All bench tests."""
    found = json.loads(await worked(visit, f"{_CALL}listed"))
    return render.page(visit, "trials.html", trials=found["trials"])


@router.get("/{name}")
async def sheet(visit: people.TeamVisit, name: str):
    """Sheet of a test for the chosen turbine."""
    kept = await run_in_threadpool(chosen, visit)
    return _page(visit, await _sheet(visit, name, kept), kept)


@router.get("/{name}/sheet.pdf")
async def printed(visit: people.TeamVisit, name: str, paper: str = "A4"):
    """Sheet of a test to print."""
    kept = await run_in_threadpool(chosen, visit)
    content = await worked(visit, f"{_CALL}printed", name[:80], kept.plain if kept else None, paper)
    headers = {"content-disposition": f'attachment; filename="{safe_name("bench-test", name)}.pdf"'}
    return Response(content, media_type="application/pdf", headers=headers)


@router.post("/{name}")
async def fill(visit: people.TeamVisit, name: str, form: people.Form):
    """See what a filled-in sheet says, or keep it in the turbine."""
    kept = await run_in_threadpool(chosen, visit)
    if kept is None:
        raise HTTPException(404)
    found = await _sheet(visit, name, kept)
    cells = [[_cell(form, f"cell-{row}-{column}") for column in range(len(found["columns"]))] for row in _rows(found)]
    facts = [_cell(form, f"fact-{place}") for place in range(len(found["facts"]))]
    header = [
        *found["columns"],
        *(f"{one['name']} [{one['unit']}]" if one["unit"] else one["name"] for one in found["facts"]),
    ]
    rows = [[*row, *(facts if number == 0 else [""] * len(facts))] for number, row in enumerate(cells)]
    typed = {"cells": cells, "facts": facts}
    try:
        answer = json.loads(await worked(visit, f"{_CALL}tried", name, kept.plain, header, rows))
    except WhirlbenchError as error:
        found_wrong = error.errors if isinstance(error, InputErrors) else (error,)
        wrong = [_LINE.sub(lambda line: f"row {int(line[1]) - 1}", str(one)) for one in found_wrong]
        return _page(visit, found, kept, typed=typed, wrong=wrong, status=422)
    if form.get("do") != "keep":
        return _page(visit, found, kept, typed=typed, answer=answer["told"])

    def save():
        turbine = restored(answer["turbine"], kept.kept.files)
        return keep.keep(visit.store, visit.team, turbine, author=visit.author)

    done = await run_in_threadpool(save)
    visit.request.app.state.hub.nudge()
    now = await run_in_threadpool(chosen, visit)
    return _page(visit, found, now, typed=typed, answer=answer["told"], done=done)


async def _sheet(visit, name, kept):
    try:
        return json.loads(await worked(visit, f"{_CALL}guided", name[:80], kept.plain if kept else None, []))
    except UnknownKey:
        raise HTTPException(404) from None


def _rows(found):
    return range(len(found["rows"]))


def _cell(form, name):
    return " ".join(str(form.get(name, ""))[:_LONGEST].split()).replace("\0", "")


def _page(visit, found, kept, *, typed=None, wrong=(), answer=None, done=None, status=200):
    typed = typed or {"cells": found["rows"], "facts": [one["value"] for one in found["facts"]]}
    context = {"sheet": found, "typed": typed, "wrong": wrong, "answer": answer, "done": done}
    return render.page(visit, "trial.html", status=status, kept=kept.kept if kept else None, **context)
