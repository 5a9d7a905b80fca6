"""Whether the parts bear what the wind and the turning ask of them, each margin with its doubt."""

from dataclasses import dataclass

import numpy as np

from whirlbench import tables
from whirlbench.errors import OutOfRange, within
from whirlbench.physics import base, rod, safety, tower
from whirlbench.predict.hub import HubBalance, hub_balance
from whirlbench.predict.loads import loads, stability, tube_load

TUBE_FACTOR = 3.0  # a hole or the edge of a socket raises the stress at the foot up to three times
GRADE = "G40"  # coarsest listed balance grade: common practice for a rotor weighed on a 0.1 g scale
_AGAINST_RUNAWAY = 2.0  # pull test over the pull at runaway speed: judgement, so that glue which just holds is found
_DOUBT = 0.1  # the worst tenth of the believed worlds does not count
_WOODS = {
    "birch": "birch, paper",
    "yellow birch": "birch, yellow",
    "basswood": "basswood, American",
    "balsa": "balsa (Handbook mean)",
    "pine": "pine, white (eastern)",
}
_METALS = {"steel": "steel", "aluminium": "aluminium 6061-T6", "PVC": "PVC pipe 12454"}
_PRINTS = {"PLA": "PLA, generic range", "PETG": "PETG, generic range", "ABS": "ABS"}


@dataclass(frozen=True)
class Margin:
    """One thing that has to hold, or a number worth knowing.

    Attributes
    ----------
    name : str
        What is looked at.
    value : float
        Best estimate, SI.
    with_doubt : float
        Value that nine of ten believed worlds keep, on the bad side.
    unit : str
        SI unit, empty for a plain factor.
    limit : float or None
        None where nothing is published or agreed to hold it against.
    sense : str
        ``at least`` or ``at most``, empty without a limit.
    kept : bool or None
        Whether the limit is kept with doubt; None where it is not judged.
    decides : bool
        A limit that is not kept makes the turbine unsafe; otherwise it is a caution.
    note : str
        What it means and what to do.
    """

    name: str
    value: float
    with_doubt: float
    unit: str
    limit: float | None
    sense: str
    kept: bool | None
    decides: bool
    note: str


@dataclass(frozen=True)
class Strength:
    """All margins of a turbine, and the numbers that the cautions speak of.

    Attributes
    ----------
    margins : tuple of Margin
        From the floor up.
    balance : HubBalance
        Rotor balance.
    running_speed, runaway_speed : float
        In the strongest wind, best estimate [rad/s].
    throw_speed, throw_energy : float
        Of a blade that comes off at runaway speed, nine of ten worlds below it [m/s], [J].
    tip_speed : float
        At runaway speed, nine of ten worlds below it [m/s].
    """

    margins: tuple
    balance: HubBalance
    running_speed: float
    runaway_speed: float
    throw_speed: float
    throw_energy: float
    tip_speed: float

    @property
    def holds(self):
        """Whether every margin that decides is kept."""
        return not any(margin.decides and margin.kept is False for margin in self.margins)


def strength(assembly, predictions):
    """Loads and margins of a turbine in its winds.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    predictions : sequence of Prediction
        One for each wind that counts; the strongest sets the loads, resonance is looked at in all.

    Returns
    -------
    Strength
        Margins, balance and throw.

    Raises
    ------
    OutOfRange
        No prediction, or a part outside what the formulas are good for.
    """
    within("predictions", len(predictions), low=1, high=1000, unit="", try_="predict the turbine in one wind")
    hardest = max(predictions, key=lambda one: one.wind_speed)
    states = loads(assembly, hardest)
    running, away, _ = states
    rotor, blade = assembly.turbine.rotor, assembly.blade
    balance = hub_balance(
        rotor, blade, rotor_speed=float(running.rotor_speed[0]), runaway_speed=float(away.rotor_speed[0])
    )
    speed = safety.rim_speed(away.rotor_speed, blade.mass_radius)
    energy = safety.throw_energy(blade.mass, speed)
    tip = safety.rim_speed(away.rotor_speed, rotor.radius)
    margins = (
        *_stand(assembly, hardest, states),
        *_tower(assembly, hardest, states),
        *_resonance(assembly, predictions),
        *_rods(assembly, states),
        *_roots(assembly, running, away),
        *_balance(assembly, balance, away),
        *_throw(assembly, speed, energy, tip),
    )
    return Strength(
        margins,
        balance,
        float(running.rotor_speed[0]),
        float(away.rotor_speed[0]),
        _high(speed),
        _high(energy),
        _high(tip),
    )


def rod_rupture(material):
    """Stress that breaks a blade rod.

    Parameters
    ----------
    material : str
        Name in the table of densities.

    Returns
    -------
    float or None
        [Pa]; across the layers for prints; None where no table knows it.
    """
    if material in _WOODS:
        return tables.load("rod/woods").find(species=_WOODS[material]).MOR_MPa * 1e6
    if material in _METALS:
        return tables.load("tower/structural_materials").find(material=_METALS[material]).strength_MPa * 1e6
    if material in _PRINTS:
        return tables.load("blades/printed_plastics").find(material=_PRINTS[material]).UTS_Z_low_MPa * 1e6
    return None


def tube_strength(tube):
    """Stress that a tower tube bears.

    Parameters
    ----------
    tube : Pipe or Tube
        The tube.

    Returns
    -------
    float or None
        [Pa]; None where neither a table nor the part says.
    """
    if tube.kind == "tube":
        return tube.strength
    return tables.load("tower/structural_materials").find(material="PVC pipe 12454").strength_MPa * 1e6


def _stand(assembly, prediction, states):
    stand, found = assembly.stand, stability(assembly, prediction, states)
    if stand.held:
        return
    for name, safety_factor, state in (
        ("sliding", found.sliding, found.sliding_state),
        ("tipping", found.tipping, found.tipping_state),
    ):
        note = f"worst at {state}, wind on the tube included"
        missing = stand.mass * (base.WANTED_FACTOR / float(safety_factor[0]) - 1)
        if missing > 0:
            note += f"; {missing:.1f} kg more ballast makes it {base.WANTED_FACTOR:g}, common practice near people"
        yield _at_least(name, safety_factor, 1.0, note)


def _tower(assembly, prediction, states):
    stand = assembly.stand
    push = np.maximum(np.max([load.thrust for load in states], axis=0), 0.0)
    tube = tube_load(assembly, prediction.wind_speed)
    moment = push * stand.height + tube * stand.height**2 / 2
    bearable, shape = tube_strength(assembly.turbine.tower.tube), _tube_of(stand)
    stress = np.maximum(tower.bending_stress(moment / stand.height, stand.height, **shape), 1.0)
    if bearable is None:
        yield _told("tower bending stress", stress, "Pa", "how much this tube bears is not known: add its strength")
    else:
        note = f"{stress[0] / 1e6:.2g} of {bearable / 1e6:.3g} MPa at the foot; holes and socket edges may treble it"
        yield _at_least("tower bending", bearable / stress, TUBE_FACTOR, note)
    yield from _lean(assembly, push, tube)
    room = np.array([stand.height - assembly.shape.radius])
    yield _at_least("blade tips above the base", room, 0.0, "raise the rotor where this is nothing", unit="m")


def _tube_of(stand):
    return {"outer_diameter": stand.outer_diameter, "second_moment": stand.second_moment}


def _lean(assembly, push, tube):
    """Way and turn of the tower top, best estimate and hard push on a soft joint; or a tower that falls over."""
    stand = assembly.stand
    joint = stand.joint.number * assembly.worlds.factor("joint")[:, 0]
    push, tube = np.array([push[0], _high(push)]), np.array([tube[0], _high(tube)])
    foot = {"joint_stiffness": np.array([joint[0], _low(joint)])}
    length, stiffness = stand.height, stand.bending_stiffness
    try:
        weight = tower.weight_factor(length, stiffness, stand.top_mass + stand.tube_mass / 2, **foot)
        lean = tower.lean(push, length, stiffness, free_play=stand.free_play, tube_load=tube, **foot)
    except OutOfRange as error:
        note = f"it falls over: {error.what} {error.got}; {error.try_}"
        yield Margin("tower stands", 0.0, 0.0, "", 1.0, "at least", False, True, note)
        return
    note = "hardest push; weight on top and play of the joint included"
    for name, (best, bad), unit in (
        ("tower tip deflection", weight * lean.deflection, "m"),
        ("tower tilt", weight * lean.tilt, "rad"),
    ):
        yield Margin(name, float(best), float(bad), unit, None, "", None, False, note)


def _frequency(assembly):
    """Natural frequency of the tower in every world [Hz]."""
    stand = assembly.stand
    joint = stand.joint.number * assembly.worlds.factor("joint")[:, 0]
    return tower.natural_frequency(
        stand.height, stand.bending_stiffness, stand.top_mass, tube_mass=stand.tube_mass, joint_stiffness=joint
    )


def _resonance(assembly, predictions):
    frequency, blades = _frequency(assembly), assembly.shape.blade_count
    by_turn, by_blade = tower.resonance_speeds(float(frequency[0]), blades)
    note = f"shaken at {_rpm(by_turn)} by imbalance and at {_rpm(by_blade)} by passing blades; tap the top and count"
    yield Margin("tower natural frequency", float(frequency[0]), _low(frequency), "Hz", None, "", None, False, note)
    for one in predictions:
        for state, here in (("", one.pushed), (" from rest", one.rest)):
            speed = here.rotor_speed
            if not here.turning[0] or (state and abs(speed[0] - one.pushed.rotor_speed[0]) < 0.02 * speed[0]):
                continue
            margin = tower.frequency_margin(speed, frequency, blade_count=blades)
            nearer = by_turn if abs(margin.once_per_turn[0]) < abs(margin.blade_per_turn[0]) else by_blade
            yield Margin(
                f"resonance at {one.wind_speed:.3g} m/s{state}",
                float(margin.nearest[0]),
                _low(margin.nearest),
                "",
                tower.FREQUENCY_MARGIN,
                "at least",
                bool(margin.clear[0]),
                False,
                f"turns at {_rpm(speed[0])}; shaking is at {_rpm(nearer)}, at this load in about "
                f"{one.wind_speed * nearer / speed[0]:.2g} m/s; too near in {100 * np.mean(~margin.clear):.0f} % of "
                "what we believe of the joint and the wind",
            )


def _rods(assembly, states):
    rotor, blade = assembly.turbine.rotor, assembly.blade
    if rotor.rod is None:
        return
    breaks = rod_rupture(rotor.rod.material)
    for load in states:
        found = rod.rod_load(
            blade.mass,
            blade.mass_radius,
            load.rotor_speed,
            diameter=rotor.rod.diameter,
            hub_radius=rotor.hub.radius,
            thrust=load.thrust / rotor.blade_count,
            thrust_radius=thrust_radius(rotor),
            torque=load.torque / rotor.blade_count,
        )
        note = f"bends with {found.moment[0] * 1000:.3g} mN*m at the hub, {found.stress[0] / 1e6:.2g} MPa with the pull"
        name = f"blade rod, {load.state}"
        if breaks is None:
            yield _told(name, found.stress, "Pa", f"{note}; no table knows what {rotor.rod.material} bears")
        else:
            yield _at_least(name, breaks / np.maximum(found.stress, 1.0), rod.ALLOWABLE_FACTOR, note)


def thrust_radius(rotor):
    """Where the thrust of a blade acts.

    Parameters
    ----------
    rotor : Rotor
        Hub and blades.

    Returns
    -------
    float
        Two thirds of the radius, or the middle of a blade that begins far out [m].
    """
    return max(2 * rotor.radius / 3, 0.5 * (rotor.shape.inner_radius + rotor.radius))


def _roots(assembly, running, away):
    blade = assembly.blade
    pull = {load.state: rod.root_pull(blade.mass, blade.mass_radius, load.rotor_speed) for load in (running, away)}
    note = f"{pull['running'][0]:.3g} N while running; no strength of a glued joint is published, so it is tested"
    yield _told("pull on a blade root, runaway", pull["runaway"], "N", note)
    test = np.maximum(rod.pull_test_force(pull["running"]), _AGAINST_RUNAWAY * pull["runaway"])
    note = f"pull each blade this hard with a scale before every run: {_high(test) / base.GRAVITY:.2g} kg on the scale"
    yield _told("pull test by hand", test, "N", note)


def _balance(assembly, found, away):
    stand = assembly.stand
    grip = stand.grip.number * assembly.worlds.factor("grip")[:, 0]
    note = f"{found.shaking_force:.2g} N while running, {found.runaway_force:.2g} N at runaway, once a turn"
    if found.imbalance > 0 and not stand.held:
        carried = stand.mass * base.GRAVITY * np.minimum(grip, stand.base_width / 2 / stand.axis_height)
        force = np.maximum(found.imbalance * away.rotor_speed**2, 1e-9)
        yield _at_least("shaking by imbalance, runaway", carried / force, 1.0, note)
    limit = tables.load("hub/balance_grades").find(grade=GRADE).G_mm_per_s / 1000
    note += f"; grade {found.grade}" if found.grade and found.imbalance > 0 else ""
    if not found.weighed:
        note += "; all blades taken as equal: weigh them"
    if found.better_holes:
        note += f"; holes {', '.join(map(str, found.better_holes))} balance"
    kept = found.velocity <= limit and (found.weighed or found.pattern_balances)
    yield Margin("rotor balance", found.velocity, found.velocity, "m/s", limit, "at most", kept, False, note)


def _throw(assembly, speed, energy, tip):
    compared = ", ".join(f"{_high(one.times):.2g} times the {one.topic}" for one in safety.comparisons(energy))
    yield _told("speed of a thrown blade", speed, "m/s", "if one comes off at runaway speed")
    yield _told("energy of a thrown blade", energy, "J", compared)
    yield _told("tip speed, runaway", tip, "m/s", "what a finger in the rotor meets")


def _at_least(name, values, limit, note, *, unit=""):
    low = _low(values)
    return Margin(name, float(values[0]), low, unit, limit, "at least", bool(low >= limit), True, note)


def _told(name, values, unit, note):
    return Margin(name, float(values[0]), _high(values), unit, None, "", None, False, note)


def _low(values):
    return float(np.quantile(values, _DOUBT))


def _high(values):
    return float(np.quantile(values, 1 - _DOUBT))


def _rpm(speed):
    return f"{speed * 9.5493:.0f} rpm"
