"""What a build is worth: watts at the load in every believed world, starts and stands counted."""

import functools
import zlib
from dataclasses import dataclass, replace

import numpy as np

from whirlbench.advise import carry
from whirlbench.parts.load import Resistor
from whirlbench.predict import chains, generator, wind, world
from whirlbench.predict import turbine as whole
from whirlbench.predict.spin_up import spin_up

_BUILD_SCATTER = 0.03  # two builds of one drawing differ by about this much in power: common practice
_STATIONS = 20  # some 0.3 % of power off 30 stations, before and after a move alike
_SHARED_SEED, _SCATTER_SEED = 7, 11
_TINY = 1e-18  # what a factor without doubt is doubted


@dataclass(frozen=True)
class Worth:
    """A build in every world; arrays of shape (n,).

    Attributes
    ----------
    power : array
        Mean scored power over the scored winds; 0 where it does not start or stand although it must [W].
    starts, stands : array of bool
        Breaks away by itself in every scored wind; neither slides nor tips.
    assembly : Assembly
        Its numbers.
    predictions : tuple of Prediction
        One a scored wind.
    """

    power: np.ndarray
    starts: np.ndarray
    stands: np.ndarray
    assembly: object
    predictions: tuple

    @property
    def curves(self):
        """Rotor torque over speed, one MetCurve a scored wind."""
        return tuple(one.curve for one in self.predictions)


@dataclass(frozen=True)
class Sketch:
    """A build before anything is balanced: enough for its power with any load by straight lines.

    Attributes
    ----------
    assembly : Assembly
        Its numbers.
    curves : tuple of MetCurve
        One a scored wind.
    """

    assembly: object
    curves: tuple


class Scorer:
    """Values builds in the winds and by the rules of one event, and remembers rotors already solved.

    Parameters
    ----------
    event : Event or None
        Scored winds, whether it must start, power or energy; without it the turbine's own wind and a start by itself.
    wind_speeds : sequence of float
        Winds to score in instead [m/s].
    """

    def __init__(self, event=None, wind_speeds=()):
        self.event = event
        self.wind_speeds = tuple(wind_speeds) or (event.wind_speeds if event is not None else ())
        self._rotors = {}

    def winds(self, turbine):
        """Scored winds over the disc of a build.

        Parameters
        ----------
        turbine : Turbine
            The build.

        Returns
        -------
        list of float
            [m/s].
        """
        if self.wind_speeds:
            return list(self.wind_speeds)
        return [wind.disc_speed(turbine.wind, turbine.rotor.radius).number]

    def worth(self, turbine, worlds):
        """Power of a build in every world.

        Parameters
        ----------
        turbine : Turbine
            The build, its load settled.
        worlds : Worlds
            The believed worlds.

        Returns
        -------
        Worth
            Watts, starts and stands.
        """
        assembly = whole.assemble(turbine, worlds, _STATIONS)
        predictions = tuple(
            whole.predict(assembly, speed, self._rotor(assembly, speed, worlds)) for speed in self.winds(turbine)
        )
        return self._judged(assembly, predictions)

    def sketch(self, turbine, worlds):
        """Rotor curves of a build, which is what takes a screening of many moves to their power.

        Parameters
        ----------
        turbine : Turbine
            The build, its load settled.
        worlds : Worlds
            The believed worlds; one is enough.

        Returns
        -------
        Sketch
            For ``by_load`` and ``best_load``.
        """
        assembly = whole.assemble(turbine, worlds, _STATIONS)
        solved = (self._rotor(assembly, speed, worlds) for speed in self.winds(turbine))
        return Sketch(assembly, tuple(whole.curve_in_wind(assembly, rotor) for rotor in solved))

    def by_load(self, build, resistances):
        """Best-estimate power of a build with each of several resistors.

        Parameters
        ----------
        build : Worth or Sketch
            The build, with any load.
        resistances : sequence of float, length k
            [ohm].

        Returns
        -------
        array, shape (k,)
            [W]; neither slides nor tips is not asked again.
        """
        must_start = self.event is None or self.event.must_start
        table, machine = chains.train_table([build.assembly.train]), build.assembly.machine
        found = [chains.settled(curve, table, machine, resistances, pushed=not must_start) for curve in build.curves]
        return np.mean([one.power[0] for one in found], axis=0)

    def best_load(self, build, resistances):
        """Resistor that suits a build better than the one it has, where that clearly pays.

        Parameters
        ----------
        build : Worth or Sketch
            The build, with the resistor it has.
        resistances : sequence of float
            What the bin offers [ohm].

        Returns
        -------
        tuple of float or None, and float
            The resistor that gives a tenth more [ohm], None where there is none; and best-estimate power with it, or
            with the load as it is [W].
        """
        part = build.assembly.turbine.load
        offered = () if part.kind == "leds" else resistances
        watts = self.by_load(build, [generator.load_numbers(part)[0], *offered])
        best = int(np.argmax(watts))
        if best and watts[best] > 1.1 * watts[0] + 1e-6:
            return float(offered[best - 1]), float(watts[best])
        return None, float(watts[0])

    def with_best_load(self, worth, resistances):
        """Build with its resistor exchanged where that clearly pays.

        Parameters
        ----------
        worth : Worth
            The build, valued with the resistor it has.
        resistances : sequence of float
            What the bin offers [ohm].

        Returns
        -------
        Turbine
            The same, or with the best resistor where that gives a tenth more.
        """
        ohms, _ = self.best_load(worth, resistances)
        turbine = worth.assembly.turbine
        return turbine if ohms is None else turbine.changed(load=Resistor(resistance=ohms))

    def _rotor(self, assembly, speed, worlds):
        """Solved rotor, remembered; tower and base do not matter to it."""
        part = assembly.turbine
        key = (part.rotor, part.wind.flow, part.air, speed, worlds.rotor_key)
        if key not in self._rotors:
            self._rotors[key] = whole.rotor_in_wind(assembly, speed)
        return self._rotors[key]

    def _judged(self, assembly, predictions):
        must_start = self.event is None or self.event.must_start
        power, starts, stands = [], [], []
        for found in predictions:
            state = found.rest if must_start else found.pushed
            thrust = state.thrust[:, None]
            sliding = assembly.stand.sliding_safety(thrust, assembly.worlds)
            standing = (np.minimum(sliding, assembly.stand.tipping_safety(thrust)) >= 1.0)[:, 0]
            power.append(np.where(standing, state.power, 0.0) * self._run_share(assembly, found))
            starts.append(found.starts)
            stands.append(standing)
        return Worth(np.mean(power, axis=0), np.all(starts, axis=0), np.all(stands, axis=0), assembly, predictions)

    def _run_share(self, assembly, found):
        """Energy over the scored window as a share of steady power times the window."""
        steady = float(found.rest.power[0])
        if self.event is None or self.event.score == "power" or steady <= 0:
            return 1.0
        return spin_up(assembly, found, self.event.window).energy / (steady * self.event.window)


def fresh_worlds(worlds, turbine, names, part=""):
    """Worlds in which some factors are drawn anew: a new part is not the one that was read.

    Parameters
    ----------
    worlds : Worlds
        Belief about the turbine as it is, in mirrored pairs after the first.
    turbine : Turbine
        The turbine after the change.
    names : sequence of str
        Factors that the change replaces.
    part : str
        What the new part is called: the same part has the same doubt wherever it turns up.

    Returns
    -------
    Worlds
        The other factors stay, so what is common to both builds cancels in a gain.

    Notes
    -----
    Half of a new part's doubt is shared by all new parts, since one model or catalogue speaks for them all, half is
    its own (judgement), and what was read of one section tells of the others. A part that an earlier build was read
    with is as that reading left it.
    """
    if not names:
        return worlds
    table, places = worlds.log_factors.copy(), [world.FACTORS.index(name) for name in names]
    belief, own_seed = carry.unread(worlds.lessons, turbine), zlib.crc32(part.encode())
    root = np.linalg.cholesky(belief.covariance[np.ix_(places, places)] + _TINY * np.eye(len(places)))
    drawn = [_mirrored(len(table), _SHARED_SEED, i) + _mirrored(len(table), own_seed, i) for i in places]
    table[:, places] = belief.mean[places] + np.column_stack(drawn) @ root.T / np.sqrt(2)
    for one in carry.known(worlds.lessons, turbine, names):
        table[:, one.places] = np.resize(one.log_factors, (len(table), one.places.size))
    return replace(worlds, log_factors=table)


def build_scatter(count, part=""):
    """Factors by which a freshly made part misses its drawing.

    Parameters
    ----------
    count : int
        Number of worlds.
    part : str
        What the part is called.

    Returns
    -------
    array, shape (count,)
        [-], the first 1.
    """
    return np.exp(_BUILD_SCATTER * _mirrored(count, _SCATTER_SEED, zlib.crc32(part.encode())))


@functools.lru_cache(maxsize=1024)  # asked for every build that a search looks at
def _mirrored(count, *seed):
    """Draws of unit spread, mirrored in pairs after a first 0."""
    half = np.random.default_rng(seed).standard_normal((count - 1) // 2)
    if half.size > 1:
        half = half / np.sqrt(np.mean(half**2))
    return np.concatenate([[0.0], half, -half])[:count]
