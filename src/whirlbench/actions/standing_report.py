"""What is known of a turbine beside its parts; apart from ``standing``, for the server loads nothing that computes."""

from whirlbench.actions.report import Report


class Standing(Report):
    """What a glance and a check found; ``wrong`` says why nothing could be computed, or is empty."""

    electrical_power_W: float | None
    wind_speed_m_s: float | None
    starts: bool | None
    broken: tuple[str, ...] = ()
    weak: tuple[str, ...] = ()
    wrong: str = ""
