"""Explain: any number of the workbench opened to its formula, inputs, source and doubt."""

import json

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from whirlbench.actions.explain_words import MEANINGS
from whirlbench.errors import WhirlbenchError
from whirlbench.web import people, render
from whirlbench.web.desk import desk_of, wrong_of

router = APIRouter()


@router.get("/teams/{team}/explain/{quantity}")
async def explain(visit: people.TeamVisit, quantity: str):
    """One number of the typed turbine, as a page or as the inside of a dialog."""
    if quantity not in MEANINGS:
        raise HTTPException(404)
    asked = visit.request.query_params
    desk = await run_in_threadpool(desk_of, visit, asked)
    if desk is None:
        return render.go(f"/teams/{visit.number}/bench")
    wrong, found = desk.wrong, None
    if not wrong:
        try:
            found = json.loads(await visit.work.ask("whirlbench.actions.explain:explain", *desk.plain, quantity))
        except WhirlbenchError as error:
            wrong = wrong_of(error, desk.kept)
    page = {"desk": desk, "found": found, "wrong": [each for some in wrong.values() for each in some]}
    page["others"] = [(name, one.title) for name, one in MEANINGS.items() if name != quantity]
    template = "explain_inside.html" if "part" in asked else "explain.html"
    return render.page(visit, template, status=422 if wrong else 200, **page)
