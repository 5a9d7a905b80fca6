"""The room is set up: one page, once, by whoever holds the key that the server printed."""

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException

from whirlbench.actions import pins, room, set_up, sign_in
from whirlbench.errors import WhirlbenchError
from whirlbench.web import people, qr, render, toml_field

router = APIRouter()
_MODELS = {"event": set_up.Event, "bin": set_up.PartsBin}
_SHIPPED = {"event": "event", "bin": "parts-bin"}
_FIRST = {
    "name": "",
    "teams": "",
    "event": "shipped",
    "bin": "shipped",
    "event_text": "",
    "bin_text": "",
    "starter": True,
}


@router.get("/setup")
def show(request: Request, key: str = ""):
    """The empty form."""
    refuse_strangers(request, key)
    if room.room(request.app.state.store).ready:
        return render.go("/coach")
    return _page(request, key, dict(_FIRST))


@router.post("/setup")
def do(request: Request, form: people.Form):
    """Set the room up, or show what does not fit beside its field."""
    key, state = str(form.get("key", "")), request.app.state
    refuse_strangers(request, key)
    if room.room(state.store).ready:
        return render.go("/coach")
    typed, wrong = {name: str(form.get(name, "")) for name in ("name", "teams", "event", "bin")}, {}
    typed["starter"] = bool(form.get("starter"))
    pin, again = str(form.get("pin", "")), str(form.get("again", ""))

    def take(field, read):
        try:
            return read()
        except WhirlbenchError as error:
            wrong[field] = toml_field.sentences(error)
        return None

    plan = set_up.Plan(
        name=take("name", lambda: set_up.names.checked_name("room", typed["name"])),
        pin=take("pin", lambda: pins.twice(pin, again)),
        teams=take("teams", lambda: set_up.team_names(typed["teams"])),
        event=take("event", lambda: _document(form, "event", typed)),
        parts_bin=take("bin", lambda: _document(form, "bin", typed)),
        starter=typed["starter"],
    )
    if wrong:
        return _page(request, key, {"event_text": "", "bin_text": "", **typed}, wrong=wrong, status=422)
    secret, slips = set_up.set_up(state.store, plan)
    state.slips.put(sign_in.who(state.store, secret), slips, coach_pin="" if pin else plan.pin)
    state.hub.nudge()
    return people.let_in(render.go("/room/slips"), secret)


def refuse_strangers(request, key):
    """To whoever does not hold the key, the page is not there."""
    if not people.same(key, request.app.state.settings.set_up_key):
        raise HTTPException(404)


def _page(request, key, typed, *, wrong=None, status=200):
    address = request.app.state.settings.address
    return render.page(
        request,
        "setup.html",
        status=status,
        key=key,
        typed=typed,
        wrong=wrong or {},
        address=address,
        code=qr.code_of(address),
    )


def _document(form, field, typed):
    """Event or bin with its text: the shipped one, none, or the coach's own; who chose a file means that one."""
    if getattr(form.get(f"{field}_file"), "filename", ""):
        typed[field] = "own"
    if typed[field] == "none":
        return None
    if typed[field] != "own":
        return set_up.example(_SHIPPED[field])
    text = typed[f"{field}_text"] = toml_field.typed(form, field)
    return toml_field.part_of(text, _MODELS[field], field=field), text
