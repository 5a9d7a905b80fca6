"""The door: choose a team, show its PIN; the coach's door; language and units; sign out."""

from fastapi import APIRouter, Request

from whirlbench.actions import room, sign_in
from whirlbench.errors import InputError
from whirlbench.web import language, people, render, shown

router = APIRouter()
_KEPT = 60 * 60 * 24 * 365  # [s]


@router.get("/")
def door(request: Request):
    """Teams to choose from; somebody who is signed in goes on to their own page."""
    person = people.person_of(request)
    if person is not None:
        return render.go("/room" if person.coach else f"/teams/{person.team_id}/bench")
    return _door(request)


@router.post("/")
def team_in(request: Request, form: people.Form):
    """Let somebody of a team in."""
    number = str(form.get("team", ""))
    if not (number.isascii() and number.isdigit()):
        return _door(request, wrong="team", status=422)

    def attempt(pin, name):
        return sign_in.as_team(request.app.state.store, int(number), pin, name=name)

    return _let_in(request, form, f"team {number}", attempt=attempt, onward=f"/teams/{int(number)}/bench")


@router.get("/coach")
def coach_door(request: Request):
    """The coach's door."""
    return render.page(request, "door_coach.html", room=room.room(request.app.state.store), wrong="")


@router.post("/coach")
def coach_in(request: Request, form: people.Form):
    """Let the coach in."""

    def attempt(pin, name):
        return sign_in.as_coach(request.app.state.store, pin, name=name)

    return _let_in(request, form, "coach", attempt=attempt, onward="/room")


@router.post("/out")
def out(visit: people.Anybody, form: people.Form):
    """Sign out."""
    sign_in.out(visit.store, visit.person)
    return people.let_out(render.go("/"))


@router.post("/taste")
def taste(request: Request, form: people.Form):
    """Keep the language and the units that a browser asks for."""
    back = str(form.get("back", "/"))
    answer = render.go(back if back.startswith("/") and not back.startswith(("//", "/\\")) else "/")
    if form.get("language") in language.NAMES:
        answer.set_cookie(language.COOKIE, form["language"], max_age=_KEPT, samesite="strict", httponly=True)
    if form.get("units") in ("metric", "inch"):
        answer.set_cookie(shown.COOKIE, form["units"], max_age=_KEPT, samesite="strict", httponly=True)
    return answer


def _let_in(request, form, whom, *, attempt, onward):
    patience, asker = request.app.state.patience, request.client.host if request.client else ""
    key = f"{whom} from {asker}"
    template = {"coach": "door_coach.html"}.get(whom, "door.html")
    try:
        patience.ask(key)
        secret = attempt(str(form.get("pin", "")), str(form.get("name", "")))
    except InputError as error:
        return _door(request, wrong=str(error), status=422, template=template)
    if secret is None:
        patience.wrong(key)
        return _door(request, wrong="pin", status=403, template=template)
    patience.right(key)
    return people.let_in(render.go(onward), secret)


def _door(request, *, wrong="", status=200, template="door.html"):
    return render.page(request, template, status=status, room=room.room(request.app.state.store), wrong=wrong)
