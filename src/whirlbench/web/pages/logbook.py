"""Logbook: notes with photos, decisions, versions and readings on one time line."""

import tempfile
from pathlib import Path
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException

from whirlbench.actions import logbook as book
from whirlbench.actions import undo as back
from whirlbench.actions.kept_turbine import kept_turbine
from whirlbench.errors import Conflict, InputError
from whirlbench.web import people, render, sending
from whirlbench.web.work import key_of

router = APIRouter()
_TEXTS = ("kind", "text", "why", "predicted")
_EMPTY = dict.fromkeys(_TEXTS, "") | {"kind": "note", "photos": (), "turbine": "", "version": None}


@router.get("/teams/{team}/logbook")
def logbook(visit: people.TeamVisit):
    """The time line, and a form for one more note."""
    return _line(visit, _asked_for(visit))


@router.post("/teams/{team}/logbook/photos")
async def write(visit: people.TeamVisit, form: people.Form):
    """Keep a note with its photos."""
    content = _content(form)
    try:
        pictures = await _pictures(visit, form)
        await run_in_threadpool(
            book.write_note, visit.store, visit.team, content, pictures=pictures, author=visit.author
        )
    except InputError as error:
        return await run_in_threadpool(_line, visit, content, wrong=str(error), status=422)
    return _written(visit)


@router.get("/teams/{team}/logbook/notes/{number}")
def note(visit: people.TeamVisit, number: int):
    """A form to change a note."""
    return _form(visit, book.note(visit.store, visit.team, number))


@router.post("/teams/{team}/logbook/notes/{number}/photos")
async def change(visit: people.TeamVisit, number: int, form: people.Form):
    """Change a note; where somebody was quicker both texts are shown and nothing is lost."""
    stay = [int(one) for one in form.getlist("stay") if _is_number(one)]
    content, seen = _content(form) | {"photos": stay}, str(form.get("seen", ""))
    try:
        pictures = await _pictures(visit, form, already=len(stay))
        more = {"seen": int(seen) if _is_number(seen) else 0, "pictures": pictures, "author": visit.author}
        await run_in_threadpool(book.change_note, visit.store, visit.team, number, content=content, **more)
    except (InputError, Conflict) as error:
        now = await run_in_threadpool(book.note, visit.store, visit.team, number)
        clash = now if isinstance(error, Conflict) else None
        return _form(visit, now, typed=content, clash=clash, wrong=str(error))
    return _written(visit)


@router.post("/teams/{team}/logbook/notes/{number}/out")
def take_out(visit: people.TeamVisit, number: int, form: people.Form):
    """Take a note out; it can be brought back."""
    seen = str(form.get("seen", ""))
    book.delete_note(visit.store, visit.team, number, seen=int(seen) if _is_number(seen) else 0, author=visit.author)
    return _written(visit)


@router.post("/teams/{team}/logbook/undo")
def undo(visit: people.TeamVisit, form: people.Form):
    """Take a change back."""
    number = str(form.get("change", ""))
    if not _is_number(number):
        raise HTTPException(404)
    back.undo(visit.store, visit.team, change=int(number), author=visit.author)
    return _written(visit)


@router.get("/teams/{team}/logbook/photos/{number}")
def photo(visit: people.TeamVisit, number: int):
    """One photo; it never changes."""
    picture = book.photo(visit.store, visit.team, number)
    tag = sending.tag_of(key_of("photo", [visit.number, number]))
    return sending.unchanged(visit.request, tag) or sending.inline(picture, media_type="image/jpeg", tag=tag)


@router.post("/teams/{team}/logbook/photos/{number}/erase")
def erase(visit: people.TeamVisit, number: int, form: people.Form):
    """Delete a photo for good."""
    book.erase_photo(visit.store, visit.team, number, author=visit.author)
    return _written(visit)


def _written(visit):
    visit.request.app.state.hub.nudge()
    return render.go(f"/teams/{visit.number}/logbook?kept=1")


def _line(visit, typed, *, wrong="", status=200):
    asked = visit.request.query_params
    shown = asked.get("show") if asked.get("show") in book.KINDS else "all"
    before = int(asked["before"]) if _is_number(asked.get("before", "")) else None
    report = book.logbook(visit.store, visit.team, kind=shown, before=before)
    kept = kept_turbine(visit.store, visit.team)
    return render.page(
        visit,
        "logbook.html",
        status=status,
        report=report,
        shown=shown,
        first=before is None,
        further=urlencode({"show": shown, "before": report.before}) if report.before else "",
        note=typed,
        standing=kept,
        wrong=wrong,
        most=book.MOST_PHOTOS,
    )


def _form(visit, note, *, typed=None, clash=None, wrong=""):
    content = note.model_dump() | (typed or {})
    status = 409 if clash else 422 if wrong else 200
    context = {"note": content, "clash": clash, "wrong": "" if clash else wrong, "most": book.MOST_PHOTOS}
    standing = kept_turbine(visit.store, visit.team)
    return render.page(visit, "logbook_note.html", status=status, standing=standing, **context)


def _asked_for(visit):
    """What another page has filled in for a new note."""
    asked = visit.request.query_params
    return _EMPTY | {name: asked[name][:2000] for name in _TEXTS if name in asked} | _turbine(asked.get("stands", ""))


def _content(form):
    """What was typed."""
    texts = {name: str(form.get(name, "")).replace("\r\n", "\n").strip() for name in _TEXTS}
    return texts | {"photos": []} | _turbine(str(form.get("stands", "")))


def _turbine(text):
    """Turbine and version from one field, such as ``3 Starter``."""
    number, _, name = text.partition(" ")
    return (
        {"turbine": name, "version": int(number)} if name and _is_number(number) else {"turbine": "", "version": None}
    )


def _is_number(text):
    return text.isascii() and text.isdigit() and len(text) < 10


async def _pictures(visit, form, *, already=0):
    """Photos as they are kept; what they were called is not looked at."""
    sent = [one for one in form.getlist("photos") if isinstance(one, UploadFile) and one.size]
    if already + len(sent) > book.MOST_PHOTOS:
        needs = f"at most {book.MOST_PHOTOS} photos in a note"
        raise InputError("photos", str(already + len(sent)), needs, try_="put the others in another note")
    return [await _picture(visit, one) for one in sent]


async def _picture(visit, sent):
    content = await sent.read()
    with tempfile.TemporaryDirectory(prefix="whirlbench-photo-") as folder:
        place = Path(folder) / "sent"
        await run_in_threadpool(place.write_bytes, content)
        return await visit.work.ask("whirlbench.actions.photo:kept_photo", str(place))
