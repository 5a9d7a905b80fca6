"""Check: the event's rules, strength, stability, balance and hazards of a kept turbine."""

import json
import math

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool

from whirlbench import units
from whirlbench.actions import room
from whirlbench.errors import WhirlbenchError
from whirlbench.parts import plain
from whirlbench.web import people, render
from whirlbench.web.chosen import chosen

router = APIRouter()
_SHOWN_AS = {"m": "mm", "rad": "deg", "Pa": "MPa"}


@router.get("/teams/{team}/check")
async def check(visit: people.TeamVisit):
    """Whether the turbine is allowed and safe, and how near it is to where it is not."""
    found = await run_in_threadpool(chosen, visit)
    page = {"chosen": found, "wrong": "", "report": None}
    if found is None:
        return render.page(visit, "check.html", **page)
    event = await run_in_threadpool(room.event_of, visit.store)
    call = "whirlbench.actions.check_kept:check_kept"
    try:
        report = json.loads(await visit.work.ask(call, found.plain, plain.text_of(event) if event else None))
    except WhirlbenchError as error:
        return render.page(visit, "check.html", status=422, **page | {"wrong": str(error)})
    deciding = [one for one in report["strength"] if one["limit"] is not None]
    knowing = [one for one in report["strength"] if one["limit"] is None]
    hub = _hub(found.kept.text, report["balance"])
    shown = {"report": report, "deciding": deciding, "knowing": knowing, "margin": _margin, "hub": hub}
    return render.page(visit, "check.html", **page | shown)


def _margin(value, unit):
    text = units.show(value, _SHOWN_AS.get(unit, unit)) if unit else f"{value:.3g} ×"
    return text.replace(" ", "\N{NO-BREAK SPACE}")


def _hub(text, balance):
    """The hub seen from the wind: where each hole is, and which blade goes in."""
    rotor = json.loads(text)["rotor"]
    count = rotor["hub"]["holes"]
    best = balance["best_imbalance_kg_m"] <= 0.999 * balance["imbalance_kg_m"]
    holes = (balance["best_holes"] if best else ()) or balance["better_holes"] or rotor["holes"]
    blades = {hole: number for number, hole in enumerate(holes, 1)}
    spots = []
    for hole in range(1, count + 1):
        angle = math.tau * (hole - 1) / count  # hole 1 on top, then with the clock
        across, up = math.sin(angle), -math.cos(angle)
        spots.append({"hole": hole, "x": across, "y": up, "blade": blades.get(hole), "turn": math.degrees(angle)})
    return {"spots": spots, "own": list(holes) == rotor["holes"], "size": max(4.0, min(8.0, 90 / count))}
