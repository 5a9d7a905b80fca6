"""The coach's overview: every team at a glance, and who is stuck, told from facts."""

from datetime import datetime

from whirlbench.actions.report import Report
from whirlbench.store import overview as room
from whirlbench.store import sign_ins

NO_TURBINE, NO_READING = 15, 30  # [min] with a page open before a coach is told: judgement
LEAST_GAIN = 1.02  # over the best before: less is the scatter of any meter


class Stuck(Report):
    """One reason to walk over to a team; the number that belongs to it is minutes or watts."""

    kind: str
    minutes: int | None = None
    power_W: float | None = None
    what: tuple[str, ...] = ()


class TeamGlance(Report):
    """One team at a glance."""

    number: int
    team: str
    has_pin: bool
    here: tuple[str, ...]
    signed_in: int
    last_at: str | None
    last_author: str | None
    last_verb: str | None
    last_subject: str | None
    turbine: str | None
    version: int | None
    readings: int
    predicted_power_W: float | None
    measured_power_W: float | None
    stuck: tuple[Stuck, ...]


class Overview(Report):
    """All teams, by name."""

    teams: tuple[TeamGlance, ...]
    stuck: int
    readings: int


def facts(store):
    """Facts of all teams, and how many browsers are signed in for each."""
    with store.looking() as session:
        return room.facts(session), sign_ins.counts(session)


def overview(facts, counts, *, now, here=None, standings=None):
    """Overview of a room.

    Parameters
    ----------
    facts, counts : sequence of TeamFacts, and dict of int to int
        From ``facts``.
    now : datetime
        With its time zone.
    here : dict of int to list of (str, datetime)
        First name, or empty, and since when a page is open, of everybody of a team.
    standings : dict of int to Standing
        What is known of a team's turbine; a team is left out while it is computed.

    Returns
    -------
    Overview
        By name of the team.
    """
    here, standings = here or {}, standings or {}
    lines = tuple(
        _line(
            one,
            now,
            signed_in=counts.get(one.number, 0),
            here=here.get(one.number, ()),
            standing=standings.get(one.number),
        )
        for one in facts
    )
    return Overview(
        teams=lines, stuck=sum(bool(line.stuck) for line in lines), readings=sum(line.readings for line in lines)
    )


def _line(one, now, *, signed_in, here, standing):
    names = tuple(sorted({name for name, _ in here if name}))
    since = min((moment for _, moment in here), default=None)
    return TeamGlance(
        number=one.number,
        team=one.team,
        has_pin=one.has_pin,
        here=names or (("",) if here else ()),
        signed_in=signed_in,
        last_at=one.last_at,
        last_author=one.last_author,
        last_verb=one.last_verb,
        last_subject=one.last_subject,
        turbine=one.turbine,
        version=one.version,
        readings=one.readings,
        predicted_power_W=standing.electrical_power_W if standing else None,
        measured_power_W=one.best_power,
        stuck=tuple(_reasons(one, now, since, standing)),
    )


def _reasons(one, now, since, standing):
    if one.turbine is None:
        if since and _minutes(since, now) >= NO_TURBINE:
            yield Stuck(kind="no turbine", minutes=_minutes(since, now))
        return
    if standing and standing.wrong:
        yield Stuck(kind="cannot be computed", what=(standing.wrong,))
    if standing and standing.weak:
        yield Stuck(kind="not safe", what=standing.weak)
    if standing and standing.starts is False:
        yield Stuck(kind="does not start")
    if standing and standing.broken:
        yield Stuck(kind="breaks a rule", what=standing.broken)
    if since is None:
        return
    quiet = max(moment for moment in (since, _moment(one.read_at), _moment(one.kept_at)) if moment)
    if _minutes(quiet, now) >= NO_READING:
        yield Stuck(kind="no reading", minutes=_minutes(quiet, now))
    if None not in (one.latest_power, one.earlier_power) and one.latest_power < one.earlier_power * LEAST_GAIN:
        yield Stuck(kind="no gain", power_W=one.earlier_power)


def _minutes(then, now):
    return int((now - then).total_seconds() // 60)


def _moment(at):
    return datetime.fromisoformat(at) if at else None
