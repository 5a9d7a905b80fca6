"""Sound: a recording of the turbine is sent, its speed is heard, and goes into a reading."""

import json
import math
from concurrent.futures import CancelledError

from fastapi import APIRouter
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse

from whirlbench.actions import readings
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.web import entry, people, render
from whirlbench.web.uploads import Uploads

router = APIRouter(prefix="/teams/{team}/readings/sound")
_ENDINGS = (".wav", ".flac", ".mp3", ".ogg")
_FIELDS = ("blades", "guess", "mains", "fan_speed", "fan_blades", "no_fan")
_HEAR = "whirlbench.actions.hear:hear"
_SENT = Uploads()


@router.get("")
def sound(visit: people.TeamVisit):
    """Where a recording is sent from."""
    return _page(visit, {})


@router.post("")
def send(visit: people.TeamVisit, form: people.Form):
    """Have a recording listened to."""
    try:
        options = _options(form)
        place, name = _sent(visit, form, "recording")
        fan = form.get("fan")
        if getattr(fan, "filename", ""):
            options["fan_path"] = _sent(visit, form, "fan")[0]
    except InputError as error:
        typed = {key: str(form.get(key, ""))[:200] for key in _FIELDS}
        return _page(visit, typed, status=422, wrong=str(error))
    job = visit.work.start(visit.number, _HEAR, place, options)
    job.name = name
    return render.go(f"/teams/{visit.number}/readings/sound/{job.id}")


@router.get("/{name}")
def heard(visit: people.TeamVisit, name: str):
    """How the listening stands, or what was heard."""
    job = visit.work.job(visit.number, name)
    if job is None or not hasattr(job, "name"):
        raise HTTPException(404)
    if "application/json" in visit.request.headers.get("accept", ""):
        return JSONResponse({"done": job.done, "stage": job.stage, "share": job.share})
    answer, wrong = None, ""
    if job.done:
        try:
            answer = json.loads(job.future.result())
        except WhirlbenchError as error:
            wrong = str(error)
        except (CancelledError, RuntimeError):  # its worker was ended
            wrong = render.words(visit.request)("The listening was interrupted. Send the recording again.")
    speed = 30 / math.pi * answer["heard"]["rotor_speed_rad_s"] if answer else 0.0
    return render.page(visit, "sound_heard.html", job=job, answer=answer, wrong=wrong, speed=speed, turns=30 / math.pi)


def _sent(visit, form, what):
    key = _SENT.put(visit.number, form.get(what), what=what, endings=_ENDINGS)
    place, name = _SENT.find(visit.number, key)
    return str(place), name


def _options(form):
    fan = {"fan_speed": _speed(form, "fan_speed"), "fan_blade_count": _count(form, "fan_blades")}
    if (fan["fan_speed"] is None) != (fan["fan_blade_count"] is None):
        needs, try_ = "both its speed and its blades, or neither", "better still, record the fan alone"
        raise InputError("fan", "one of the two", needs, try_=try_)
    options = {"blade_count": _count(form, "blades"), "guess": _speed(form, "guess")}
    options["mains"] = {"50": 50.0, "60": 60.0}.get(str(form.get("mains", "")))
    return options | fan | {"no_fan": form.get("no_fan") == "yes"}


def _count(form, name):
    text = str(form.get(name, "")).strip()
    if text and not (text.isascii() and text.isdigit() and 2 <= int(text[:3]) <= 12):
        raise InputError(name.replace("_", " "), f"'{text[:20]}'", "2 to 12, or nothing", try_="count its blades")
    return int(text) if text else None


def _speed(form, name):
    return entry.number("rotor_speed", str(form.get(name, "")).strip()[:40], "rpm") or None


def _page(visit, typed, *, status=200, wrong=""):
    found = readings.listed(visit.store, visit.team, limit=1).readings
    last = entry.shown("rotor_speed", found[0].rotor_speed_rad_s) if found else ""
    typed = {**dict.fromkeys(_FIELDS, ""), "guess": last.removesuffix(" rpm"), **typed}
    return render.page(visit, "sound.html", status=status, typed=typed, wrong=wrong, endings=",".join(_ENDINGS))
