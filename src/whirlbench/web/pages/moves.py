"""What holds a turbine back, the next moves, the best build and the next test: long work, done in the slow worker."""

import json
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool

from whirlbench.actions import room, starts
from whirlbench.actions.taken import readings_text
from whirlbench.errors import WhirlbenchError
from whirlbench.parts import plain
from whirlbench.web import people, render
from whirlbench.web.chosen import chosen

router = APIRouter()
_CALL = "whirlbench.actions.moves:moves"
_SHOWN_FIRST, _SHOWN = 5, 40


@router.get("/teams/{team}/bench/moves")
async def moves(visit: people.TeamVisit):
    """Verdict and moves of the kept turbine; asking for them sets the work going, which is done once."""
    asked = visit.request.query_params
    found = await run_in_threadpool(chosen, visit)
    if found is None:
        return render.go(f"/teams/{visit.number}/bench")
    searching = "build" in asked
    job = visit.work.job(visit.number, asked.get("job", ""))
    usual = False
    if job is None:
        given, usual = await run_in_threadpool(_given, visit, found)
        job = visit.work.start(visit.number, _CALL, found.plain, *given, searching)
    page = {
        "chosen": found,
        "query": urlencode({"turbine": found.kept.turbine, **({"build": 1} if searching else {})}),
        "job": job,
        "usual_bin": usual,
        "searching": searching,
        **_outcome(visit, found, job),
    }
    return render.page(visit, "bench_moves_list.html" if "part" in asked else "bench_moves.html", **page)


@router.post("/teams/{team}/bench/moves/cancel")
async def cancel(visit: people.TeamVisit, form: people.Form):
    """End a search; what it has found so far is told."""
    job = visit.work.job(visit.number, str(form.get("job", "")))
    if job is not None:
        visit.work.cancel(job)
    return render.go(f"/teams/{visit.number}/bench")


def _given(visit, found):
    """Room and readings as plain values, and whether the usual bin stands in for one that nobody chose."""
    parts_bin, event = room.bin_of(visit.store), room.event_text(visit.store)
    usual = parts_bin is None
    texts = [plain.text_of(starts.usual_bin() if usual else parts_bin), event]
    return (texts, readings_text(visit.store, visit.team, found.kept.turbine, found.kept.text)), usual


def _outcome(visit, found, job):
    """Report of a job that is done, with a link to the bench for each move, or what went wrong."""
    if not job.done or job.future.cancelled():
        return {"report": None, "wrong": "", "moves": (), "steps": ()}
    error = job.future.exception()
    if error is not None:
        words = str(error) if isinstance(error, WhirlbenchError) else "The work stopped. Ask again."
        return {"report": None, "wrong": words, "moves": (), "steps": ()}
    report = json.loads(job.future.result())

    def offers(key):
        return [
            one["move"] | {"place": _place(visit, found, one["texts"]), "bad": _bad(one["move"])}
            for one in report[key][:_SHOWN]
        ]

    return {"report": report, "wrong": "", "moves": _mixed(offers("moves")), "steps": offers("steps")} | {
        "first": _SHOWN_FIRST
    }


def _mixed(moves):
    """The best of each part group first, then all others in their order."""
    heads = {one["part"]: one for one in reversed(moves) if not one["bad"] and one["gain_W"] > 0}
    first = sorted(heads.values(), key=moves.index)
    return first + [one for one in moves if one not in first]


def _place(visit, found, texts):
    """Address of the bench with a move laid over the kept turbine, or nothing where it cannot be typed."""
    if texts is None:
        return ""
    return f"/teams/{visit.number}/bench?{urlencode({'turbine': found.kept.turbine, **texts})}"


def _bad(move):
    """Why a move should not be done, the worst first; the keys are words of the page."""
    return [
        name
        for name, true in (
            ("unsafe", not move["safe"]),
            ("falls", not move["stands"]),
            ("rules", not move["allowed"]),
            ("stuck", not move["starts"]),
        )
        if true
    ]
