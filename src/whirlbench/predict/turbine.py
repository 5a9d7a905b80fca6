"""The whole turbine: from parts to what it does in a wind, in every believed world."""

from dataclasses import dataclass

import numpy as np

from whirlbench.parts.blade import outline
from whirlbench.parts.load import Resistor
from whirlbench.physics import gear_friction, load, section
from whirlbench.physics.base import GRAVITY
from whirlbench.physics.rotor_kernel import RUNNING
from whirlbench.predict import balance, blades, chains, drivetrain, generator, stand, wind, world
from whirlbench.predict.curve import met_curve, rotor_worlds
from whirlbench.predict.operating import operating

_STANDSTILL_DOUBT = 0.3  # of the static torque alone: what blade elements miss at rest
_ANGLE_DOUBT = float(np.radians(1.2))  # set with a paper gauge to 1 deg: common practice; zero lift to 0.7: judgement
_LEAST_FRICTION_DOUBT = 0.05
_TEETH_DOUBT, _BELT_DOUBT = 0.25, 0.5
_SLOW = 0.7  # from-rest speed below this share of the fastest speed is the slow state


@dataclass(frozen=True)
class Assembly:
    """All numbers of a turbine that do not depend on the wind, in every world.

    Attributes
    ----------
    turbine : Turbine
        The parts.
    air : AirData
        Density and viscosity.
    shape : RotorShape
        The rotor.
    blade : BladeMass
        Mass of one blade.
    stand : Stand
        Tower and base.
    train : Train
        Drivetrain.
    machine : Machine
        Generator and load.
    worlds : Worlds
        The believed worlds.
    inertia : float
        All that turns, seen at the rotor shaft [kg*m^2].
    """

    turbine: object
    air: object
    shape: object
    blade: object
    stand: object
    train: object
    machine: object
    worlds: object
    inertia: float


@dataclass(frozen=True)
class Prediction:
    """What a turbine does in one wind, in every world.

    Attributes
    ----------
    wind_speed : float
        Best estimate over the disc, as the reading says [m/s].
    curve : MetCurve
        Rotor torque over speed.
    rest, pushed : Operating
        Where a start from rest ends, and where a push can bring it.
    starts : array of bool, shape (n,)
        Whether it breaks away by itself.
    standstill, breakaway : array, shape (n,)
        Torque that the wind gives at rest, and that breaking away takes [N*m].
    state : str
        Of the best estimate: ``running``, ``slow``, ``needs a push`` or ``stopped``.
    free_air_speed : array, shape (n,)
        Free-air speed that loads the rotor as its wind does at the state from rest [m/s].
    """

    wind_speed: float
    curve: object
    rest: object
    pushed: object
    starts: np.ndarray
    standstill: np.ndarray
    breakaway: np.ndarray
    state: str
    free_air_speed: np.ndarray


def priors(turbine):
    """Belief about a turbine's uncertain inputs before any reading.

    Parameters
    ----------
    turbine : Turbine
        The parts, each with its own doubt.

    Returns
    -------
    Beliefs
        Independent factors around 1.
    """
    rotor = turbine.rotor
    speed = wind.disc_speed(turbine.wind, rotor.radius)
    polar = blades.section_polar(rotor.section, rotor.shape, turbine.wind.flow)
    chord, _ = outline(rotor.shape, np.array([0.7 * rotor.radius]))
    reynolds = 3.0 * speed.number * chord[0] / 1.5e-5  # at a tip-speed ratio of about 4
    data = generator.generator_data(turbine.generator)
    foot = stand.stand(turbine.tower, turbine.base)
    return world.prior(
        wind=speed.relative,
        lift=float(section.lift_doubt(polar.kind, reynolds)),
        drag=float(section.drag_doubt(polar.kind, reynolds)),
        stall=float(section.stall_doubt(polar.kind, reynolds)),
        angle=_ANGLE_DOUBT,
        friction=_friction_doubt(turbine, data),
        teeth=_teeth_doubt(turbine.drivetrain),
        emf=data.emf_constant.relative,
        resistance=data.resistance.relative,
        brush=generator.BRUSH_DROP.relative if data.current == "dc" else 0.0,
        start=float(np.hypot(_STANDSTILL_DOUBT, data.breakaway.relative)),
        joint=foot.joint.relative,
        grip=foot.grip.relative,
    )


def assemble(turbine, worlds, stations=blades.STATIONS):
    """Numbers of a turbine in every world.

    Parameters
    ----------
    turbine : Turbine
        The parts; a free load must be settled first, see ``settled``.
    worlds : Worlds
        The believed worlds.
    stations : int
        Stations along the blade.

    Returns
    -------
    Assembly
        Ready for any wind.
    """
    rotor = turbine.rotor
    blade = blades.blade_mass(rotor)
    train = drivetrain.train(turbine, rotor.blade_count * blade.mass + rotor.hub.mass, worlds)
    data = generator.generator_data(turbine.generator)
    machine = generator.machine(data, turbine.generator.rectifier, turbine.load, worlds)
    return Assembly(
        turbine=turbine,
        air=wind.air_data(turbine.air),
        shape=blades.rotor_shape(rotor, turbine.wind.flow, stations),
        blade=blade,
        stand=stand.stand(turbine.tower, turbine.base),
        train=train,
        machine=machine,
        worlds=worlds,
        inertia=blades.rotor_inertia(rotor) + train.step_up**2 * data.inertia,
    )


def rotor_in_wind(assembly, wind_speed):
    """Rotor coefficients of an assembly in a wind; reusable while rotor, air and wind stay the same.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    wind_speed : float
        Over the disc [m/s].

    Returns
    -------
    RotorWorlds
        Coefficients in every world.
    """
    return rotor_worlds(assembly.shape, wind_speed, assembly.air, assembly.worlds)


def curve_in_wind(assembly, rotor):
    """Rotor torque over shaft speed on this stand, between these walls.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    rotor : RotorWorlds
        Coefficients of its rotor in a wind.

    Returns
    -------
    MetCurve
        In every world.
    """
    part = assembly.turbine.wind
    return met_curve(
        rotor,
        assembly.air,
        stand=assembly.stand,
        worlds=assembly.worlds,
        blockage=wind.blockage(part, assembly.shape.radius),
        beside=part.kind == "tunnel" and part.measured == "beside the rotor",
    )


def predict(assembly, wind_speed, rotor=None):
    """What a turbine does in a wind.

    Parameters
    ----------
    assembly : Assembly
        The turbine in every world.
    wind_speed : float
        Over the disc [m/s].
    rotor : RotorWorlds, optional
        Coefficients found before for the same rotor, air, wind and worlds.

    Returns
    -------
    Prediction
        From rest and after a push.

    Raises
    ------
    OutOfRange
        Wind outside 0.1-60 m/s.
    """
    curve = curve_in_wind(assembly, rotor or rotor_in_wind(assembly, wind_speed))
    train, machine, start = assembly.train, assembly.machine, 1.0 / assembly.worlds.factor("start")
    at_rest = balance.from_rest(curve, train, machine, start)
    # the branches differ by a little where stations have two solutions; a push never ends below a start from rest
    after_push = balance.faster(curve, at_rest, balance.fastest(curve, train, machine))
    rest, pushed = operating(curve, at_rest, train, machine), operating(curve, after_push, train, machine)
    breakaway = train.breakaway(machine.breakaway)
    return Prediction(
        wind_speed=wind_speed,
        curve=curve,
        rest=rest,
        pushed=pushed,
        starts=(curve.standstill * start >= breakaway)[:, 0],
        standstill=curve.standstill[:, 0],
        breakaway=np.broadcast_to(breakaway, curve.standstill.shape)[:, 0],
        state=_state(rest, pushed),
        free_air_speed=at_rest.of(curve.free_speed)[:, 0],
    )


def settled(turbine, wind_speeds):
    """Turbine with a free load settled on the preferred value that gives most power over some winds.

    Parameters
    ----------
    turbine : Turbine
        Any turbine.
    wind_speeds : float or sequence of float
        Over the disc [m/s].

    Returns
    -------
    Turbine
        The same with a resistor for a load; unchanged where the load is not free.
    """
    if turbine.load.kind != "free":
        return turbine
    free = turbine.load
    values = load.preferred_values(free.series, lowest=free.lowest, highest=free.highest)
    base = assemble(turbine.changed(load=Resistor(resistance=float(values[0]))), world.best_estimate())
    table = chains.train_table([base.train])
    power = np.zeros(len(values))
    for speed in np.atleast_1d(wind_speeds):
        rest, pushed, _ = chains.watts(predict(base, speed).curve, table, base.machine, values)
        power += np.maximum(rest[0], 1e-3 * pushed[0])  # one that needs a push still beats one that never runs
    return turbine.changed(load=Resistor(resistance=float(values[int(np.argmax(power))])))


def start_wind(assembly, prediction):
    """Wind at which the turbine breaks away by itself, in every world.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    prediction : Prediction
        Its state in a wind near it, whose Reynolds numbers are used.

    Returns
    -------
    array, shape (n,)
        [m/s]; infinite where no wind starts it.
    """
    torque = np.maximum(prediction.standstill / assembly.worlds.factor("start")[:, 0], 0.0)
    with np.errstate(divide="ignore"):
        return np.where(torque > 0, prediction.wind_speed * np.sqrt(prediction.breakaway / torque), np.inf)


def equilibria(assembly, prediction):
    """Every equilibrium of the best estimate.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    prediction : Prediction
        Its state in a wind.

    Returns
    -------
    list of dict
        Branch, rotor speed [rad/s] and whether it is stable.
    """
    names = {RUNNING: "running"}
    return [
        {"branch": names.get(branch, "starting"), "rotor_speed_rad_s": speed, "stable": stable}
        for branch, speed, stable in balance.equilibria(prediction.curve, assembly.train, assembly.machine)
    ]


def _state(rest, pushed):
    if rest.turning[0]:
        return "slow" if rest.rotor_speed[0] < _SLOW * pushed.rotor_speed[0] else "running"
    return "needs a push" if pushed.turning[0] else "stopped"


def _friction_doubt(turbine, data):
    """Relative doubt of bearing and generator friction together, each weighed by its torque at the rotor."""
    step_up = np.prod([drivetrain.step_up(stage) for stage in turbine.drivetrain])
    rotor = turbine.rotor
    weight = drivetrain.OVERHANG * GRAVITY * (rotor.blade_count * blades.blade_mass(rotor).mass + rotor.hub.mass)
    bearing = drivetrain.bearing_friction(turbine.bearing, weight)
    total = step_up * data.friction.number + bearing.number
    spread = np.hypot(step_up * data.friction.sigma, bearing.sigma)
    return max(_LEAST_FRICTION_DOUBT, float(spread / total)) if total else _LEAST_FRICTION_DOUBT


def _teeth_doubt(stages):
    doubts = [0.0]
    for stage in stages:
        if stage.kind == "belt":
            doubts.append(_BELT_DOUBT)
        else:
            doubts.append(max(_TEETH_DOUBT, gear_friction.tooth_friction(stage.teeth).relative))
    return max(doubts)
