"""Every rule of an event with the limit, the turbine's own number beside it, and whether it is kept."""

from collections.abc import Callable
from dataclasses import dataclass

from whirlbench import units

_ROUNDING = 1e-9  # a rotor of exactly 24 in keeps a limit of 24 in, whatever the last bit says
_SURE = 0.8  # chance of a start below which a kept rule still deserves a word: judgement


@dataclass(frozen=True)
class Rule:
    """One rule and what the turbine makes of it.

    Attributes
    ----------
    name : str
        Rule in plain words.
    limit, own : str
        What the event allows and what the turbine has.
    kept : bool
        Whether it is kept, best estimate.
    try_ : str
        What to do when it is broken, or nearly; empty otherwise.
    """

    name: str
    limit: str
    own: str
    kept: bool
    try_: str


@dataclass(frozen=True)
class _Check:
    """A rule before it meets a turbine; every function takes the event and the facts."""

    name: str
    binds: Callable
    kept: Callable
    limit: Callable
    own: Callable
    mend: Callable
    beware: Callable = lambda event, facts: ""


def rules(event, facts):
    """Every rule that binds, in the order of the event file.

    Parameters
    ----------
    event : Event
        The limits.
    facts : Facts
        The turbine's own numbers.

    Returns
    -------
    tuple of Rule
        With the limit, the turbine's number and what to do.
    """
    return tuple(_rule(check, event, facts) for check in _CHECKS if check.binds(event, facts))


def broken(event, facts):
    """Names of the rules that a turbine breaks; fast, for many candidate builds.

    Parameters
    ----------
    event : Event
        The limits.
    facts : Facts
        The turbine's own numbers.

    Returns
    -------
    list of str
        Empty when all is allowed.
    """
    return [check.name for check in _CHECKS if check.binds(event, facts) and not check.kept(event, facts)]


def _rule(check, event, facts):
    kept = check.kept(event, facts)
    return Rule(
        check.name,
        check.limit(event, facts),
        check.own(event, facts),
        kept,
        check.beware(event, facts) if kept else check.mend(event, facts),
    )


def _at_most(name, key, own, *, unit, mend, beware=None):
    """A number that may not be larger than the event's ``key``."""
    return _Check(
        name,
        binds=lambda event, facts: getattr(event, key) is not None,
        kept=lambda event, facts: getattr(facts, own) <= getattr(event, key) * (1 + _ROUNDING),
        limit=lambda event, facts: f"at most {_show(getattr(event, key), unit)}",
        own=lambda event, facts: _show(getattr(facts, own), unit),
        mend=lambda event, facts: mend(event, facts, _show(getattr(facts, own) - getattr(event, key), unit)),
        beware=beware or (lambda event, facts: ""),
    )


def _holding(name, own):
    """A safety factor that may not be smaller than the event's."""
    return _Check(
        name,
        binds=lambda event, facts: True,
        kept=lambda event, facts: getattr(facts, own) >= event.min_safety * (1 - _ROUNDING),
        limit=lambda event, facts: f"at least {event.min_safety:.3g} times the push",
        own=lambda event, facts: "held down" if facts.held else f"{getattr(facts, own):.3g} times",
        mend=lambda event, facts: (
            f"add {facts.mass * (event.min_safety / getattr(facts, own) - 1) * 1.005:.3g} kg of ballast"
            + (", or a wider base" if own == "tipping" else ", or a surface that grips better")
        ),
    )


def _show(number, unit):
    return units.show(number, unit, 4) if unit else f"{number:.0f}"


def _open_circuit(event, facts):
    if facts.open_voltage <= event.max_voltage:
        return ""
    return (
        f"kept with the load on; with the load's lead off the rotor runs away and the generator makes "
        f"{facts.open_voltage:.3g} V: ask the organiser which of the two counts"
    )


def _doubtful_start(event, facts):
    if facts.start_chance >= _SURE:
        return ""
    return f"it should start, but the chance is only {100 * facts.start_chance:.0f} %: try it before the event"


_CHECKS = (
    _at_most(
        "rotor diameter",
        "max_rotor_diameter",
        "rotor_diameter",
        unit="mm",
        mend=lambda event, facts, over: f"the rotor is {over} too wide: shorten every blade by half of that",
    ),
    _Check(
        "smallest rotor diameter",
        binds=lambda event, facts: event.min_rotor_diameter is not None,
        kept=lambda event, facts: facts.rotor_diameter >= event.min_rotor_diameter * (1 - _ROUNDING),
        limit=lambda event, facts: f"at least {_show(event.min_rotor_diameter, 'mm')}",
        own=lambda event, facts: _show(facts.rotor_diameter, "mm"),
        mend=lambda event, facts: "make the blades longer or set them farther out",
    ),
    _at_most(
        "blades",
        "max_blades",
        "blade_count",
        unit="",
        mend=lambda event, facts, over: f"take {over} off and spread the others evenly",
    ),
    _Check(
        "evenly spaced blades",
        binds=lambda event, facts: event.evenly_spaced,
        kept=lambda event, facts: facts.evenly_spaced,
        limit=lambda event, facts: "equal steps",
        own=lambda event, facts: "equal steps" if facts.evenly_spaced else "unequal steps",
        mend=lambda event, facts: "choose holes at equal steps; the number of blades must divide the number of holes",
    ),
    _at_most(
        "height to the highest tip",
        "max_height",
        "height",
        unit="mm",
        mend=lambda event, facts, over: f"shorten the tower or the blades by {over}",
    ),
    _at_most(
        "base width",
        "max_base_width",
        "base_width",
        unit="mm",
        mend=lambda event, facts, over: f"make the base {over} narrower and check tipping again",
    ),
    _at_most(
        "mass with ballast",
        "max_mass",
        "mass",
        unit="kg",
        mend=lambda event, facts, over: f"take {over} off, ballast first, and check sliding and tipping again",
    ),
    _at_most(
        "volts at the load",
        "max_voltage",
        "voltage",
        unit="V",
        mend=lambda event, facts, over: (
            f"it is {over} too much: less step-up, a smaller load resistance, or fewer turns"
        ),
        beware=_open_circuit,
    ),
    _Check(
        "starts by itself",
        binds=lambda event, facts: event.must_start,
        kept=lambda event, facts: facts.starts,
        limit=lambda event, facts: "in every scored wind",
        own=lambda event, facts: f"{'yes' if facts.starts else 'no'} (chance {100 * facts.start_chance:.0f} %)",
        mend=lambda event, facts: "more pitch, wider blades near the hub, less step-up or less friction",
        beware=_doubtful_start,
    ),
    _Check(
        "no clamp",
        binds=lambda event, facts: not event.may_clamp,
        kept=lambda event, facts: not facts.held,
        limit=lambda event, facts: "stands free",
        own=lambda event, facts: "held down" if facts.held else "stands free",
        mend=lambda event, facts: "take the clamp off and set held = false, then see how much ballast it needs",
    ),
    _Check(
        "generator",
        binds=lambda event, facts: bool(event.allowed_generators),
        kept=lambda event, facts: facts.generator in event.allowed_generators,
        limit=lambda event, facts: "one of " + "; ".join(event.allowed_generators),
        own=lambda event, facts: facts.generator,
        mend=lambda event, facts: "use one of the allowed generators",
    ),
    _holding("safety on sliding", "sliding"),
    _holding("safety on tipping", "tipping"),
)
