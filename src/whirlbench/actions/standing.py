"""How a turbine stands, for the coach's overview: watts, whether it starts, what it breaks; heavy, for a worker."""

from whirlbench.actions.check import check
from whirlbench.actions.glance import glance
from whirlbench.actions.kept_turbine import restored
from whirlbench.actions.standing_report import Standing
from whirlbench.errors import WhirlbenchError
from whirlbench.parts.event import Event
from whirlbench.parts.plain import part_of


def standing(turbine, files, event, *, tick=lambda stage, share: None, cancelled=lambda: False):
    """Standing of a turbine with its files under an event's rules, both as canonical JSON; the event may be empty."""
    try:
        turbine = restored(turbine, files)
        here = glance(turbine, shares=()).here
        tick("checking", 0.3)
        found = check(turbine, part_of(Event, event, where="event") if event else None)
    except (WhirlbenchError, ArithmeticError, ValueError, LookupError) as error:  # a glance at a room never ends in one
        return Standing(electrical_power_W=None, wind_speed_m_s=None, starts=None, wrong=str(error))
    return Standing(
        electrical_power_W=here.electrical_power_W,
        wind_speed_m_s=here.wind_speed_m_s,
        starts=here.starts,
        broken=tuple(line.name for line in found.rules if not line.kept),
        weak=tuple(margin.name for margin in found.strength if margin.decides and margin.kept is False),
    )
