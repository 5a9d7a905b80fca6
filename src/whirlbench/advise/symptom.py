"""What the turbine suffers from, read off its own curve and off what was measured."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench import units
from whirlbench.advise.energy import WELL_MADE, split
from whirlbench.advise.match import match
from whirlbench.physics import tower
from whirlbench.physics.rotor_kernel import RUNNING
from whirlbench.predict import turbine as whole
from whirlbench.predict import world
from whirlbench.predict.loads import stability

_OFF = 0.7  # share of the rotor's own best catch below which its speed, not its blades, is to blame
_POOR = 0.6
_PAYS = 0.15  # share of the power that another ratio or resistor must add before the match is called bad
_ENOUGH = 0.8  # share of the best of both that a resistor alone must bring: it is changed in a minute, gears are not
_MOST = 0.5  # of the electrical power
_READABLE = 0.05  # [V] below it a meter that shows millivolts is 4 % off by two of its digits: common practice
_BARE, _LEAN, _WALLS = 0.1, 0.03, 0.02  # shares of power, power and wind speed from which they are told
_WEAK = 0.96  # wind believed after the readings over wind before
_UNLIKE = 1.0  # prior standard deviations by which readings move a factor before it is a finding
_RPM = 30 / np.pi


@dataclass(frozen=True)
class Symptom:
    """A finding.

    Attributes
    ----------
    name : str
        ``does not start``, ``stuck slow``, ``turns too freely``, ``held too slow``, ``poor blades`` or ``runs well``;
        from ``symptoms`` also ``pitch the wrong way``, ``slides``, ``tips over``, ``over-geared``, ``under-geared``,
        ``load too heavy``, ``load too light``, ``generator mismatch``, ``drag of bare rods``,
        ``wind weaker than believed``, ``leans``, ``walls flatter the result`` and ``resonance``.
    sentence : str
        What a 14-year-old reads.
    evidence : str
        The numbers behind it.
    severity_W : float or None
        What mending just this would give; None where no power can be put to it [W].
    """

    name: str
    sentence: str
    evidence: str = ""
    severity_W: float | None = None


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
    share = eaten(state)
    if best < _POOR * WELL_MADE:
        return Symptom(
            "poor blades",
            f"Your blades catch only {percent} of the wind's power; well-made rotors of this size catch 25 to 40 %. "
            + share,
        )
    return Symptom("runs well", share)


@dataclass(frozen=True)
class _Case:
    """A turbine in one wind as the checks see it, best estimate."""

    assembly: object
    prediction: object
    state: object
    readings: tuple
    fit: object
    match: object

    @property
    def power(self):
        return float(self.state.power[0])

    @property
    def shaft(self):
        return float(self.state.rotor_torque[0] * self.state.rotor_speed[0])

    def path(self, part):
        return float(self.state.path[part][0])


def symptoms(assembly, prediction, *, readings=(), fit=None, pushed=False):
    """Everything that a turbine suffers from in one wind, the gravest first.

    Parameters
    ----------
    assembly : Assembly
        The turbine, in the worlds believed after the readings where there are any.
    prediction : Prediction
        Its states in the wind.
    readings : sequence of Reading
        At the fan: a rotor that was seen to stay at rest does not start, whatever the model says.
    fit : Fit, optional
        What the readings taught of wind and generator.
    pushed : bool
        Tell of the state after a push.

    Returns
    -------
    tuple of Symptom
        What keeps it from turning or standing, then by the watts at stake; ``runs well`` where there is nothing.
    """
    state = prediction.pushed if pushed else prediction.rest
    matched = match(assembly, prediction, pushed=pushed)
    case = _Case(assembly, prediction, state, tuple(readings), fit, matched)
    grave = [one for check in (_resting, _stand, _stuck) for one in check(case)]
    costly = [one for check in (_matching, _generator, _learned_wind) for one in check(case)]
    if state.turning[0]:
        costly += [one for check in (_rods, _leaning, _walls, _blades) for one in check(case)]
    costly.sort(key=lambda one: -one.severity_W)
    rest = list(_resonance(case))
    return (*grave, *costly, *rest) or (Symptom("runs well", eaten(state)),)


def _resting(case):
    """Does not start: by the model, or as was seen."""
    found, state = case.prediction, case.state
    gain = max(float(found.pushed.power[0]), case.match.by_both) - case.power
    if not state.turning[0]:
        evidence = (
            f"At rest the wind gives {1000 * found.standstill[0]:.2g} mN*m; breaking away takes "
            f"{1000 * found.breakaway[0]:.2g} mN*m."
        )
        wrong = _wrong_pitch(case)
        yield wrong or replace(_no_start(found), evidence=evidence, severity_W=gain)
        return
    for one in case.readings:
        still = 0 in (one.voltage, one.rotor_speed) and not (one.voltage or one.rotor_speed or one.pushed)
        if still and one.load_resistance != 0 and one.wind_speed and one.wind_speed >= 0.99 * found.wind_speed:
            sentence = (
                "You saw that your turbine does not start by itself in this wind, though by the numbers it should. "
                "Turn it by hand with the fan off and feel where it sticks: teeth, bearings, magnets."
            )
            margin = found.standstill[0] / found.breakaway[0]
            evidence = f"Line {one.row} reads nothing; by the model the torque at rest is {margin:.2g} times enough."
            yield Symptom("does not start", sentence, evidence, case.power)
            return


def _wrong_pitch(case):
    """Blades that would turn the rotor backwards, and what the mirrored pitch would give."""
    rotor = case.assembly.turbine.rotor
    if case.prediction.standstill[0] > 0 or rotor.pitch >= 0:
        return None
    turned = case.assembly.turbine.changed(rotor=rotor.changed(pitch=-rotor.pitch))
    best = case.assembly.worlds.only([0])
    other = whole.predict(whole.assemble(turned, best), case.prediction.wind_speed).pushed.power[0]
    sentence = (
        "Your blades are pitched the wrong way: the wind pushes the rotor backwards. Turn every blade in its hole "
        "until the same angle shows on the other side of the hub's plane."
    )
    evidence = (
        f"Pitch {np.degrees(rotor.pitch):.3g} deg; torque at rest {1000 * case.prediction.standstill[0]:.2g} mN*m."
    )
    return Symptom("pitch the wrong way", sentence, evidence, float(other))


def _stand(case):
    found = stability(case.assembly, case.prediction)
    for name, safety, state, sentence in (
        ("slides", found.sliding[0], found.sliding_state, "The wind pushes your turbine along the floor."),
        ("tips over", found.tipping[0], found.tipping_state, "The wind pushes your turbine over."),
    ):
        if safety < 1:
            evidence = f"What holds it is {safety:.2g} times the push when it is worst, at {state}."
            yield Symptom(name, f"{sentence} Put weight on the base or clamp it.", evidence, case.power)


def _stuck(case):
    found = symptom(case.prediction, case.state)
    if found.name == "stuck slow":
        here, there = case.state, case.prediction.pushed
        evidence = f"{_rpm(here.rotor_speed[0])} from rest, {_rpm(there.rotor_speed[0])} after a push."
        yield replace(found, evidence=evidence, severity_W=float(there.power[0]) - case.power)


def _matching(case):
    """Resistor where it alone brings most of what there is; else ratio or resistor, whichever gives more."""
    found, step_up = case.match, case.assembly.train.step_up
    now = case.assembly.machine.circuit.load_resistance
    ratio = found.by_ratio > found.by_load and found.by_load < _ENOUGH * found.by_both
    gain = (found.by_ratio if ratio else found.by_load) - found.power
    if gain <= _PAYS * found.power:
        return
    evidence = (
        f"As it is {_watts(found.power)}; with {units.plain(found.resistance, 'ohm')} at this ratio "
        f"{_watts(found.by_load)}; with a ratio of 1:{found.ratio:.2g} at this load {_watts(found.by_ratio)}; with the "
        f"best of both {_watts(found.by_both)}."
    )
    less = found.ratio < step_up if ratio else found.resistance > now
    name, sentence = _MATCH[ratio, less]
    yield Symptom(name, sentence, evidence, gain)


_MATCH = {
    (True, True): ("over-geared", "The gears hold your rotor too slow for its blades: take a smaller gear step."),
    (True, False): ("under-geared", "Your generator turns too slowly: the rotor needs a larger gear step to work."),
    (False, True): ("load too heavy", "Your load draws too much and holds the rotor back: take a larger resistor."),
    (False, False): ("load too light", "Your load draws too little, so the rotor runs idle: take a smaller resistor."),
}


def _generator(case):
    """A generator out of scale with speed and load, by the model or by what the readings taught."""
    winding, diodes, arrives = (case.path(part) for part in ("generator winding", "rectifier", "load"))
    lost, volts, best = winding + diodes, float(case.state.voltage[0]), case.match
    reasons, gain = [], max(best.by_generator - max(best.by_load, best.power), 0.0)
    matched = best.by_load - best.power <= _PAYS * best.power
    if matched and lost > _MOST * (lost + arrives) > 0:
        where = "the winding" if winding > diodes else "the diodes"
        reasons.append(f"{100 * lost / (lost + arrives):.0f} % of the electrical power stays in {where}")
    if case.state.turning[0] and volts < _READABLE and case.assembly.machine.circuit.load_resistance > 0:
        reasons.append(f"the load gets only {1000 * volts:.2g} mV, too little to read well")
    for name, bad in (("resistance", 1), ("emf", -1)):
        factor = _taught(case.fit, name)
        if bad * np.log(factor) > 0:
            reasons.append(f"by your readings {world.MEANING[name]} is {factor:.2f} times what was believed")
            gain = max(gain, case.power * (max(factor, 1 / factor) - 1))
    if reasons:
        sentence = (
            "Your generator does not fit: it gives too few volts for its speed, or its own wire keeps what the load "
            "should get. Try another one from the shelf, or measure this one with a drill and a meter."
        )
        yield Symptom("generator mismatch", sentence, f"{reasons[0].capitalize()}{_more(reasons)}.", gain)


def _more(reasons):
    return "".join(f"; {reason}" for reason in reasons[1:])


def _taught(fit, name):
    """Factor that readings moved clearly away from what was believed; 1 where they did not."""
    if fit is None:
        return 1.0
    moved = fit.beliefs.mean[world.FACTORS.index(name)] - fit.prior.mean[world.FACTORS.index(name)]
    clear = abs(moved) > max(_UNLIKE * fit.prior.sigma(name), 2 * fit.beliefs.sigma(name))
    return float(np.exp(moved)) if clear else 1.0


def _learned_wind(case):
    if case.fit is None:
        return
    i = world.FACTORS.index("wind")
    moved = case.fit.beliefs.mean[i] - case.fit.prior.mean[i]
    if moved > np.log(_WEAK) or moved > -case.fit.beliefs.sigma("wind"):
        return
    factor = float(np.exp(moved))
    sentence = "The wind on your rotor is weaker than you believe. Map it across the whole disc, with the turbine away."
    evidence = f"Your readings fit a wind of {factor:.2f} times the one written down: {factor**3:.2f} times its power."
    yield Symptom("wind weaker than believed", sentence, evidence, case.power * (factor**-3 - 1))


def _rods(case):
    rods = case.path("rods")
    if rods > _BARE * (case.shaft + rods):
        sentence = "Bare rods between hub and blades stir the air. Make them shorter, thinner, or cover them."
        share = 100 * rods / (case.shaft + rods)
        evidence = f"The rods take {_watts(rods)}, {share:.0f} % of what the blades catch."
        yield Symptom("drag of bare rods", sentence, evidence, rods * case.power / case.shaft)


def _leaning(case):
    tilt = float(case.state.tilt[0])
    gain = case.power * float(np.cos(tilt) ** -3 - 1)
    if gain > _LEAN * case.power:
        sentence = "Your tower leans back, so the rotor does not face the wind. Stiffen its tube or its foot joint."
        yield Symptom(
            "leans", sentence, f"The axis tilts by {np.degrees(tilt):.2g} deg under the push of the wind.", gain
        )


def _walls(case):
    found, factor = case.prediction, float(case.assembly.worlds.factor("wind")[0, 0])
    ratio = found.free_air_speed[0] / (found.wind_speed * factor)
    if case.assembly.turbine.wind.kind == "tunnel" and ratio > 1 + _WALLS:
        sentence = "The tunnel's walls flatter the result: in the open the same wind gives less."
        evidence = f"Between the walls the rotor works as in a free wind {100 * (ratio - 1):.0f} % faster."
        yield Symptom("walls flatter the result", sentence, evidence, case.power * float(1 - ratio**-3))


def _blades(case):
    best, _ = _own_best(case.prediction.curve)
    if best < _POOR * WELL_MADE:
        sentence = (
            f"At their best your blades catch {100 * best:.2g} % of the wind's power; well-made rotors 25 to 40 %."
        )
        gain = case.power * (WELL_MADE / max(best, 1e-3) - 1)
        yield Symptom("poor blades", sentence, f"Best power coefficient {best:.2g} at any speed.", gain)


def _resonance(case):
    if not case.state.turning[0]:
        return
    stand, speed = case.assembly.stand, float(case.state.rotor_speed[0])
    frequency, blades = stand.natural_frequency(), case.assembly.shape.blade_count
    margin = tower.frequency_margin(speed, frequency, blade_count=blades)
    if not margin.clear:
        by = "each turn" if abs(margin.once_per_turn) < abs(margin.blade_per_turn) else "each blade that passes"
        sentence = f"Your tower shakes in time with {by}. Stiffen the tower or run at another speed."
        evidence = f"It swings at {frequency:.2g} Hz by itself; the rotor makes {_rpm(speed)} with {blades} blades."
        yield Symptom("resonance", sentence, evidence)


def _watts(power):
    return units.show(power, "mW" if abs(power) < 0.1 else "W", 2)


def _rpm(speed):
    return f"{speed * _RPM:.0f} rpm"


def _own_best(curve):
    """Power coefficient and tip-speed ratio at which the rotor itself is best, running branch."""
    speed, torque, free = (getattr(curve, name)[RUNNING, 0] for name in ("speed", "torque", "free_speed"))
    power = torque * speed / (0.5 * curve.air_density * curve.disc_area * free**3)
    top = int(np.argmax(power))
    return float(power[top]), float(speed[top] * curve.rotor_radius / free[top])


def eaten(state):
    """Sentence on the group behind the rotor that takes most of what it catches.

    Parameters
    ----------
    state : Operating
        The state reported; the rotor turns.

    Returns
    -------
    str
        Such as ``Your generator eats 24 % of what the rotor catches.``
    """
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
