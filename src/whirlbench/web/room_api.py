"""What programs may ask about the room, its teams and their turbines; and predictions for any turbine that is sent."""

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Path, Query, Request, Response, Security
from fastapi.security import HTTPBearer
from starlette.concurrency import run_in_threadpool

from whirlbench.actions import foreign, overview, room
from whirlbench.actions.report import PredictReport
from whirlbench.errors import InputError
from whirlbench.web import heavy, people
from whirlbench.web.logger_api import Problem
from whirlbench.web.pages.room import overview_of

_TEXTS = {
    "requestBody": {
        "required": True,
        "content": {
            "application/toml": {"schema": {"type": "string"}},
            "application/json": {"schema": {"type": "object"}},
        },
    }
}
_WRONG = {code: {"model": Problem} for code in (400, 401, 403, 404, 413, 422, 429, 503)}
_LONGEST = 200_000  # letters of a turbine
Wind = Annotated[float, Query(ge=0.1, le=60, allow_inf_nan=False)]
router = APIRouter(
    prefix="/api/v1",
    tags=["room"],
    responses=_WRONG,
    dependencies=[Security(HTTPBearer(auto_error=False, description="The secret of a logger."))],
)


@router.get("/room")
def get_room(visit: people.Anybody) -> room.RoomReport:
    """Name, event, bin and teams of the room."""
    return room.room(visit.store)


@router.get("/room/teams")
def get_overview(visit: people.Coach) -> overview.Overview:
    """Every team at a glance, and who is stuck; for the coach."""
    return overview_of(visit)


@router.get("/teams/{team}")
def get_team(visit: people.TeamVisit) -> foreign.TeamReport:
    """A team and what it has kept."""
    return foreign.team(visit.store, visit.number)


@router.get("/teams/{team}/turbines/{name:path}")
def get_turbine(
    visit: people.TeamVisit,
    name: Annotated[str, Path(min_length=1, max_length=80)],
    version: Annotated[int | None, Query(ge=1, le=10**6, description="Left out: the one that holds now.")] = None,
) -> foreign.TurbineReport:
    """A turbine as a TOML file and as plain values in SI units."""
    return foreign.turbine(visit.store, visit.number, name, version=version)


@router.post("/predict", openapi_extra=_TEXTS, responses={200: {"model": PredictReport}})
async def predict(
    visit: people.Anybody,
    request: Request,
    wind_speed_m_s: Annotated[list[Wind], Query(max_length=12, description="Left out: the turbine's own.")] = (),
    pushed: Annotated[bool, Query(description="The state after a push by hand.")] = False,
):
    """What a turbine does, from its TOML file (application/toml) or its plain values in SI units (application/json)."""
    people.check_mark(request)
    raw = await request.body()
    as_json = "json" in request.headers.get("content-type", "")
    text = await run_in_threadpool(foreign.read, _text(raw), as_json=as_json)
    whose = replace(visit, number=visit.person.team_id)
    found = await heavy.worked(
        whose, "whirlbench.actions.foreign:predict", text, list(wind_speed_m_s), pushed, much=True
    )
    return Response(found, media_type="application/json")


def _text(raw):
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError("turbine", "bytes that are no text", "UTF-8 text", try_="send the file as it is") from None
    if len(text) > _LONGEST:
        raise InputError("turbine", f"{len(text)} letters", f"at most {_LONGEST}", try_="leave out what is not needed")
    return text
