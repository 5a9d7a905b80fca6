"""Compare: is one build better than another, by how much, and how sure is that; with pictures and plain words."""

import json

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool

from whirlbench import units
from whirlbench.actions import plans, readings
from whirlbench.actions.compare import QUANTITIES
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.web import people, render, shown
from whirlbench.web.heavy import worked
from whirlbench.web.pages.readings import standing

router = APIRouter(prefix="/teams/{team}/readings/compare")
_COMPARED = "whirlbench.actions.compare_kept:compared"
_OF = ("power", "rotor_speed", "voltage", "current", "tip_deflection")
_MOST = 4  # turbines at once


@router.get("")
async def compare(visit: people.TeamVisit):
    """Choose what to compare, and see what comes of it."""
    query = visit.request.query_params
    asked = {
        "plan": query.get("plan", ""),
        "of": query.get("of", "power"),
        "turbines": query.getlist("turbine")[:_MOST],
    }
    asked |= {"gain": query.get("gain", "")[:40], "alike": query.get("alike", "yes" if "of" not in query else "")}
    answer, wrong = None, ""
    if asked["plan"] or len(asked["turbines"]) > 1:
        try:
            wishes = {"of": asked["of"] if asked["of"] in QUANTITIES else "power", "alike": asked["alike"] == "yes"}
            wishes["wanted"] = units.read("gain", asked["gain"], "") if asked["gain"] else None
            groups = await run_in_threadpool(_groups, visit, asked)
            answer = json.loads(await worked(visit, _COMPARED, groups, wishes))
        except WhirlbenchError as error:
            wrong = str(error)
    elif asked["turbines"]:
        wrong = render.words(visit.request)("Choose two turbines or more.")

    def page():
        context = {"plans": plans.listed(visit.store, visit.team).plans, "quantities": _OF, "sized": _sized}
        context["turbines"] = readings.turbines_of(visit.store, visit.team)
        return render.page(visit, "compare.html", asked=asked, answer=answer, wrong=wrong, **context)

    return await run_in_threadpool(page)


def _groups(visit, asked):
    """Readings under their names, as plain values."""
    if asked["plan"]:
        lines = readings.of_plan(visit.store, visit.team, asked["plan"])
        if not lines:
            needs = "runs that are done"
            raise InputError("plan", f"'{asked['plan']}' without a reading", needs, try_="enter its runs first")
        return {asked["plan"]: [vars(line.reading()) for line in lines]}
    groups = {}
    for text in dict.fromkeys(asked["turbines"]):
        turbine = standing(text)
        if turbine is None:
            raise InputError("turbine", f"'{text[:60]}'", "a kept version", try_="choose one of the list")
        lines = readings.taken_at(visit.store, visit.team, turbine)
        name = f"{turbine[0]}, version {turbine[1]}"
        if not lines:
            raise InputError(name, "no reading", "readings that name it", try_="choose it when you enter a reading")
        groups[name] = [vars(line.reading()) for line in lines]
    return groups


def _sized(number, unit):
    if number is None:
        return ""
    if unit == "W":
        return shown.signed_watts(number)
    return units.show(number, {"rad/s": "rpm", "m": "mm"}.get(unit, unit), 2)
