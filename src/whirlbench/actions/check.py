"""Check a turbine: the event's rules, strength, stability, balance, hazards."""

from dataclasses import asdict

from pydantic import model_serializer

from whirlbench.actions.report import Report
from whirlbench.advise import hazards as cautions
from whirlbench.event import rules as law
from whirlbench.predict import turbine as whole
from whirlbench.predict import wind, world
from whirlbench.predict.facts import facts
from whirlbench.predict.strength import strength


class RuleLine(Report):
    """One rule of the event and the turbine's own number."""

    name: str
    limit: str
    own: str
    kept: bool
    try_: str

    @model_serializer(mode="wrap")
    def _plain(self, handler):
        return {key.rstrip("_"): value for key, value in handler(self).items()}


class MarginLine(Report):
    """One margin; ``value`` and ``with_doubt`` in ``unit``, SI."""

    name: str
    value: float
    with_doubt: float
    unit: str
    limit: float | None
    sense: str
    kept: bool | None
    decides: bool
    note: str


class Balance(Report):
    """Static balance of the rotor; holes count from 1."""

    weighed: bool
    evenly_spaced: bool
    pattern_balances: bool
    imbalance_kg_m: float
    imbalance_angle_rad: float
    rotor_mass_kg: float
    mass_centre_speed_m_s: float
    grade: str | None
    shaking_force_N: float
    runaway_shaking_force_N: float
    best_holes: tuple[int, ...]
    best_imbalance_kg_m: float
    trim_mass_kg: float
    trim_radius_m: float
    trim_hole: int
    trim_residual_kg_m: float
    better_holes: tuple[int, ...]


class HazardLine(Report):
    """One caution."""

    risk: str
    why: str
    do: str


class CheckReport(Report):
    """Answer of ``check``."""

    turbine: str
    event: str | None
    wind_speeds_m_s: tuple[float, ...]
    allowed: bool
    safe: bool
    sentence: str
    rules: tuple[RuleLine, ...]
    strength: tuple[MarginLine, ...]
    balance: Balance
    hazards: tuple[HazardLine, ...]


def check(turbine, event=None, *, beliefs=None):
    """Check a turbine against an event's rules and against what its parts bear.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    event : Event, optional
        The rules; without it only strength, balance and hazards are told.
    beliefs : Beliefs, optional
        What readings have taught; without it the priors of the parts.

    Returns
    -------
    CheckReport
        In the winds of the event, or in the turbine's own.

    Raises
    ------
    InputError
        A part or wind that cannot be computed, told in four pieces.
    """
    speeds = event.wind_speeds if event else ()
    speeds = speeds or (wind.disc_speed(turbine.wind, turbine.rotor.radius).number,)
    turbine = whole.settled(turbine, speeds)
    assembly = whole.assemble(turbine, world.draw(beliefs or whole.priors(turbine), world.COUNT))
    predictions = [whole.predict(assembly, speed) for speed in speeds]
    own = facts(assembly, *predictions)
    found = strength(assembly, predictions)
    lines = tuple(RuleLine(**asdict(rule)) for rule in law.rules(event, own)) if event else ()
    allowed = all(line.kept for line in lines)
    return CheckReport(
        turbine=turbine.name,
        event=event.name if event else None,
        wind_speeds_m_s=speeds,
        allowed=allowed,
        safe=found.holds,
        sentence=_sentence(event, lines, found),
        rules=lines,
        strength=tuple(MarginLine(**asdict(margin)) for margin in found.margins),
        balance=_balance(found.balance),
        hazards=tuple(HazardLine(**asdict(one)) for one in cautions.hazards(assembly, found, own)),
    )


def _sentence(event, lines, found):
    """Allowed and strong enough, or what is wrong first."""
    broken = [line.name for line in lines if not line.kept]
    weak = [margin.name for margin in found.margins if margin.decides and margin.kept is False]
    doubtful = [margin.name for margin in found.margins if not margin.decides and margin.kept is False]
    if broken:
        law = f"Not allowed at {event.name}: {_listed(broken)} {'breaks' if len(broken) == 1 else 'break'} the rules"
    else:
        law = f"Allowed: every rule of {event.name} is kept" if event else "No event was given, so no rule was checked"
    body = f"not strong enough: {_listed(weak)}" if weak else "the parts are strong enough and the stand holds"
    link = "; " if bool(broken) == bool(weak) or not event else ", but "
    tail = f" Look at {_listed(doubtful)} all the same." if doubtful else ""
    return f"{law}{link}{body}.{tail}"


def _listed(names):
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _balance(found):
    return Balance(
        weighed=found.weighed,
        evenly_spaced=found.evenly_spaced,
        pattern_balances=found.pattern_balances,
        imbalance_kg_m=found.imbalance,
        imbalance_angle_rad=found.angle,
        rotor_mass_kg=found.rotor_mass,
        mass_centre_speed_m_s=found.velocity,
        grade=found.grade,
        shaking_force_N=found.shaking_force,
        runaway_shaking_force_N=found.runaway_force,
        best_holes=found.best_holes,
        best_imbalance_kg_m=found.best_imbalance,
        trim_mass_kg=found.trim_mass,
        trim_radius_m=found.trim_radius,
        trim_hole=found.trim_hole,
        trim_residual_kg_m=found.trim_residual,
        better_holes=found.better_holes,
    )
