"""Predict what a turbine does in one or more winds."""

import numpy as np

from whirlbench.actions.report import Equilibrium, Finding, Point, PredictReport, Step
from whirlbench.advise import trust
from whirlbench.advise.symptom import eaten, symptoms
from whirlbench.predict import turbine as whole
from whirlbench.predict import wind, world
from whirlbench.predict.spin_up import spin_up

WINDOW = 60.0  # [s]


def predict(turbine, wind_speeds=(), *, beliefs=None, pushed=False, window=WINDOW, tick=lambda done: None):
    """Predict a turbine in one or more winds, with bands.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    wind_speeds : sequence of float
        Winds over the disc [m/s]; empty takes the turbine's own wind.
    beliefs : Beliefs, optional
        What readings have taught; without it the priors of the parts.
    pushed : bool
        Report the state after a push instead of the one reached from rest.
    window : float
        Length of a scored run, from letting go [s].
    tick : callable
        Called with the number of winds done, for a progress bar.

    Returns
    -------
    PredictReport
        One point a wind.

    Raises
    ------
    InputError
        A part or wind that cannot be computed, told in four pieces.
    """
    beliefs = beliefs or whole.priors(turbine)
    speeds = list(wind_speeds) or [wind.disc_speed(turbine.wind, turbine.rotor.radius).number]
    worlds = world.draw(beliefs, world.COUNT)
    turbine = whole.settled(turbine, speeds)
    assembly = whole.assemble(turbine, worlds)
    points = []
    for speed in speeds:
        points.append(point(assembly, speed, pushed=pushed, window=window))
        tick(len(points))
    return PredictReport(turbine=turbine.name, points=tuple(points))


def point(assembly, wind_speed, *, pushed=False, window=WINDOW, rotor=None, **seen):
    """One wind's answer.

    Parameters
    ----------
    assembly : Assembly
        The turbine in every world.
    wind_speed : float
        Over the disc [m/s].
    pushed : bool
        Report the state after a push.
    window : float
        Length of a scored run, from letting go [s].
    rotor : RotorWorlds, optional
        Coefficients found before for the same rotor, air, wind and worlds.
    **seen
        ``readings`` at the fan and the ``fit`` to them, for the diagnosis.

    Returns
    -------
    Point
        Best estimate with bands.
    """
    found = whole.predict(assembly, wind_speed, rotor)
    here = found.pushed if pushed else found.rest
    path = {part: float(power[0]) for part, power in here.path.items()}
    start = float(whole.start_wind(assembly, found)[0])
    low, high = np.quantile(here.power, [0.1, 0.9])
    run = spin_up(assembly, found, window)
    findings = symptoms(assembly, found, pushed=pushed, **seen)
    return Point(
        wind_speed_m_s=wind_speed,
        free_air_speed_m_s=_first(found.free_air_speed),
        state="running" if pushed and here.turning[0] else found.state,
        starts=bool(found.starts[0]),
        start_chance=float(found.starts.mean()),
        start_wind_speed_m_s=start if np.isfinite(start) else None,
        load_resistance_ohm=assembly.machine.circuit.load_resistance,
        **_best(here),
        electrical_power_sd_W=float(here.power.std()),
        electrical_power_low_W=float(low),
        electrical_power_high_W=float(high),
        standstill_torque_N_m=_first(found.standstill),
        breakaway_torque_N_m=_first(found.breakaway),
        wind_power_W=_first(here.wind_power),
        energy_path=tuple(Step(part=part, power_W=power) for part, power in path.items()),
        time_to_speed_s=run.time_to_90 if np.isfinite(run.time_to_90) else None,
        window_s=window,
        energy_J=run.energy,
        after_push_power_W=_first(found.pushed.power),
        after_push_rotor_speed_rad_s=_first(found.pushed.rotor_speed),
        equilibria=tuple(Equilibrium(**one) for one in whole.equilibria(assembly, found)),
        symptom=findings[0].name,
        sentence=_sentence(findings[0], here),
        findings=tuple(Finding(**vars(one)) for one in findings),
        warnings=trust.warnings(assembly, found),
    )


def _sentence(finding, state):
    """The gravest finding, its evidence, and what behind the rotor eats most."""
    share = eaten(state) if state.turning[0] else ""
    return " ".join(text for text in dict.fromkeys((finding.sentence, finding.evidence, share)) if text)


def _first(values):
    return float(values[0])


def _best(state):
    """Best-estimate numbers of a state under their JSON names."""
    return {
        "rotor_speed_rad_s": _first(state.rotor_speed),
        "generator_speed_rad_s": _first(state.generator_speed),
        "tip_speed_ratio": _first(state.tip_speed_ratio),
        "power_coefficient": _first(state.power_coefficient),
        "thrust_coefficient": _first(state.thrust_coefficient),
        "thrust_N": _first(state.thrust),
        "rotor_torque_N_m": _first(state.rotor_torque),
        "tilt_rad": _first(state.tilt),
        "emf_V": _first(state.emf),
        "voltage_V": _first(state.voltage),
        "current_A": _first(state.current),
        "electrical_power_W": _first(state.power),
    }
