"""Polar tables of blade sections: lift and drag over all angles, and how far to trust them."""

import functools
from dataclasses import dataclass, replace

import numpy as np

from whirlbench import tables
from whirlbench.errors import InputError, UnknownKey, nearest

ALPHA_DEG = np.unique(
    np.concatenate(
        [
            np.arange(-180, -29, 5),
            np.arange(-30, -11, 2),
            np.arange(-12, 24.5, 0.5),
            np.arange(24, 41, 2),
            np.arange(40, 181, 5),
        ]
    )
).astype(float)
LOG_REYNOLDS = np.linspace(np.log(5e3), np.log(5e5), 24)

_ATTACHED = 15.0  # [deg] up to here an adjustment acts in full
_DEEP = 35.0  # [deg] from here on it acts with the reduced weight
_ACROSS = 75.0  # [deg] beyond it a plate is a plate, however its stall came
_DEEP_WEIGHT = 0.4  # judgement: deep stall is known to about 18 %, attached drag at low Reynolds number to 30-45 %
_LEAST_STALL_DOUBT = 0.05
_RAMP = 0.85  # doubt bands meet in a short ramp instead of a step, so that a result does not jump with the wind


@dataclass(frozen=True, eq=False)
class PolarTable:
    """Lift and drag coefficients of one section on a grid of angle and Reynolds number.

    Attributes
    ----------
    alpha_deg : array, shape (n_alpha,)
        Angles from -180 to 180, rising, all multiples of 0.5 [deg].
    log_reynolds : array, shape (n_re,)
        Natural logarithm of the chord Reynolds number, evenly spaced [-].
    cl, cd : array, shape (n_re, n_alpha)
        Lift and drag coefficient; drag above 0 [-].
    name : str
        What the section is called.
    source : str
        Where the numbers come from.
    kind : str
        Row of the doubt table that speaks for this section.
    """

    alpha_deg: np.ndarray
    log_reynolds: np.ndarray
    cl: np.ndarray
    cd: np.ndarray
    name: str
    source: str
    kind: str

    def __post_init__(self):
        shape = (len(self.log_reynolds), len(self.alpha_deg))
        if self.cl.shape != shape or self.cd.shape != shape:
            raise InputError(
                f"polar of {self.name}", f"shape {self.cl.shape}", f"shape {shape}", try_="one row a Reynolds number"
            )
        if not (np.isfinite(self.cl).all() and np.isfinite(self.cd).all() and (self.cd > 0).all()):
            raise InputError(
                f"polar of {self.name}",
                "a gap or a drag of 0 or less",
                "finite numbers, drag above 0",
                try_="check the table",
            )

    def at(self, alpha, reynolds):
        """Lift and drag coefficient between the knots.

        Parameters
        ----------
        alpha : float or array
            Angle of attack; any turn of the circle [rad].
        reynolds : float or array, broadcast with ``alpha``
            Chord Reynolds number; taken to the nearest end of the table outside it [-].

        Returns
        -------
        tuple of array
            Lift and drag coefficient [-].

        Notes
        -----
        Bilinear in angle and ln Re, on the lift and on the logarithm of the drag.
        """
        degrees = (np.degrees(alpha) + 180.0) % 360.0 - 180.0
        right = np.clip(np.searchsorted(self.alpha_deg, degrees, side="right"), 1, len(self.alpha_deg) - 1)
        left = right - 1
        across = (degrees - self.alpha_deg[left]) / (self.alpha_deg[right] - self.alpha_deg[left])
        step = self.log_reynolds[1] - self.log_reynolds[0]
        row = np.clip((np.log(reynolds) - self.log_reynolds[0]) / step, 0.0, len(self.log_reynolds) - 1.0)
        low = np.minimum(row.astype(int), len(self.log_reynolds) - 2)
        up = row - low

        def between(grid):
            lower = (1 - across) * grid(low, left) + across * grid(low, right)
            upper = (1 - across) * grid(low + 1, left) + across * grid(low + 1, right)
            return (1 - up) * lower + up * upper

        return between(lambda i, j: self.cl[i, j]), np.exp(between(lambda i, j: np.log(self.cd[i, j])))

    def adjusted(self, *, lift=1.0, drag=1.0, stall=1.0):
        """Table of the same section with lift, drag and stall moved, for another believed world.

        Parameters
        ----------
        lift, drag : float
            Factors on attached lift and drag [-].
        stall : float
            Factor on the angle up to which lift goes on growing, and so on the greatest lift [-].

        Returns
        -------
        PolarTable
            The scaled table.

        Notes
        -----
        The factors act in full within 15 deg of the chord line and fade to 0.4 of their effect at 35 deg and beyond:
        deep stall is better known than attached flow at low Reynolds number, and not by the same cause.
        The weight 0.4 is judgement; no published check found.
        """
        weight = attached_weight(self.alpha_deg)
        table = self if stall == 1.0 else self._stretched(stall)
        return replace(table, cl=table.cl * (1.0 + (lift - 1.0) * weight), cd=table.cd * drag**weight)

    def _stretched(self, stall):
        """Table drawn out along the angle, slope of lift kept; flow along or across the chord stays as it is."""
        away = np.abs(self.alpha_deg)
        stretch = stall ** (1.0 - np.clip((away - _DEEP) / (_ACROSS - _DEEP), 0.0, 1.0))
        seen = self.alpha_deg / stretch
        right = np.clip(np.searchsorted(self.alpha_deg, seen, side="right"), 1, len(self.alpha_deg) - 1)
        share = (seen - self.alpha_deg[right - 1]) / (self.alpha_deg[right] - self.alpha_deg[right - 1])

        def at(grid):
            return (1 - share) * grid[:, right - 1] + share * grid[:, right]

        return replace(self, cl=at(self.cl) * stretch, cd=at(self.cd))


def attached_weight(alpha_deg):
    """Share of an adjustment of attached flow that acts at an angle.

    Parameters
    ----------
    alpha_deg : float or array
        Angle of attack [deg].

    Returns
    -------
    float or array, shape of ``alpha_deg``
        1 within 15 deg, 0.4 from 35 deg on, smooth between [-].
    """
    deep = np.clip((np.abs(alpha_deg) - _ATTACHED) / (_DEEP - _ATTACHED), 0.0, 1.0)
    return 1.0 - (1.0 - _DEEP_WEIGHT) * deep**2 * (3.0 - 2.0 * deep)


def lift_doubt(kind, reynolds):
    """Relative standard uncertainty of attached lift.

    Parameters
    ----------
    kind : str
        Section kind, a row name of ``tables/sections/doubt.csv``.
    reynolds : float or array
        Chord Reynolds number [-].

    Returns
    -------
    array, shape of ``reynolds``
        One sigma over the lift [-].

    Raises
    ------
    UnknownKey
        No such section kind.

    Notes
    -----
    The bands are judgement from the misses against tunnel data; see the table.
    """
    return _doubt(kind, reynolds, "lift_slope")


def stall_doubt(kind, reynolds):
    """Relative standard uncertainty of the angle of stall.

    Parameters
    ----------
    kind : str
        Section kind, a row name of ``tables/sections/doubt.csv``.
    reynolds : float or array
        Chord Reynolds number [-].

    Returns
    -------
    array, shape of ``reynolds``
        One sigma over the angle [-].

    Raises
    ------
    UnknownKey
        No such section kind.

    Notes
    -----
    What the doubt of a greatest lift of 1 leaves over beyond that of the lift itself, and no less than 0.05
    (judgement).
    """
    whole, lift = lift_max_doubt(kind, reynolds, lift_max=1.0), lift_doubt(kind, reynolds)
    return np.maximum(np.sqrt(np.maximum(whole**2 - lift**2, 0.0)), _LEAST_STALL_DOUBT)


def lift_max_doubt(kind, reynolds, *, lift_max):
    """Standard uncertainty of the greatest lift coefficient.

    Parameters
    ----------
    kind : str
        Section kind, a row name of ``tables/sections/doubt.csv``.
    reynolds : float or array
        Chord Reynolds number [-].
    lift_max : float or array
        The greatest lift coefficient in question [-].

    Returns
    -------
    array, shape of the inputs
        One sigma of the lift coefficient [-].

    Raises
    ------
    UnknownKey
        No such section kind.
    """
    return _doubt(kind, reynolds, "lift_max_relative") * lift_max + _doubt(kind, reynolds, "lift_max_absolute")


def drag_doubt(kind, reynolds):
    """Standard uncertainty of the logarithm of attached drag.

    Parameters
    ----------
    kind : str
        Section kind, a row name of ``tables/sections/doubt.csv``.
    reynolds : float or array
        Chord Reynolds number [-].

    Returns
    -------
    array, shape of ``reynolds``
        Half the width of the band in ln Cd [-].

    Raises
    ------
    UnknownKey
        No such section kind.

    Notes
    -----
    A skewed band (bent sheet is likely better than the model) keeps its width here; `drag_band` has both ends.
    """
    low, high = drag_band(kind, reynolds)
    return 0.5 * np.log(high / low)


def drag_band(kind, reynolds):
    """Lower and upper factor of the one-sigma band of attached drag.

    Parameters
    ----------
    kind : str
        Section kind, a row name of ``tables/sections/doubt.csv``.
    reynolds : float or array
        Chord Reynolds number [-].

    Returns
    -------
    tuple of array, shape of ``reynolds``
        Factors on the drag of the table [-].

    Raises
    ------
    UnknownKey
        No such section kind.
    """
    return _doubt(kind, reynolds, "drag_low"), _doubt(kind, reynolds, "drag_high")


def known_bias(kind, reynolds):
    """What a polar of this kind is known to read too high, as taken off by `airfoil`.

    Parameters
    ----------
    kind : str
        Section kind, a row name of ``tables/sections/doubt.csv``.
    reynolds : float or array
        Chord Reynolds number [-].

    Returns
    -------
    tuple of array, shape of ``reynolds``
        Excess of the greatest lift coefficient, and factor on the drag [-].

    Raises
    ------
    UnknownKey
        No such section kind.
    """
    return _doubt(kind, reynolds, "lift_max_excess"), _doubt(kind, reynolds, "drag_excess")


def _doubt(kind, reynolds, column):
    log_reynolds, columns = _bands(kind)
    return np.interp(np.log(reynolds), log_reynolds, columns[column])


@functools.cache
def _bands(kind):
    table = tables.load("sections/doubt")
    rows = [row for row in table.rows if row.kind == kind]
    if not rows:
        raise UnknownKey(
            "section kind", f"'{kind}'", "a known kind", try_=nearest(kind, {row.kind for row in table.rows})
        )
    edges = [edge for row in rows for edge in (row.reynolds_low / _RAMP, row.reynolds_high * _RAMP)]
    return np.log(edges), {column: np.repeat([getattr(row, column) for row in rows], 2) for column in _COLUMNS}


_COLUMNS = (
    "lift_slope",
    "lift_max_relative",
    "lift_max_absolute",
    "drag_low",
    "drag_high",
    "lift_max_excess",
    "drag_excess",
)
