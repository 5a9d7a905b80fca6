"""Hidden turbines: invented truths that differ from the model in kind, not only in numbers.

A truth has its own section data (another lift, another stall, another zero-lift angle, drag that grows otherwise with
Reynolds number), another friction law (Stribeck and viscous where the model has a constant), brushes that cost volts,
blades set a little wrong, play in the tower's foot, and a wind that the instrument misreads. The sizes are those that
the shipped tables declare as doubt, lift, drag and stall each at its own Reynolds number; none was chosen to suit a
result.
"""

import functools
import zlib
from dataclasses import dataclass, replace

import numpy as np

from whirlbench.measure.readings import Reading
from whirlbench.physics import section
from whirlbench.physics.circuit import electrical_state
from whirlbench.physics.rotor_kernel import STARTING
from whirlbench.predict import turbine as whole
from whirlbench.predict import wind, world
from whirlbench.predict.curve import met_curve, rotor_worlds

STATIONS = 16
REYNOLDS = 6e4  # at which drag is as drawn, whatever its trend: the middle of what such blades see
WIND_DOUBT = 0.04
ZERO_LIFT_DOUBT = 0.7  # [deg]
REYNOLDS_POWER = 0.15  # drag goes with Reynolds number to another power than in the tables
ROTOR_DOUBT = 0.04  # what blade elements miss whatever the section
PITCH_DOUBT = 1.0  # [deg] of blades set with a paper gauge
START_DOUBT = 0.3
MOST_BRUSH_DROP, MOST_PLAY = 0.1, 3.0  # [V], [deg]
FAN_NOISE, METER_NOISE = 0.01, 0.01  # of wind from run to run, of volts and speed
_SHAFT_SPEED = 150.0  # [rad/s] at which the friction of a shaft's bearings is as believed
_MOTOR_SPEED = 900.0  # [rad/s] of a motor without load, where its sheet tells its friction


@dataclass(frozen=True)
class SectionTruth:
    """How a section differs from its table.

    Attributes
    ----------
    lift, drag, stall : array, shape (n_re,)
        Factors on lift, drag and the angles of stall at the Reynolds numbers of the table [-].
    zero_lift : float
        Shift of the angle of attack [deg].
    power : float
        Power of the Reynolds number by which drag differs [-].
    """

    lift: np.ndarray
    drag: np.ndarray
    stall: np.ndarray
    zero_lift: float
    power: float

    def of(self, polar):
        """Return the true table of a section.

        Parameters
        ----------
        polar : PolarTable
            As believed.

        Returns
        -------
        PolarTable
            As it is.
        """
        alpha = polar.alpha_deg
        near = np.clip((60.0 - np.abs(alpha)) / 45.0, 0.0, 1.0)  # flat plates at large angles are alike
        lift, drag, stall = (each[:, None] ** near for each in (self.lift, self.drag, self.stall))
        seen = alpha / stall + self.zero_lift * near
        lift = np.array([np.interp(at, alpha, row) for at, row in zip(seen, polar.cl, strict=True)]) * lift * stall
        drag = np.exp([np.interp(at, alpha, row) for at, row in zip(seen, np.log(polar.cd), strict=True)]) * drag
        trend = np.exp(self.power * (polar.log_reynolds - np.log(REYNOLDS)))[:, None]
        return replace(polar, cl=lift, cd=drag * trend**near)


class Hidden:
    """One hidden truth; the same part is the same wherever it turns up.

    Parameters
    ----------
    seed : int
        Same seed, same truth.
    start : Turbine
        The build that the team begins with; its declared doubts set the sizes.
    """

    def __init__(self, seed, start):
        self.seed = seed
        draw = self._draw("the room")
        prior = whole.priors(start)
        factors = {name: draw.normal(0, prior.sigma(name)) for name in ("friction", "joint", "grip")}
        self._logs = np.array([factors.get(name, 0.0) for name in world.FACTORS])
        self.wind = float(np.exp(draw.normal(0, WIND_DOUBT)))
        self._viscous, self._stribeck = draw.uniform(0, 0.5), draw.uniform(0, 0.4)
        self._brush, self._play = draw.uniform(0, MOST_BRUSH_DROP), np.radians(draw.uniform(0, MOST_PLAY))
        self._common = draw.normal(size=5)  # half of what sections do is common to all
        self._noise = self._draw("the fan")

    def power(self, turbine):
        """Power at the load, without noise of reading [W]; 0 where it does not start."""
        return self.state(turbine)[0]

    def read(self, turbine):
        """Reading of volts and rotor speed at the turbine's own load, in the wind that the map of the fan shows."""
        speed = wind.disc_speed(turbine.wind, turbine.rotor.radius).number
        gust = float(np.exp(self._noise.normal(0, FAN_NOISE)))
        _, volts, turning = self.state(turbine, gust)
        noise = np.exp(self._noise.normal(0, METER_NOISE, 2))
        ohms = turbine.load.resistance if turbine.load.kind == "resistor" else None
        return Reading(1, speed, ohms, voltage=volts * noise[0], rotor_speed=turning * noise[1])

    def state(self, turbine, gust=1.0):
        """Power [W], volts at the load [V] and rotor speed [rad/s] of a build as it was made."""
        made = self._made(turbine)
        curve = self.curve(made, gust)
        assembly = whole.assemble(made, self.worlds(made), STATIONS)
        table = np.array([[assembly.train.step_up, *self.lines(assembly.train)]])
        machine = self.machine(assembly.machine)
        ohms, threshold = assembly.machine.circuit.load_resistance, assembly.machine.circuit.load_threshold
        _, speed = self.settled(curve, table, machine, [(ohms, threshold)])
        state = self._electrical(machine, ohms, threshold, speed[0, 0] * assembly.train.step_up)
        scatter = float(np.exp(self._draw("built", repr(turbine.rotor)).normal(0, 0.02)))
        return float(state.load_power) * scatter, float(state.voltage) * scatter**0.5, float(speed[0, 0])

    def curve(self, turbine, gust=1.0):
        """Speed, torque and standstill torque of the rotor in its true wind."""
        truth, rotor = self.worlds(turbine), turbine.rotor
        shape = _shape(rotor, turbine.wind.flow)
        polars = tuple(self._section(rotor.section).of(polar) for polar in shape.polars)
        air, believed = wind.air_data(turbine.air), wind.disc_speed(turbine.wind, rotor.radius).number
        solved = rotor_worlds(replace(shape, polars=polars), believed * self.wind * gust, air, world.best_estimate())
        foot = whole.stand.stand(turbine.tower, turbine.base)
        foot = replace(foot, free_play=foot.free_play + self._play)
        met = met_curve(solved, air, stand=foot, worlds=truth)
        factor = np.exp(self._draw("rotor", _stock(rotor.section), len(rotor.holes)).normal(0, ROTOR_DOUBT))
        return met.speed[STARTING, 0], met.torque[STARTING, 0] * factor, self._start(rotor) * met.standstill[0, 0]

    def settled(self, curve, table, machine, loads):
        """Power [W] and rotor speed [rad/s] of many drivetrains (rows: step-up, gain, offset, the same at the start)
        with many loads (resistance, threshold) on one rotor, shape (k, r)."""
        speed, torque, standstill = curve
        step_up, gain, offset, start_gain, start_offset = (column[:, None, None] for column in np.asarray(table).T)
        starts = standstill >= (start_gain * machine.breakaway + start_offset)[..., 0]
        turning = speed * step_up
        law = self._law(turning, _MOTOR_SPEED)
        powers, speeds = [], []
        for ohms, threshold in loads:
            state = self._electrical(machine, ohms, threshold, turning)
            asked = gain * (state.gap_power / np.maximum(turning, 1e-9) + machine.friction * law)
            asked = asked + offset * self._law(speed * np.sqrt(step_up), _SHAFT_SPEED)
            at = _balance(speed, torque - asked[:, 0]) * starts[:, 0]
            powers.append(self._electrical(machine, ohms, threshold, at * step_up[:, 0, 0]).load_power)
            speeds.append(at)
        return np.array(powers).T, np.array(speeds).T

    def worlds(self, turbine):
        """Return the factors of a truth on generator, teeth, friction and stand as a world."""
        prior, logs = whole.priors(turbine), self._logs.copy()
        generator = self._draw("generator", repr(turbine.generator)).normal(size=2)
        teeth = self._draw("teeth").normal()
        for name, score in (("emf", generator[0]), ("resistance", generator[1]), ("teeth", teeth)):
            logs[world.FACTORS.index(name)] = score * prior.sigma(name)
        return world.Worlds(logs[None])

    def machine(self, machine):
        """Return a machine of one world as plain numbers."""
        first = {name: float(getattr(machine, name)[0, 0]) for name in ("emf_constant", "friction", "breakaway")}
        winding = float(machine.circuit.winding_resistance[0, 0])
        return replace(machine, **first, circuit=replace(machine.circuit, winding_resistance=winding, brush_drop=0.0))

    def _electrical(self, machine, ohms, threshold, speed):
        """State of the circuit, volts of the brushes taken off; their loss is in the gap power."""
        emf = machine.emf_constant * speed
        inner = np.maximum(emf - self._brush, 0.0)
        state = electrical_state(replace(machine.circuit, load_resistance=ohms, load_threshold=threshold), inner)
        return replace(state, gap_power=state.gap_power * np.where(inner > 0, emf / np.maximum(inner, 1e-12), 0.0))

    def _law(self, speed, known):
        """Running friction as a factor on the model's constant: part grows with speed, and rubbing falls at first.

        It is as the model has it where it is known from.
        """
        rubbing = 1 + self._stribeck * (np.exp(-speed / 30.0) - np.exp(-known / 30.0))
        return rubbing + self._viscous * (speed / known - 1)

    @staticmethod
    def lines(train):
        """Gain and offset of the torque that a drivetrain asks for, running and at the start."""
        offset, one = train.upstream(0.0)[0, 0], train.upstream(1.0)[0, 0]
        start_offset, start_one = train.breakaway(0.0)[0, 0], train.breakaway(1.0)[0, 0]
        return one - offset, offset, start_one - start_offset, start_offset

    def _made(self, turbine):
        """Blades as they were set."""
        slip = np.radians(self._draw("pitch", repr(turbine.rotor)).normal(0, PITCH_DOUBT))
        return turbine.changed(rotor=turbine.rotor.changed(pitch=turbine.rotor.pitch + slip))

    def _section(self, part):
        own = self._draw("section", _stock(part)).normal(size=5)
        lift, drag, stall, zero_lift, power = (self._common + own) / np.sqrt(2)
        kind = "airfoil" if part.kind == "airfoil" else "bent sheet" if part.camber else "flat sheet"
        reynolds = np.exp(section.LOG_REYNOLDS)
        return SectionTruth(
            lift=np.exp(lift * section.lift_doubt(kind, reynolds)),
            drag=np.exp(drag * section.drag_doubt(kind, reynolds)),
            stall=np.exp(stall * section.stall_doubt(kind, reynolds)),
            zero_lift=ZERO_LIFT_DOUBT * float(zero_lift),
            power=REYNOLDS_POWER * float(power),
        )

    def _start(self, rotor):
        return float(np.exp(self._draw("start", _stock(rotor.section), len(rotor.holes)).normal(0, START_DOUBT)))

    def _draw(self, *what):
        return np.random.default_rng([self.seed, zlib.crc32("|".join(str(one) for one in what).encode())])


def _stock(part):
    """What a blade is made of, however it is bent."""
    return part.kind, getattr(part, "name", None) or getattr(part, "material", "")


def _balance(speed, surplus):
    """Speed at which the surplus torque first falls through zero, straight between nodes; 0 where it stays at rest."""
    falls = (surplus[:, :-1] > 0) & (surplus[:, 1:] <= 0)
    turning = falls.any(axis=1) & (surplus[:, 0] > 0)
    node = np.argmax(falls, axis=1)
    rows = np.arange(len(node))
    above, below = surplus[rows, node], surplus[rows, node + 1]
    share = np.where(turning, above / np.where(above == below, 1.0, above - below), 0.0)
    return np.where(turning, speed[node] + share * (speed[node + 1] - speed[node]), 0.0)


@functools.lru_cache(maxsize=256)
def _shape(rotor, flow):
    from whirlbench.predict import blades

    return blades.rotor_shape(rotor, flow, STATIONS)
