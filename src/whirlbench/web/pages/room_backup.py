"""Backup of the room and of single teams, out and in."""

from pathlib import Path

from fastapi import APIRouter, Request
from starlette.background import BackgroundTask
from starlette.exceptions import HTTPException
from starlette.responses import FileResponse

from whirlbench.actions import backup, room
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.store import clock
from whirlbench.web import people, render, sending, toml_field
from whirlbench.web.pages.setup import refuse_strangers

router = APIRouter()
_ZIP = "application/zip"


@router.get("/room/backup")
def show(visit: people.Coach, copy: str = ""):
    """What can be carried out and in."""
    return _page(visit, copy=copy)


@router.get("/room/backup/file")
def room_out(visit: people.Coach):
    """The whole room as one file."""
    name = sending.safe_name(room.room(visit.store).name, clock.now()[:10]) + ".zip"
    with backup.new_file() as file:
        backup.room_out(visit.store, file)
    return _sent(file, name)


@router.post("/room/restore")
def room_in(visit: people.Coach, form: people.Form):
    """Put another room in the place of this one, after a copy of this one was made."""
    try:
        if not form.get("sure"):
            raise InputError("restore", "no tick", "a tick that you mean it", try_="tick the box above the button")
        copy = backup.room_in(visit.store, _file(form))
    except WhirlbenchError as error:
        return _page(visit, status=422, wrong={"restore": toml_field.sentences(error)})
    visit.request.app.state.hub.nudge()
    return render.go(f"/room/backup?copy={copy.name}")


@router.post("/setup/restore")
def first_room(request: Request, form: people.Form):
    """Bring a room back where none is set up yet."""
    key, state = str(form.get("key", "")), request.app.state
    refuse_strangers(request, key)
    secret = backup.first_room(state.store, _file(form))
    state.hub.nudge()
    return people.let_in(render.go("/room"), secret)


@router.get("/room/backup/copy")
def kept_copy(visit: people.Coach, name: str):
    """A copy that was made before another room took the place of this one."""
    place = backup.copy_named(visit.store, name)
    if place is None:
        raise HTTPException(404)
    return FileResponse(place, media_type=_ZIP, filename=place.name, headers={"cache-control": "no-store"})


@router.get("/room/bundle/{number}")
def team_out(visit: people.Coach, number: int):
    """Everything of a team as one file."""
    return _team(visit, number)


@router.get("/teams/{team}/bundle")
def own_bundle(visit: people.TeamVisit):
    """Everything of a team, for the team itself."""
    return _team(visit, visit.number)


@router.post("/room/bundle")
def team_in(visit: people.Coach, form: people.Form):
    """Make a team from its bundle, and show its new PIN."""
    try:
        slip = backup.team_in(visit.store, _file(form), name=str(form.get("name", "")))
    except WhirlbenchError as error:
        return _page(visit, status=422, wrong={"bundle": toml_field.sentences(error)})
    visit.request.app.state.slips.put(visit.person, [slip])
    visit.request.app.state.hub.nudge()
    return render.go("/room/slips")


def _team(visit, number):
    with backup.new_file() as file:
        name = backup.team_out(visit.store, number, file)
    return _sent(file, f"{sending.safe_name(name)}.zip")


def _sent(file, name):
    place = Path(file.name)

    def take_away():
        place.unlink(missing_ok=True)
        place.parent.rmdir()

    headers = {"cache-control": "no-store"}
    return FileResponse(place, media_type=_ZIP, filename=name, headers=headers, background=BackgroundTask(take_away))


def _file(form):
    chosen = form.get("file")
    if not getattr(chosen, "filename", ""):
        raise InputError("file", "none", "a .zip file", try_="choose the file again")
    return chosen.file


def _page(visit, *, status=200, wrong=None, copy=""):
    found = backup.copy_named(visit.store, copy)
    more = {"wrong": wrong or {}, "copy": str(found or ""), "copy_name": copy}
    return render.page(visit, "room_backup.html", status=status, room=room.room(visit.store), **more)
