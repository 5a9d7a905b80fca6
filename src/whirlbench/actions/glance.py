"""A glance at a turbine while somebody moves a slider: the best estimate in a few winds, in milliseconds."""

from whirlbench.actions.report import Report, Step
from whirlbench.parts.plain import part_of
from whirlbench.parts.turbine import Turbine
from whirlbench.predict import turbine as whole
from whirlbench.predict import wind, world


class GlancePoint(Report):
    """What a turbine does in one wind, best estimate; ``starts`` by itself."""

    wind_speed_m_s: float
    starts: bool
    state: str
    rotor_speed_rad_s: float
    tip_speed_ratio: float
    power_coefficient: float
    voltage_V: float
    current_A: float
    thrust_N: float
    electrical_power_W: float
    wind_power_W: float
    energy_path: tuple[Step, ...]


class GlanceReport(Report):
    """Answer of ``glance``: the turbine's own wind, and the curve around it."""

    turbine: str
    here: GlancePoint
    curve: tuple[GlancePoint, ...]


_SHARES = (0.55, 0.7, 0.85, 1.15, 1.3)  # of the turbine's own wind


def glance(turbine, *, shares=_SHARES):
    """Look at a turbine.

    Parameters
    ----------
    turbine : Turbine or str
        The parts, or their canonical JSON.
    shares : sequence of float
        Winds of the curve, beside the turbine's own, as shares of it.

    Returns
    -------
    GlanceReport
        Best estimate, without bands.

    Raises
    ------
    InputError
        A part that cannot be computed, told in four pieces.
    """
    turbine = part_of(Turbine, turbine, where="turbine") if isinstance(turbine, str) else turbine
    own = wind.disc_speed(turbine.wind, turbine.rotor.radius).number
    speeds = sorted({own, *(round(own * share, 2) for share in shares)})
    assembly = whole.assemble(whole.settled(turbine, speeds), world.best_estimate())
    points = {speed: _point(assembly, speed) for speed in speeds}
    return GlanceReport(turbine=turbine.name, here=points[own], curve=tuple(points.values()))


def _point(assembly, speed):
    found = whole.predict(assembly, speed)
    here = found.rest
    numbers = ("rotor_speed", "tip_speed_ratio", "power_coefficient", "voltage", "current", "thrust", "power")
    units = ("rad_s", "", "", "V", "A", "N", "W")
    names = dict(zip(numbers, units, strict=True))
    values = {f"{name}_{unit}".rstrip("_"): float(getattr(here, name)[0]) for name, unit in names.items()}
    values["electrical_power_W"] = values.pop("power_W")
    return GlancePoint(
        wind_speed_m_s=speed,
        starts=bool(found.starts[0]),
        state=found.state,
        wind_power_W=float(here.wind_power[0]),
        energy_path=tuple(Step(part=part, power_W=float(power[0])) for part, power in here.path.items()),
        **values,
    )
