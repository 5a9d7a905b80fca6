"""Make: a picture of each piece with what it is made of, what to mind, and its files."""

import json
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from whirlbench import units
from whirlbench.actions import room
from whirlbench.errors import WhirlbenchError
from whirlbench.parts import plain
from whirlbench.web import people, render, sending
from whirlbench.web.chosen import chosen
from whirlbench.web.shelf import Shelf
from whirlbench.web.work import key_of

router = APIRouter()
_SHELF = Shelf()
_WORK = "whirlbench.actions.part_orders:"
_USUAL = {"paper": "A4", "way": "", "bed": "180 mm", "shaft": "2 mm", "kerf": "", "turning": "right", "since": ""}
_LENGTHS = {"bed": "bed", "motor shaft": "shaft", "kerf": "kerf"}  # as an order names them, and the field of the page
_RIGHT = {"bed": "", "shaft": "", "kerf": "", "since": "", "other": ""}
_NO_SLASHES = str.maketrans("/\\", "  ")
# steps of a build where risks arise, by the kind of piece that is on the page there
_ARISES = {
    "blades": {"glue"},
    "gears": {"drivetrain"},
    "pulleys": {"drivetrain"},
    "coil": {"coil", "wire"},
    "tower": {"stand"},
    "base": {"stand"},
}
_SLOW_TYPES = {".zip": "application/zip", ".step": "model/step"}


@router.get("/teams/{team}/make")
async def make(visit: people.TeamVisit):
    """Everything that can be made of the chosen turbine."""
    found, fields = await run_in_threadpool(chosen, visit), _fields(visit)
    page = {"chosen": found, "fields": fields, "wrong": _RIGHT, "answer": None, "job": None}
    if found is None:
        return render.page(visit, "make.html", **page)
    try:
        options = await run_in_threadpool(_options, visit, found, fields)
        answer = json.loads(await visit.work.ask(f"{_WORK}workpieces", found.plain, options))
    except WhirlbenchError as error:
        field = (_LENGTHS | {"since": "since"}).get(getattr(error, "what", ""), "other")
        return render.page(visit, "make.html", status=422, **page | {"wrong": _RIGHT | {field: str(error)}})
    page |= {
        "answer": answer,
        "query": f"{found.query}&{urlencode(fields)}",
        "sections": _sections(answer),
        "alone": _alone(answer),
        "job": _job_line(visit.work.job(visit.number, visit.request.query_params.get("job", ""))),
    }
    return render.page(visit, "make.html", **page)


@router.get("/teams/{team}/make/picture")
async def picture(visit: people.TeamVisit, piece: str):
    """Picture of one piece."""
    given = await _given(visit, piece)
    tag = sending.tag_of(key_of("picture", given))
    return sending.unchanged(visit.request, tag) or sending.inline(
        await visit.work.ask(f"{_WORK}workpiece_picture", *given), media_type="image/svg+xml", tag=tag
    )


@router.get("/teams/{team}/make/file")
async def file(visit: people.TeamVisit, path: str):
    """One file that is quickly made."""
    given = await _given(visit, path)
    known = await _known(visit, given, path)
    if known["slow"]:
        raise HTTPException(404)
    tag = sending.tag_of(key_of("file", given))
    return sending.unchanged(visit.request, tag) or sending.download(
        await visit.work.ask(f"{_WORK}workpiece_file", *given),
        _name(visit, path),
        media_type=known["media_type"],
        tag=tag,
    )


@router.post("/teams/{team}/make/job")
async def begin(visit: people.TeamVisit, form: people.Form, path: str = ""):
    """Have a slow file, or all of them, made beside."""
    given = await _given(visit, path or None)
    if path:
        await _known(visit, given, path)
    place = _SHELF.place(key_of(str(visit.number), given), _name(visit, path or "build pack.zip"))
    job = visit.work.start(visit.number, f"{_WORK}slow_file", *given, str(place))
    asked = {name: value for name, value in visit.request.query_params.items() if name not in ("path", "job")}
    return render.go(f"/teams/{visit.number}/make?{urlencode(asked | {'job': job.id})}#job")


@router.get("/teams/{team}/make/job/{name}")
def how_far(visit: people.TeamVisit, name: str):
    """How far a job is, for the page's script."""
    return _job_line(visit.work.job(visit.number, name)) or _nothing()


@router.get("/teams/{team}/make/ready/{name}")
def ready(visit: people.TeamVisit, name: str):
    """What a job has made."""
    job = visit.work.job(visit.number, name)
    if job is None or not job.done:
        _nothing()
    place = _SHELF.found(job.future.result())
    return sending.download_from(place, media_type=_SLOW_TYPES[place.suffix]) if place else _nothing()


def _nothing():
    raise HTTPException(404)


def _fields(visit):
    """What was chosen, or what is usual."""
    return {name: visit.request.query_params.get(name) or usual for name, usual in _USUAL.items()}


def _options(visit, found, fields):
    """Fields as a worker takes them."""
    lengths = {name: fields[field] and units.read(name, fields[field], "m") for name, field in _LENGTHS.items()}
    parts_bin, since = room.bin_of(visit.store), fields["since"]
    return {
        "paper": fields["paper"],
        "way": fields["way"] or None,
        "team": visit.team.translate(_NO_SLASHES),
        "parts_bin": plain.text_of(parts_bin) if parts_bin else None,
        "turning": fields["turning"],
        "since": found.version(visit, since).plain if since else None,
        **{name.replace(" ", "_"): length or None for name, length in lengths.items()},
    }


async def _given(visit, what):
    """What a worker is given to find one thing of the chosen turbine."""
    found = await run_in_threadpool(chosen, visit)
    if found is None:
        _nothing()
    return [found.plain, await run_in_threadpool(_options, visit, found, _fields(visit)), what]


async def _known(visit, given, path):
    """A file of the list; nothing else can be asked for."""
    answer = json.loads(await visit.work.ask(f"{_WORK}workpieces", *given[:2]))
    return next((one for one in answer["makeables"]["files"] if one["path"] == path), None) or _nothing()


def _name(visit, path):
    """File name of our own making."""
    stem, _, ending = path.rpartition(".")
    return f"{sending.safe_name(visit.request.query_params.get('turbine', visit.team), stem)}.{ending}"


def _job_line(job):
    if job is None:
        return None
    failed = job.done and (job.future.cancelled() or job.future.exception() is not None)
    return {"id": job.id, "stage": job.stage, "share": job.share, "done": job.done, "failed": failed}


def _sections(answer):
    """Kinds of pieces in order, each with its pieces, the files that are of the whole kind, and what to mind first."""
    pieces, told = answer["makeables"]["pieces"], set()
    sections = []
    for kind in dict.fromkeys(one["kind"] for one in pieces):
        mine = [one for one in pieces if one["kind"] == kind]
        places = {"cut" if one["way"] == "flat" else "print" for one in mine} | _ARISES.get(kind, set())
        mind = [one for one in answer["cautions"] if one["where"] in places - told]
        told |= places
        paths = {path for one in mine for path in one["files"]} | {f"print/all-{kind}.3mf"}
        whole = [one for one in answer["makeables"]["files"] if one["path"] in paths and _is_of_all(one["path"])]
        sections.append({"kind": kind, "pieces": mine, "mind": mind, "whole": whole})
    return sections


def _is_of_all(path):
    return path.startswith("paper/") or path.endswith(".3mf")


def _alone(answer):
    """Files that belong to no kind of piece, and cautions for when all pieces come together."""
    of_pieces = {path for one in answer["makeables"]["pieces"] for path in one["files"]}
    files = [one for one in answer["makeables"]["files"] if one["path"] not in of_pieces]
    return [one for one in files if not one["path"].endswith(".3mf")]
