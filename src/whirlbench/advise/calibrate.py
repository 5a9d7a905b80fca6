"""Learn from the team's readings: the most probable factors, and how sure we are of them now."""

import functools
import math
from dataclasses import dataclass

import numpy as np

from whirlbench.measure import readings as measured
from whirlbench.parts.load import Resistor
from whirlbench.predict import balance
from whirlbench.predict import turbine as whole
from whirlbench.predict.operating import operating
from whirlbench.predict.world import FACTORS, Beliefs, Worlds

_MODEL_DOUBT = 0.03  # what a steady model misses even with the right factors, relative: judgement
_START_DOUBT = 0.1  # of the breakaway balance itself; what is not known of it is the factor "start"
_POOR = 3.0  # a reading missed by so many of its doubts calls for another look
_DRAWN, _BEGINNINGS = 48, 2  # pairs of points looked at where the search was caught, and searches begun from them
_SLOW = 0.7  # a turbine seen at this share of a speed or above was in that state
_STEP = 1e-3
_STATIONS = 20
_FLOOR = 1e-3  # a predicted standstill counts as this share of what was read, so that the fit sees a number
_LEARNED = 0.8
_TIED = 0.9


@dataclass(frozen=True)
class Fit:
    """What readings taught.

    Attributes
    ----------
    beliefs : Beliefs
        Posterior.
    prior : Beliefs
        Before the readings.
    rows : tuple of FitRow
        Read against predicted, before and after.
    learned, unlearned : tuple of str
        Factors that the readings narrowed, and those they did not.
    tied : tuple of pair of str
        Factors that these readings cannot tell apart.
    """

    beliefs: Beliefs
    prior: Beliefs
    rows: tuple
    learned: tuple
    unlearned: tuple
    tied: tuple


@dataclass(frozen=True)
class FitRow:
    """One number that was read against what the model says.

    Attributes
    ----------
    row : int
        Line in the file.
    quantity : str
        voltage, current, rotor_speed, tip_deflection or start.
    read, before, after : float
        SI; for a start 1 turned, 0 stayed at rest.
    doubt : float
        Relative standard uncertainty of reading and steady model together [-]; 0 for a start.
    """

    row: int
    quantity: str
    read: float
    before: float
    after: float
    doubt: float = 0.0

    @property
    def gaps(self):
        """How far the model misses the reading before and after, in doubts of the reading [-]; of a start None."""
        if not self.doubt:
            return None, None
        logs = (float(_log_gap(np.float64(number), self.read)) for number in (self.before, self.after))
        return tuple(log / self.doubt for log in logs)


def calibrate(turbine, readings, prior=None):
    """Most probable factors given the readings, with their covariance.

    Parameters
    ----------
    turbine : Turbine
        The turbine as built; the readings' own loads take the place of its load.
    readings : sequence of Reading
        At the fan, and pulls on the tower.
    prior : Beliefs, optional
        Without it the doubts of the parts.

    Returns
    -------
    Fit
        Posterior and what stands behind it.

    Notes
    -----
    Maximum a posteriori by damped least squares on logarithms, each reading with its own doubt and 3 % for what a
    steady model misses; covariance from the curvature at the top. The state (from rest or after a push) nearer to a
    reading is taken as the one that was read.
    """
    from scipy.optimize import least_squares

    prior = prior or whole.priors(turbine)
    active = np.nonzero(np.diag(prior.covariance) > 0)[0]
    root = _root(prior.covariance)  # what is believed is spread by 1 along each of its columns
    asked = list(cases(turbine, readings))

    def worlds(points):
        return Worlds(prior.mean + np.asarray(points) @ root.T)

    def residuals(points):
        set_of = worlds(points)
        parts = [case.residual(set_of) for case in asked]
        return np.concatenate([*parts, np.asarray(points).T]).T

    def slopes(point):
        nudged = point + _STEP * np.eye(point.size)
        both = residuals(np.vstack([point, nudged]))
        return (both[1:] - both[0]).T / _STEP

    start = np.zeros(root.shape[1])

    def search(begin):
        return least_squares(
            lambda point: residuals(point[None])[0], begin, jac=slopes, xtol=1e-6, ftol=1e-8, max_nfev=40
        )

    found = search(start)
    if np.abs(found.fun).max(initial=0.0) > _POOR:
        found = min(found, *map(search, _other_beginnings(residuals, start.size)), key=lambda one: one.cost)
    curvature = np.linalg.inv(found.jac.T @ found.jac)
    covariance = root @ curvature @ root.T
    mean = worlds(found.x[None]).log_factors[0]
    beliefs = Beliefs(mean, covariance)
    rows = tuple(row for case in asked for row in case.rows(worlds(start[None]), worlds(found.x[None])))
    return Fit(beliefs, prior, rows, *_told(prior, beliefs, active))


def _root(covariance):
    """Matrix with a column for each direction in which there is doubt, itself times its transpose the covariance."""
    sigma = np.sqrt(np.diag(covariance))
    scale = np.where(sigma > 0, sigma, 1.0)
    size, direction = np.linalg.eigh(covariance / np.outer(scale, scale))  # radians and factors alike
    kept = size > 1e-9
    return scale[:, None] * direction[:, kept] * np.sqrt(size[kept])


def _other_beginnings(residuals, size):
    """Points that miss least of many that are believed: a stall has two sides, and the search may be caught on one."""
    drawn = np.random.default_rng(0).standard_normal((_DRAWN, size))
    drawn = np.vstack([drawn, -drawn])
    cost = (residuals(drawn) ** 2).sum(axis=1)
    return drawn[np.argsort(cost, kind="stable")[:_BEGINNINGS]]


def _told(prior, beliefs, active):
    """Names learned, not learned, and pairs that stay tied together."""
    before, after = np.sqrt(np.diag(prior.covariance)), np.sqrt(np.diag(beliefs.covariance))
    shrunk = {i: after[i] / before[i] for i in active}
    learned = tuple(FACTORS[i] for i in active if shrunk[i] < _LEARNED)
    unlearned = tuple(FACTORS[i] for i in active if shrunk[i] >= _LEARNED)
    tied = tuple(
        (FACTORS[i], FACTORS[j])
        for i in active
        for j in active
        if i < j and abs(beliefs.covariance[i, j]) > _TIED * after[i] * after[j]
    )
    return learned, unlearned, tied


class _Rotors:
    """Rotors solved last, by wind: readings with several loads in one wind share them."""

    def __init__(self):
        self._last = {}

    def of(self, assembly, speed):
        believed = assembly.worlds.rotor_key
        seen, rotor = self._last.get(speed, (None, None))
        if seen != believed:
            rotor = whole.rotor_in_wind(assembly, speed)
            self._last[speed] = believed, rotor
        return rotor


@dataclass(frozen=True)
class _AtTheFan:
    """Readings of a turning or resting rotor in one wind with one load, repeats averaged."""

    turbine: object
    readings: tuple
    rotors: object

    def _states(self, worlds):
        """Prediction, and the states that a turning rotor can be in: up from rest, or after a push."""
        assembly = whole.assemble(self.turbine, worlds, _STATIONS)
        speed = self.readings[0].wind_speed
        found = whole.predict(assembly, speed, self.rotors.of(assembly, speed))
        train, machine = assembly.train, assembly.machine
        freed = balance.from_rest(found.curve, train, machine, balance.FREED)
        return found, operating(found.curve, freed, train, machine)

    @functools.cached_property
    def _quantities(self):
        """Name, mean and relative doubt of all that was read; volts and amps at a known load say the same once."""
        logs = {
            name: [math.log(value) for value in (getattr(one, name) for one in self.readings) if value]
            for name in ("voltage", "current", "rotor_speed")
        }
        logs.pop("current" if logs["voltage"] else "voltage")
        doubts = measured.doubts() | {"current": measured.doubts()["voltage"]}
        return tuple(
            (name, float(np.exp(np.mean(each))), np.hypot(doubts[name] / np.sqrt(len(each)), _MODEL_DOUBT))
            for name, each in logs.items()
            if each
        )

    @property
    def _pushed(self):
        return self.readings[0].pushed

    @functools.cached_property
    def _stayed(self):
        """Whether it was seen to stay at rest; a blank is no sight."""
        seen = any(one.voltage == 0 or one.rotor_speed == 0 for one in self.readings)
        return seen and not self._pushed and not self._quantities

    def _nearer(self, found, freed):
        """The state that was read: after a push if that is nearer."""
        name, value, _ = self._quantities[0]
        gaps = [_log_gap(getattr(state, name)[:1], value)[0] for state in (freed, found.pushed)]
        return freed if abs(gaps[0]) <= abs(gaps[1]) and not self._pushed else found.pushed

    def residual(self, worlds):
        return self.seen(worlds)[0]

    def seen(self, worlds):
        """How far every world misses what was read, and whether a start from rest, or none, ends there."""
        found, freed = self._states(worlds)
        parts, comes = [], np.ones(len(worlds), dtype=bool)
        if self._stayed:
            comes = ~found.starts
        if self._quantities:
            state = self._nearer(found, freed)
            if not self._pushed:  # a push leaves open what a start would have done
                comes = found.rest.rotor_speed >= _SLOW * state.rotor_speed
            parts = [_log_gap(getattr(state, name), value) / doubt for name, value, doubt in self._quantities]
        if self._stayed or (parts and not self._pushed):
            torque = np.maximum(found.standstill, 1e-12) / worlds.factor("start")[:, 0]
            margin = np.log(torque / found.breakaway)
            # what was seen must come out clearly, not on the very edge
            parts.append(np.maximum((margin if self._stayed else -margin) + _START_DOUBT, 0.0) / _START_DOUBT)
        return np.array(parts).reshape(len(parts), len(worlds)), comes

    def rows(self, before, after):
        found = [self._states(worlds) for worlds in (before, after)]
        line = self.readings[0].row
        if self._stayed:
            yield FitRow(line, "start", 0.0, *(float(one.starts[0]) for one, _ in found))
        for name, value, doubt in self._quantities:
            states = [self._nearer(*one) for one in found]
            yield FitRow(line, name, value, *(float(getattr(state, name)[0]) for state in states), doubt=float(doubt))


@dataclass(frozen=True)
class _TowerPull:
    """A sideways pull on the tower top."""

    foot: object
    reading: object

    def _way(self, worlds):
        force = np.full((len(worlds), 1), self.reading.tip_force)
        bend = force * self.foot.height**3 / (3 * self.foot.bending_stiffness)
        turn = force * self.foot.height / (self.foot.joint.number * worlds.factor("joint")) + self.foot.free_play
        return (bend + turn * self.foot.height)[:, 0]

    @property
    def _doubt(self):
        return float(np.hypot(measured.doubts()["tip_deflection"], _MODEL_DOUBT))

    def residual(self, worlds):
        return _log_gap(self._way(worlds), self.reading.tip_deflection)[None] / self._doubt

    def seen(self, worlds):
        """How far every world misses the pull, which tells nothing of a start."""
        return self.residual(worlds), np.ones(len(worlds), dtype=bool)

    def rows(self, before, after):
        ways = (float(self._way(worlds)[0]) for worlds in (before, after))
        yield FitRow(self.reading.row, "tip_deflection", self.reading.tip_deflection, *ways, doubt=self._doubt)


def cases(turbine, readings):
    """Readings gathered by wind, load and start, and the pulls on the tower.

    Parameters
    ----------
    turbine : Turbine
        As built.
    readings : sequence of Reading
        Taken of it.

    Yields
    ------
    case
        Its ``residual(worlds)`` tells how far every world misses what was read, in doubts, shape (q, n); its
        ``seen(worlds)`` the same, and whether the turbine gets there by itself, shape (n,).
    """
    foot = whole.stand.stand(turbine.tower, turbine.base)
    rotors, alike = _Rotors(), {}
    for reading in readings:
        if reading.wind_speed is not None:
            alike.setdefault((reading.wind_speed, reading.load_resistance, reading.pushed), []).append(reading)
        if reading.tip_force and reading.tip_deflection:
            yield _TowerPull(foot, reading)
    for (speed, ohms, _), group in alike.items():
        built = whole.settled(turbine, speed) if ohms is None else turbine.changed(load=Resistor(resistance=ohms))
        yield _AtTheFan(built, tuple(group), rotors)


def _log_gap(predicted, read):
    return np.log(np.maximum(predicted, _FLOOR * read) / read)
