"""The coach's room: its address, every team at a glance, and what is done about teams."""

from datetime import UTC, datetime

from fastapi import APIRouter
from starlette.exceptions import HTTPException

from whirlbench.actions import overview, room, room_teams, set_up
from whirlbench.actions.standing_report import Standing
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.web import people, qr, render, toml_field

router = APIRouter()
_STANDING = "whirlbench.actions.standing:standing"


@router.get("/room")
def show(visit: people.Coach):
    """The whole room."""
    return _room(visit)


@router.get("/room/teams")
def teams(visit: people.Coach):
    """The teams alone, for a page that is open already."""
    return render.page(visit, "room_teams.html", overview=overview_of(visit))


@router.post("/room/teams")
def add(visit: people.Coach, form: people.Form):
    """Add teams, one a line; their PINs are shown next."""
    try:
        wanted = set_up.team_names(str(form.get("teams", "")))
        if not wanted:
            raise InputError("teams", "nothing", "a name in each line", try_="write the teams' names")
        slips = set_up.add_teams(visit.store, wanted, starter=bool(form.get("starter")))
    except WhirlbenchError as error:
        return _room(visit, status=422, wrong=toml_field.sentences(error), teams_text=str(form.get("teams", "")))
    return _to_slips(visit, slips)


@router.post("/room/pins")
def new_pins(visit: people.Coach, form: people.Form):
    """Give every team a new PIN, once the coach ticked that they mean it."""
    if not form.get("sure"):
        return render.go("/room/settings#pins")
    numbers = [one.number for one in room.room(visit.store).teams]
    return _to_slips(visit, set_up.new_pins(visit.store, numbers))


@router.get("/room/slips")
def slips(visit: people.Coach):
    """PINs that were made a moment ago, as a sheet to print and cut."""
    made, coach_pin = visit.request.app.state.slips.of(visit.person)
    name, address = room.room(visit.store).name, visit.request.app.state.settings.address
    more = {"address": address, "code": qr.code_of(address), "room_name": name}
    return render.page(visit, "slips.html", slips=made, coach_pin=coach_pin, **more)


@router.get("/room/teams/{number}")
def one(visit: people.Coach, number: int):
    """What the coach can do about one team."""
    return _team(visit, number)


@router.post("/room/teams/{number}/pin")
def new_pin(visit: people.Coach, form: people.Form, number: int):
    """Give a team a new PIN."""
    return _to_slips(visit, set_up.new_pins(visit.store, [number]))


@router.post("/room/teams/{number}/name")
def rename(visit: people.Coach, form: people.Form, number: int):
    """Give a team another name."""
    try:
        room_teams.rename(visit.store, number, str(form.get("name", "")))
    except InputError as error:
        return _team(visit, number, status=422, wrong={"name": str(error)})
    visit.request.app.state.hub.nudge()
    return render.go(f"/room/teams/{number}")


@router.post("/room/teams/{number}/out")
def sign_out(visit: people.Coach, form: people.Form, number: int):
    """End one of a team's sign-ins, or all of them."""
    whose = str(form.get("person", ""))
    if whose != "all" and not (whose.isascii() and whose.isdigit() and len(whose) < 19):
        raise HTTPException(404)
    room_teams.sign_out(visit.store, number, person=None if whose == "all" else int(whose))
    return render.go(f"/room/teams/{number}")


@router.post("/room/teams/{number}/delete")
def delete(visit: people.Coach, form: people.Form, number: int):
    """Delete a team with everything it saved, once its name was typed."""
    try:
        room_teams.remove(visit.store, number, typed=str(form.get("name", "")))
    except InputError as error:
        return _team(visit, number, status=422, wrong={"delete": str(error)})
    visit.request.app.state.hub.nudge()
    return render.go("/room")


def overview_of(visit):
    """Overview as it is now; what is heavy is asked for in the slow worker, and told once it is there."""
    found, counts = overview.facts(visit.store)
    event = room.event_text(visit.store)
    standings = {}
    for one in found:
        if one.content is not None:
            job = visit.work.start(one.number, _STANDING, one.content, one.files, event)
            if job.done and not job.future.cancelled() and job.future.exception() is None:
                standings[one.number] = Standing.model_validate_json(job.future.result())
    here = visit.request.app.state.hub.presence.here()
    return overview.overview(found, counts, now=datetime.now(UTC), here=here, standings=standings)


def _room(visit, *, status=200, wrong=(), teams_text=""):
    address = visit.request.app.state.settings.address
    return render.page(
        visit,
        "room.html",
        status=status,
        room=room.room(visit.store),
        overview=overview_of(visit),
        address=address,
        code=qr.code_of(address),
        wrong=wrong,
        teams_text=teams_text,
    )


def _team(visit, number, *, status=200, wrong=None):
    found = room_teams.team(visit.store, number)
    return render.page(visit, "room_team.html", status=status, one=found, wrong=wrong or {})


def _to_slips(visit, slips):
    visit.request.app.state.slips.put(visit.person, slips)
    visit.request.app.state.hub.nudge()
    return render.go("/room/slips")
