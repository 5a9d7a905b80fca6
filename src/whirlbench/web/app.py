"""The application: what is opened at the start and closed at the end, who answers what, and how errors look."""

import asyncio
import contextlib

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import JSONResponse

from whirlbench import __version__
from whirlbench.actions.sign_in import Patience
from whirlbench.errors import Conflict, InputError, InputErrors, UnknownKey, WhirlbenchError
from whirlbench.store.store import Store
from whirlbench.web import assets, guard, live, logger_api, people, render, room_api
from whirlbench.web.pages import (
    api,
    bench,
    check,
    compare,
    door,
    exchange,
    explain,
    logbook,
    logger,
    make,
    moves,
    plans,
    readings,
    room,
    room_backup,
    room_settings,
    setup,
    sound,
    start,
    trials,
    versions,
)
from whirlbench.web.slips import Slips
from whirlbench.web.work import Work

PAGES = (
    door,
    bench,
    start,
    moves,
    versions,
    explain,
    make,
    check,
    logbook,
    setup,
    room,
    readings,
    sound,
    exchange,
    logger,
    room_settings,
    room_backup,
    plans,
    compare,
    api,
    trials,
)


def app_of(settings):
    """Application of a server."""
    app = FastAPI(
        title="Whirlbench",
        version=__version__,
        lifespan=_open_and_close,
        docs_url=None,  # its own page of documents asks another host for scripts
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    app.state.settings = settings
    app.state.patience, app.state.slips = Patience(), Slips()
    for each in PAGES:
        app.include_router(each.router, include_in_schema=False)
    app.include_router(live.router)
    app.include_router(logger_api.router)
    app.include_router(room_api.router)
    app.add_api_route("/static/{asked}/{name}", assets.answer, include_in_schema=False)
    app.add_api_route("/ping", _ping, include_in_schema=False)
    app.add_exception_handler(people.SignInNeeded, _at_the_door)
    app.add_exception_handler(WhirlbenchError, _said_no)
    app.add_exception_handler(HTTPException, _wrong)
    app.add_exception_handler(RequestValidationError, _not_understood)
    app.add_middleware(GZipMiddleware, minimum_size=1200, compresslevel=4)
    app.add_middleware(guard.Guard, hosts=settings.hosts, pace=settings.pace)
    return app


@contextlib.asynccontextmanager
async def _open_and_close(app):
    with Store(app.state.settings.store) as store:
        hub = live.Hub(store)
        app.state.store, app.state.hub, app.state.work = store, hub, Work(hub.tell_job)
        await hub.open()
        app.state.work.warm("whirlbench.actions.bench:warm")
        ready = asyncio.create_task(run_in_threadpool(assets.content, assets.CHARTS))
        try:
            yield
        finally:
            ready.cancel()
            await hub.close()
            app.state.work.close()


async def _ping():
    return {"answers": True}


def _wants_json(request):
    return request.url.path.startswith("/api/") or "application/json" in request.headers.get("accept", "")


async def _at_the_door(request: Request, _):
    if _wants_json(request):
        return JSONResponse({"error": {"what": "sign in", "needs": "a signed-in browser or a logger's token"}}, 401)
    return render.go("/")


async def _said_no(request: Request, error):
    """Answer with the four pieces of one of our errors."""
    found = error.errors if isinstance(error, InputErrors) else (error,)
    kinds = [_status(one) for one in found]
    pieces = [_pieces(one) for one in found]
    if _wants_json(request):
        pieces = [{**one, "says": render.say(request, one["says"])} for one in pieces]
        return JSONResponse({"error": pieces[0], "errors": pieces}, kinds[0])
    return render.page(request, "wrong.html", status=kinds[0], errors=pieces, code=kinds[0])


def _status(error):
    if isinstance(error, Conflict):
        return 409
    # an unknown name is not there; an unknown key inside a file that was sent is a slip in that file
    return 404 if isinstance(error, UnknownKey) and " > " not in error.what else 422


def _pieces(error):
    if isinstance(error, InputError):
        return {"what": error.what, "got": error.got, "needs": error.needs, "try": error.try_, "says": str(error)}
    return {"what": "", "got": "", "needs": "", "try": "", "says": str(error)}


async def _wrong(request: Request, error):
    if _wants_json(request):
        return JSONResponse(
            {"error": {"says": render.say(request, str(error.detail))}}, error.status_code, headers=error.headers
        )
    answer = render.page(
        request, "wrong.html", status=error.status_code, errors=[], code=error.status_code, detail=error.detail
    )
    answer.headers.update(error.headers or {})
    return answer


async def _not_understood(request: Request, error):
    pieces = [
        {"what": " > ".join(map(str, one["loc"])), "got": repr(one.get("input"))[:60], "needs": one["msg"]}
        for one in error.errors()
    ]
    if _wants_json(request):
        return JSONResponse({"error": pieces[0], "errors": pieces}, 422)
    shown = [{**one, "try": "", "says": f"{one['what']}: {one['needs']}."} for one in pieces]
    missing = any(one["loc"][0] == "path" for one in error.errors())
    status = 404 if missing else 422
    return render.page(request, "wrong.html", status=status, errors=[] if missing else shown, code=status)
