"""``whirlbench check``."""

from pathlib import Path
from typing import Annotated

import typer

from whirlbench import units
from whirlbench.cli import options, show
from whirlbench.parts.files import read_event, read_turbine

_SHOWN_AS = {"m": "mm", "rad": "deg", "Pa": "MPa"}


def check(
    turbine: options.TurbineFile,
    event: Annotated[
        Path | None, typer.Option(metavar="EVENT", help="The event's TOML file.", show_default=False)
    ] = None,
    as_json: options.AsJson = False,
):
    """Check TURBINE: the rules of EVENT, strength, stability, balance, hazards."""
    from whirlbench.actions.check import check as act

    report = act(read_turbine(turbine), read_event(event) if event else None)
    show.answer(report, as_json, _in_words)
    if not (report.allowed and report.safe):
        raise typer.Exit(1)


def _in_words(report):
    show.say(f"{report.turbine}: {report.sentence}")
    if report.rules:
        show.table(
            ["rule", "limit", "yours", "kept"],
            [[rule.name, rule.limit, rule.own, _yes(rule.kept)] for rule in report.rules],
            title=f"Rules of {report.event}",
        )
    for rule in report.rules:
        if rule.try_:
            show.say(f"{rule.name[0].upper()}{rule.name[1:]}: {rule.try_}.")
    winds = ", ".join(f"{speed:.3g}" for speed in report.wind_speeds_m_s)
    show.table(
        ["what has to hold", "best guess>", "with doubt>", "limit>", "kept"],
        [_row(line) for line in report.strength if line.limit is not None],
        title=f"In {winds} m/s; with doubt: nine times out of ten it is no worse",
    )
    for line in report.strength:
        if line.kept is False:
            show.say(f"{'Not strong enough' if line.decides else 'Careful'}: {line.name}: {line.note}.")
    show.table(
        ["worth knowing", "best guess>", "with doubt>", "what it means"],
        [[*_row(line)[:3], line.note] for line in report.strength if line.limit is None],
    )
    _balance(report.balance)
    show.say("")
    for hazard in report.hazards:
        show.say(f"Caution: {hazard.risk}. {hazard.why}")
        show.say(f"    {hazard.do}")
    show.say("These cautions are general: the rules of your room and event come first, and a qualified adult decides.")


def _row(line):
    limit = "" if line.limit is None else f"{line.sense} {_number(line.limit, line.unit)}"
    return [line.name, _number(line.value, line.unit), _number(line.with_doubt, line.unit), limit, _yes(line.kept)]


def _number(value, unit):
    return units.show(value, _SHOWN_AS.get(unit, unit)) if unit else f"{value:.3g} x"


def _yes(kept):
    return {True: "yes", False: "NO", None: ""}[kept]


def _balance(balance):
    if not balance.pattern_balances:
        other = f" Holes {_holes(balance.better_holes)} do." if balance.better_holes else " No choice of holes does."
        show.say(f"Equal blades do not balance in these holes.{other}")
    if not balance.weighed:
        show.say("Balance: all blades are taken as equal. Weigh each with its rod and write weighed = [...] to check.")
        return
    show.say(f"Balance: your blades leave {_moment(balance.imbalance_kg_m)}; {_best(balance)}.")
    show.say(
        f"Then {balance.trim_mass_kg * 1000:.2g} g at the rim of the hub beside hole {balance.trim_hole} leave "
        f"{_moment(balance.trim_residual_kg_m)}."
    )


def _best(balance):
    if balance.best_imbalance_kg_m > 0.999 * balance.imbalance_kg_m:
        return "no other order in these holes is better"
    order = f"put them, in the order of weighing, in holes {_holes(balance.best_holes)}"
    return f"{order} and {_moment(balance.best_imbalance_kg_m)} is left"


def _moment(size):
    return f"{size * 1e6:.2g} g*mm"


def _holes(holes):
    return ", ".join(map(str, holes))
