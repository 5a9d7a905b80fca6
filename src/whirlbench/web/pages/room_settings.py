"""What the room is set to: its name, its coach's PIN, its event and its parts bin."""

import hashlib

from fastapi import APIRouter

from whirlbench.actions import pins, room, set_up, sign_in
from whirlbench.errors import Conflict, InputError, WhirlbenchError
from whirlbench.web import people, render, sending, toml_field

router = APIRouter()


@router.get("/room/settings")
def show(visit: people.Coach):
    """All of it."""
    return _page(visit)


@router.post("/room/settings/name")
def rename(visit: people.Coach, form: people.Form):
    """Give the room another name."""
    return _tried(visit, "name", lambda: room.rename(visit.store, str(form.get("name", ""))), form)


@router.post("/room/settings/pin")
def change_pin(visit: people.Coach, form: people.Form):
    """Give the coach another PIN and sign out all other browsers of the coach."""
    try:
        pin = pins.twice(str(form.get("pin", "")), str(form.get("again", "")))
        secret = room.change_coach_pin(visit.store, pin)
    except InputError as error:
        return _page(visit, status=422, wrong={"pin": [str(error)]})
    visit.request.app.state.slips.put(sign_in.who(visit.store, secret), (), coach_pin=pin)
    return people.let_in(render.go("/room/slips"), secret)


@router.post("/room/settings/event")
def change_event(visit: people.Coach, form: people.Form):
    """Keep the rules that were written or uploaded."""

    def keep(text):
        part = toml_field.part_of(text, set_up.Event, field="event")
        room.choose_event(visit.store, part, text=text, author=visit.author)

    return _document(visit, form, "event", keep)


@router.post("/room/settings/bin")
def change_bin(visit: people.Coach, form: people.Form):
    """Keep the shelves that were written or uploaded."""

    def keep(text):
        part = toml_field.part_of(text, set_up.PartsBin, field="bin")
        room.choose_bin(visit.store, part.name, part, text=text, author=visit.author)

    return _document(visit, form, "bin", keep)


@router.get("/room/settings/{field}.toml")
def download(visit: people.Coach, field: str):
    """Event or bin as the file that it was."""
    texts = dict(zip(("event", "bin"), room.texts(visit.store), strict=True))
    if not texts.get(field):
        return render.go("/room/settings")
    tag = sending.tag_of(_mark(texts[field]))
    return sending.download(texts[field].encode(), f"{field}.toml", media_type="application/toml", tag=tag)


def _document(visit, form, field, keep):
    """Keep what was written, unless another coach changed it since this page was loaded."""
    texts = dict(zip(("event", "bin"), room.texts(visit.store), strict=True))
    text = ""
    try:
        text = toml_field.typed(form, field)
        if form.get("seen") != _mark(texts[field]):
            got, needs = "a change to an older text", "the newest"
            raise Conflict(field, got, needs, try_="compare it with the file behind 'Download', then save again")
        keep(text)
    except WhirlbenchError as error:
        status = 409 if isinstance(error, Conflict) else 422
        return _page(
            visit, status=status, wrong={field: toml_field.sentences(error)}, typed={field: text or texts[field]}
        )
    visit.request.app.state.hub.nudge()
    return render.go(f"/room/settings?kept={field}#{field}")


def _tried(visit, field, act, form):
    try:
        act()
    except WhirlbenchError as error:
        return _page(
            visit, status=422, wrong={field: toml_field.sentences(error)}, typed={field: str(form.get(field, ""))}
        )
    visit.request.app.state.hub.nudge()
    return render.go(f"/room/settings?kept={field}")


def _page(visit, *, status=200, wrong=None, typed=None):
    event, parts_bin = room.texts(visit.store)
    found = room.room(visit.store)
    texts = {"event": event, "bin": parts_bin, "name": found.name}
    marks = {name: _mark(text) for name, text in texts.items()}
    return render.page(
        visit,
        "room_settings.html",
        status=status,
        room=found,
        typed=texts | (typed or {}),
        marks=marks,
        wrong=wrong or {},
        kept=visit.request.query_params.get("kept", ""),
        shipped={"event": set_up.example("event")[1], "bin": set_up.example("parts-bin")[1]},
    )


def _mark(text):
    return hashlib.sha256(text.encode()).hexdigest()[:16]
