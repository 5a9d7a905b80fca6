"""The door for loggers and spreadsheets: readings and runs as JSON, SI, each kept once however often it is sent."""

from datetime import UTC, datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Response, Security
from fastapi.security import HTTPBearer
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from whirlbench.actions import logged_runs, reading_report, readings, runs
from whirlbench.measure.columns import NUMBERS
from whirlbench.measure.readings import Reading
from whirlbench.store import clock
from whirlbench.web import people

_BIG = 2**63 - 1
_MOST = 1000  # readings at once
Number = Annotated[int, Path(ge=1, le=_BIG)]
Size = Annotated[float | None, Field(ge=0, le=1e9, allow_inf_nan=False)]
Kelvin = Annotated[float | None, Field(ge=230, le=330)]
Pascal = Annotated[float | None, Field(ge=5e4, le=1.1e5)]
Share = Annotated[float | None, Field(ge=0, le=1)]
Moment = Annotated[datetime | None, AfterValidator(lambda at: _in_our_time(at))]
Column = Literal[NUMBERS]  # SI, as in a readings file
Text = Annotated[str, Field(max_length=2000)]
Short = Annotated[str, Field(max_length=80)]


class Strict(BaseModel):
    """What is sent; an unknown key is refused rather than lost."""

    model_config = ConfigDict(extra="forbid")


class SentReading(Strict):
    """One reading, SI; what was not read is left out or null."""

    mark: Annotated[
        str | None, Field(min_length=1, max_length=80, description="Your own name for it: sent again, it stays one.")
    ] = None
    wind_speed_m_s: Size = None
    load_resistance_ohm: Size = None
    voltage_V: Size = None
    current_A: Size = None
    rotor_speed_rad_s: Size = None
    generator_speed_rad_s: Size = None
    air_temperature_K: Kelvin = None
    air_pressure_Pa: Pascal = None
    humidity: Share = None
    tip_force_N: Size = None
    tip_deflection_m: Size = None
    pushed: bool = False
    taken_at: Annotated[Moment, Field(description="When it was read, ISO 8601; left out: now.")] = None
    build: Short = ""
    block: Short = ""
    meter: Short = ""
    note: Text = ""

    @model_validator(mode="after")
    def _says_something(self):
        numbers = [getattr(self, key) for name, key in reading_report.KEYS.items() if name in NUMBERS]
        if all(number is None for number in numbers):
            raise ValueError("a reading needs one number or more")
        return self

    def reading(self):
        """Return what was read, as every calculation takes it."""
        plain = self.model_dump(exclude={"mark", "taken_at"})
        fields = {name: plain[key] for name, key in reading_report.KEYS.items() if key in plain}
        return Reading(row=0, taken_at=_moment(self.taken_at), **fields)


class SentReadings(Strict):
    """Readings that were taken at one turbine."""

    readings: Annotated[list[SentReading], Field(min_length=1, max_length=_MOST)]
    turbine: Annotated[str | None, Field(min_length=1, max_length=80, description="Name of a kept turbine.")] = None
    turbine_version: Annotated[int | None, Field(ge=1, le=10**6, description="Left out: the newest.")] = None


class SentRun(Strict):
    """A time series that begins."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    columns: Annotated[list[Column], Field(min_length=1, max_length=len(NUMBERS))]
    begun_at: Moment = None
    turbine: Annotated[str | None, Field(min_length=1, max_length=80)] = None


class SentChunk(Strict):
    """The next piece of a run: equally long lists, ``time`` in seconds, the others SI; null where nothing was read."""

    number: Annotated[int, Field(ge=1, le=10**9, description="1, 2, 3...: sent again, it stays one.")]
    samples: dict[str, Annotated[list[Annotated[float, Field(allow_inf_nan=False)] | None], Field(max_length=20_000)]]


class Problem(BaseModel):
    """Why something was refused, in four pieces."""

    error: dict
    errors: list[dict] = []


_WRONG = {code: {"model": Problem} for code in (400, 401, 403, 404, 409, 413, 422, 429, 503)}
router = APIRouter(
    prefix="/api/v1/teams/{team}",
    tags=["loggers"],
    responses=_WRONG,
    dependencies=[Security(HTTPBearer(auto_error=False, description="The secret of a logger."))],
)


@router.post("/readings", status_code=201, responses={200: {"model": reading_report.WrittenReport}})
def send_readings(
    visit: people.TeamVisit, sent: SentReadings | SentReading, answer: Response
) -> reading_report.WrittenReport:
    """Keep one reading or many; 201 where one of them is new, 200 where all were there."""
    people.check_mark(visit.request)
    many = sent if isinstance(sent, SentReadings) else SentReadings(readings=[sent])
    done = readings.enter(
        visit.store,
        visit.team,
        [one.reading() for one in many.readings],
        marks=[one.mark for one in many.readings],
        source="a logger",
        turbine=(many.turbine, many.turbine_version) if many.turbine else None,
        author=visit.author,
    )
    if not done.new:
        answer.status_code = 200
    visit.request.app.state.hub.nudge()
    return done


@router.get("/readings")
def get_readings(
    visit: people.TeamVisit,
    before: Annotated[int | None, Query(ge=1, le=_BIG)] = None,
    limit: Annotated[int, Query(ge=1, le=500)] = 100,
) -> reading_report.ReadingsReport:
    """Readings that hold now, the newest first; ``before`` of one answer asks for the next page."""
    return readings.listed(visit.store, visit.team, before=before, limit=limit)


@router.get("/readings/{number}")
def get_reading(visit: people.TeamVisit, number: Number) -> reading_report.RowReport:
    """One reading with every version of it."""
    return readings.row(visit.store, visit.team, number)


@router.post("/runs", status_code=201, responses={200: {"model": logged_runs.BegunReport}})
def begin_run(visit: people.TeamVisit, sent: SentRun, answer: Response) -> logged_runs.BegunReport:
    """Begin a run; the same name and moment again is the same run."""
    people.check_mark(visit.request)
    done = logged_runs.begin(
        visit.store,
        visit.team,
        sent.name,
        columns=list(dict.fromkeys(sent.columns)),
        begun_at=_moment(sent.begun_at),
        turbine=sent.turbine,
    )
    if not done.new:
        answer.status_code = 200
    return done


@router.get("/runs")
def get_runs(visit: people.TeamVisit) -> runs.RunsReport:
    """Runs of the team, the oldest first."""
    return runs.listed(visit.store, visit.team)


@router.post("/runs/{run}/samples", status_code=201, responses={200: {"model": logged_runs.ChunkReport}})
def send_samples(visit: people.TeamVisit, run: Number, sent: SentChunk, answer: Response) -> logged_runs.ChunkReport:
    """Keep the next piece of a run; a piece that was sent before stays one."""
    people.check_mark(visit.request)
    done = logged_runs.append(visit.store, visit.team, run, number=sent.number, samples=sent.samples)
    if not done.new:
        answer.status_code = 200
    return done


def _in_our_time(at):
    if at is not None and not 1970 <= at.year < 9999:
        raise ValueError("a moment of our time")
    return at


def _moment(at):
    """Moment as the store writes it; now where none was told. Without a zone it is taken for UTC."""
    if at is None:
        return clock.now()
    return clock.at(at if at.tzinfo else at.replace(tzinfo=UTC))
