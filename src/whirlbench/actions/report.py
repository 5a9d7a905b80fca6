"""What the actions answer with: frozen records whose keys carry SI units."""

from pydantic import BaseModel, ConfigDict


class Report(BaseModel):
    """A frozen answer; its JSON form is what ``--json`` prints."""

    model_config = ConfigDict(frozen=True)


class Step(Report):
    """One step of the energy path."""

    part: str
    power_W: float


class Equilibrium(Report):
    """A speed at which all torques balance."""

    branch: str
    rotor_speed_rad_s: float
    stable: bool


class Finding(Report):
    """Something the turbine suffers from, with its evidence."""

    name: str
    sentence: str
    evidence: str
    severity_W: float | None


class Point(Report):
    """What a turbine does in one wind, from a start at rest."""

    wind_speed_m_s: float
    free_air_speed_m_s: float
    state: str
    starts: bool
    start_chance: float
    start_wind_speed_m_s: float | None
    rotor_speed_rad_s: float
    generator_speed_rad_s: float
    tip_speed_ratio: float
    power_coefficient: float
    thrust_coefficient: float
    thrust_N: float
    rotor_torque_N_m: float
    tilt_rad: float
    emf_V: float
    voltage_V: float
    current_A: float
    load_resistance_ohm: float
    electrical_power_W: float
    electrical_power_sd_W: float
    electrical_power_low_W: float
    electrical_power_high_W: float
    standstill_torque_N_m: float
    breakaway_torque_N_m: float
    wind_power_W: float
    energy_path: tuple[Step, ...]
    time_to_speed_s: float | None
    window_s: float
    energy_J: float
    after_push_power_W: float
    after_push_rotor_speed_rad_s: float
    equilibria: tuple[Equilibrium, ...]
    symptom: str
    sentence: str
    findings: tuple[Finding, ...]
    warnings: tuple[str, ...]


class PredictReport(Report):
    """Answer of ``predict``."""

    turbine: str
    points: tuple[Point, ...]
