"""Learn from the team's readings: the most probable factors, and how sure we are of them now."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.measure import readings as measured
from whirlbench.parts.load import Resistor
from whirlbench.predict import turbine as whole
from whirlbench.predict.world import FACTORS, Beliefs, Worlds

_MODEL_DOUBT = 0.03  # what a steady model misses even with the right factors, relative: judgement
_START_DOUBT = 0.3
_STEP = 1e-3
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
    """

    row: int
    quantity: str
    read: float
    before: float
    after: float


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
    sigma = np.sqrt(np.diag(prior.covariance))
    active = np.nonzero(sigma > 0)[0]
    asked = [case for case in _cases(turbine, readings) if case]

    def worlds(points):
        table = np.tile(prior.mean, (len(points), 1))
        table[:, active] += np.asarray(points) * sigma[active]
        return Worlds(table)

    def residuals(points):
        set_of = worlds(points)
        parts = [case.residual(set_of) for case in asked]
        return np.concatenate([*parts, np.asarray(points).T]).T

    def slopes(point):
        nudged = point + _STEP * np.eye(len(active))
        both = residuals(np.vstack([point, nudged]))
        return (both[1:] - both[0]).T / _STEP

    start = np.zeros(len(active))
    found = least_squares(lambda point: residuals(point[None])[0], start, jac=slopes, method="trf", max_nfev=40)
    curvature = np.linalg.inv(found.jac.T @ found.jac)
    covariance = np.zeros_like(prior.covariance)
    covariance[np.ix_(active, active)] = curvature * np.outer(sigma[active], sigma[active])
    mean = worlds(found.x[None]).log_factors[0]
    beliefs = Beliefs(mean, covariance)
    rows = tuple(row for case in asked for row in case.rows(worlds(start[None]), worlds(found.x[None])))
    return Fit(beliefs, prior, rows, *_told(prior, beliefs, active))


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


@dataclass(frozen=True)
class _AtTheFan:
    """One reading of a turning or resting rotor."""

    turbine: object
    reading: object

    def _states(self, worlds):
        assembly = whole.assemble(self.turbine, worlds)
        return whole.predict(assembly, self.reading.wind_speed)

    def _quantities(self):
        doubts = measured.doubts()
        for name, key in (("voltage", "voltage"), ("current", "voltage"), ("rotor_speed", "rotor_speed")):
            value = getattr(self.reading, name)
            if value:
                yield name, value, np.hypot(doubts[key], _MODEL_DOUBT)

    def _nearer(self, found):
        """The state that was read: after a push if that is nearer."""
        quantities = list(self._quantities())
        if not quantities:
            return found.rest
        name, value, _ = quantities[0]
        gaps = [_log_gap(getattr(state, name)[:1], value)[0] for state in (found.rest, found.pushed)]
        return found.rest if abs(gaps[0]) <= abs(gaps[1]) and not self.reading.pushed else found.pushed

    def residual(self, worlds):
        found = self._states(worlds)
        state = self._nearer(found)
        parts = [_log_gap(getattr(state, name), value) / doubt for name, value, doubt in self._quantities()]
        if not self.reading.pushed:
            margin = np.log(np.maximum(found.standstill, 1e-12) / worlds.factor("start")[:, 0] / found.breakaway)
            turned = bool(parts)
            parts.append(np.maximum(-margin if turned else margin, 0.0) / _START_DOUBT)
        return np.array(parts).reshape(len(parts), len(worlds))

    def rows(self, before, after):
        found = [self._states(worlds) for worlds in (before, after)]
        states = [self._nearer(one) for one in found]
        line = self.reading.row
        for name, value, _ in self._quantities():
            yield FitRow(line, name, value, *(float(getattr(state, name)[0]) for state in states))
        if not list(self._quantities()):
            yield FitRow(line, "start", 0.0, *(float(one.starts[0]) for one in found))


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

    def residual(self, worlds):
        doubt = np.hypot(measured.doubts()["tip_deflection"], _MODEL_DOUBT)
        return _log_gap(self._way(worlds), self.reading.tip_deflection)[None] / doubt

    def rows(self, before, after):
        ways = (float(self._way(worlds)[0]) for worlds in (before, after))
        yield FitRow(self.reading.row, "tip_deflection", self.reading.tip_deflection, *ways)


def _cases(turbine, readings):
    foot = whole.stand.stand(turbine.tower, turbine.base)
    for reading in readings:
        if reading.wind_speed is not None:
            speed = reading.wind_speed
            built = whole.settled(turbine, speed)
            if reading.load_resistance is not None:
                built = built.changed(load=Resistor(resistance=reading.load_resistance))
            yield _AtTheFan(built, reading)
        if reading.tip_force and reading.tip_deflection:
            yield _TowerPull(foot, reading)


def _log_gap(predicted, read):
    return np.log(np.maximum(predicted, _FLOOR * read) / read)


def narrowed(fit, names):
    """Beliefs in which some factors are known exactly: what a perfect test of them would leave.

    Parameters
    ----------
    fit : Fit
        Beliefs now.
    names : sequence of str
        Factors to take as known.

    Returns
    -------
    Beliefs
        Conditional covariance.
    """
    known = [FACTORS.index(name) for name in names]
    rest = [i for i in range(len(FACTORS)) if i not in known]
    covariance = fit.beliefs.covariance
    inner = covariance[np.ix_(known, known)] + 1e-12 * np.eye(len(known))
    cross = covariance[np.ix_(rest, known)]
    left = np.zeros_like(covariance)
    left[np.ix_(rest, rest)] = covariance[np.ix_(rest, rest)] - cross @ np.linalg.solve(inner, cross.T)
    return replace(fit.beliefs, covariance=left)
