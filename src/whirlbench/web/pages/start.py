"""A team's first turbine, or one more: an example to begin with, or a file of its own."""

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from whirlbench.actions import keep as keeping
from whirlbench.actions import starts
from whirlbench.errors import InputError, InputErrors, WhirlbenchError
from whirlbench.web import people, render

router = APIRouter()
_MOST_BYTES = 200_000


@router.get("/teams/{team}/bench/start")
def another(visit: people.TeamVisit):
    """The page where another turbine is begun."""
    return page(visit)


@router.post("/teams/{team}/bench/start")
async def begin(visit: people.TeamVisit, form: people.Form):
    """Keep the first version of a turbine."""
    name, kind, file = (form.get(key) or "" for key in ("name", "start", "file"))
    try:
        content = await file.read(_MOST_BYTES + 1) if isinstance(file, UploadFile) else b""
        await run_in_threadpool(_begin, visit, str(name).strip(), (str(kind), file, content))
    except InputErrors as errors:
        return page(visit, wrong=[str(one) for one in errors.errors], name=name, status=422)
    except WhirlbenchError as error:
        return page(visit, wrong=[str(error)], name=name, status=422)
    return render.go(f"/teams/{visit.number}/bench")


def page(visit, *, wrong=(), name="", status=200):
    """The page where a turbine is begun, with what was wrong."""
    return render.page(visit, "bench_start.html", status=status, starts=starts.STARTS, wrong=wrong, name=name)


def _begin(visit, name, given):
    kind, file, content = given
    if content:
        turbine = starts.brought(_text(content, file.filename), file.filename or "file", name)
    elif kind in starts.STARTS:
        turbine = starts.start(kind, name or visit.team)
    else:
        raise InputError("start", "nothing", "an example or a file", try_="choose one of the turbines")
    if turbine.rotor.section.kind == "own polar":
        needs = "a sheet or an airfoil by name"
        raise InputError("section", "a polar table, which the page cannot take", needs, try_="keep it by command line")
    keeping.keep(visit.store, visit.team, turbine, author=visit.author)
    visit.request.app.state.hub.nudge()


def _text(content, name):
    if len(content) > _MOST_BYTES:
        raise InputError(name, "a very long file", f"at most {_MOST_BYTES // 1000} kB", try_="send the turbine alone")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(name, "bytes that are no text", "UTF-8 text", try_="save the file as plain text") from None
