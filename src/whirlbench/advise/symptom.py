"""What the turbine suffers from, read off its own curve."""

from dataclasses import dataclass

import numpy as np

from whirlbench.advise.energy import WELL_MADE, split
from whirlbench.physics.rotor_kernel import RUNNING

_OFF = 0.7  # share of the rotor's own best catch below which its speed, not its blades, is to blame
_POOR = 0.6


@dataclass(frozen=True)
class Symptom:
    """A finding.

    Attributes
    ----------
    name : str
        ``does not start``, ``stuck slow``, ``turns too freely``, ``held too slow``, ``poor blades`` or ``runs well``.
    sentence : str
        What a 14-year-old reads.
    """

    name: str
    sentence: str


def symptom(prediction, state):
    """Finding for a turbine in one wind, best estimate.

    Parameters
    ----------
    prediction : Prediction
        Its states.
    state : Operating
        The state reported: from rest or after a push.

    Returns
    -------
    Symptom
        One name, one or two sentences.
    """
    if not state.turning[0]:
        return _no_start(prediction)
    best, at = _own_best(prediction.curve)
    catch, speed = float(state.power_coefficient[0]), float(state.tip_speed_ratio[0])
    if prediction.state == "slow" and state is prediction.rest:
        return Symptom(
            "stuck slow",
            "Your rotor starts but gets stuck turning slowly: gears and load hold it below the speed where its blades "
            "pull well. The same turbine runs much faster once it is helped over that.",
        )
    percent = f"{100 * catch:.2g} %"
    if catch < _OFF * best and speed > at:
        return Symptom(
            "turns too freely",
            f"Your rotor turns too freely and catches only {percent} of the wind's power; at the right speed the same "
            f"blades could catch {100 * best:.2g} %. Gears or a lower load resistance would make it work.",
        )
    if catch < _OFF * best:
        return Symptom(
            "held too slow",
            f"Your rotor is held too slow and catches only {percent} of the wind's power; at the right speed the same "
            f"blades could catch {100 * best:.2g} %. A smaller gear step or a higher load resistance would free it.",
        )
    eaten = _eaten(state)
    if best < _POOR * WELL_MADE:
        return Symptom(
            "poor blades",
            f"Your blades catch only {percent} of the wind's power; well-made rotors of this size catch 25 to 40 %. "
            + eaten,
        )
    return Symptom("runs well", eaten)


def _own_best(curve):
    """Power coefficient and tip-speed ratio at which the rotor itself is best, running branch."""
    speed, torque, free = (getattr(curve, name)[RUNNING, 0] for name in ("speed", "torque", "free_speed"))
    power = torque * speed / (0.5 * curve.air_density * curve.disc_area * free**3)
    top = int(np.argmax(power))
    return float(power[top]), float(speed[top] * curve.rotor_radius / free[top])


def _eaten(state):
    """The group behind the rotor that takes most of what it catches."""
    parts = split({part: float(power[0]) for part, power in state.path.items()})
    worst = max(("drivetrain", "generator"), key=lambda group: parts.lost[group])
    share = 100 * parts.lost[worst] / parts.caught if parts.caught else 0.0
    return f"Your {worst} eats {share:.0f} % of what the rotor catches."


def _no_start(prediction):
    standstill, breakaway = float(prediction.standstill[0]), float(prediction.breakaway[0])
    lead = "Your turbine does not start by itself: "
    if standstill <= 0:
        why = "at rest the wind does not turn the blades at all. Check which way they are pitched."
    elif standstill < breakaway:
        why = f"it takes {breakaway / standstill:.1f} times the torque that this wind gives the resting blades."
    else:
        why = "it breaks away but cannot keep turning."
    push = (
        " Once pushed it keeps running."
        if prediction.pushed.turning[0]
        else " A push would not keep it running either."
    )
    return Symptom("does not start", lead + why + push)
