"""Lines, planes and curves through readings, with the doubt of every coefficient."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError


@dataclass(frozen=True)
class Fit:
    """What a least-squares fit found.

    Attributes
    ----------
    coefficients, sigmas : array, shape (p,)
        Best estimates and their standard uncertainties.
    covariance : array, shape (p, p)
        Of the coefficients.
    residuals : array, shape (n,)
        Reading minus fit.
    scatter : float
        Standard deviation of one reading about the fit.
    freedom : int
        Readings less coefficients.
    explained : float
        Share of the readings' variance that the fit explains, R squared [-].
    """

    coefficients: np.ndarray
    sigmas: np.ndarray
    covariance: np.ndarray
    residuals: np.ndarray
    scatter: float
    freedom: int
    explained: float


def straight_line(places, readings):
    """Straight line through readings: its height at 0 and its slope.

    Parameters
    ----------
    places, readings : sequence of float
        Three or more pairs.

    Returns
    -------
    Fit
        Two coefficients: height at 0, slope.
    """
    places = np.asarray(places, dtype=float)
    return linear([np.ones_like(places), places], readings)


def proportional(places, readings):
    """Straight line through the origin.

    Parameters
    ----------
    places, readings : sequence of float
        Two or more pairs.

    Returns
    -------
    Fit
        One coefficient, the slope; ``explained`` counts from 0, not from the mean.
    """
    return linear([places], readings)


def linear(columns, readings):
    """Least-squares sum of columns times coefficients.

    Parameters
    ----------
    columns : sequence of sequence of float
        One a coefficient; a column of ones gives the height at 0.
    readings : sequence of float
        More than there are columns.

    Returns
    -------
    Fit
        A coefficient a column.

    Raises
    ------
    InputError
        Too few readings, or columns that cannot be told apart.

    Notes
    -----
    Householder QR of columns scaled to length 1. The normal equations lose half of all digits.
    """
    design = np.array(columns, dtype=float).T
    readings = np.asarray(readings, dtype=float)
    _enough(len(readings), design.shape[1])
    lengths = np.linalg.norm(design, axis=0)
    if not lengths.all():
        raise _not_told_apart()
    q, r = np.linalg.qr(design / lengths)
    if np.linalg.cond(r) > 1e12:
        raise _not_told_apart()
    coefficients = np.linalg.solve(r, q.T @ readings) / lengths
    root = np.linalg.inv(r) / lengths[:, None]
    constant = bool((np.ptp(design, axis=0) == 0).any())
    return _fit(coefficients, root @ root.T, readings - design @ coefficients, readings, constant=constant)


def curve(formula, start, places, readings):
    """Least-squares curve through readings.

    Parameters
    ----------
    formula : callable
        Takes places and coefficients, gives what should be read.
    start : sequence of float
        A first guess of every coefficient, none of them 0: it also says how large each is.
    places, readings : sequence of float
        More pairs than there are coefficients.

    Returns
    -------
    Fit
        The coefficients.

    Raises
    ------
    InputError
        Too few readings, a first guess of 0, a fit that came to no end, or coefficients that cannot be told apart.

    Notes
    -----
    Coefficients are scaled to 1 twice: the library's step of the finite differences is not small against a
    coefficient far below 1, which costs the standard uncertainties most of their digits.
    """
    from scipy.optimize import least_squares

    scale = np.asarray(start, dtype=float)
    places, readings = np.asarray(places, dtype=float), np.asarray(readings, dtype=float)
    _enough(len(readings), len(scale))
    for _ in range(2):  # the second time from where the first ended
        if not scale.all():
            raise InputError("first guess", "0", "the rough size of every coefficient", try_="a number of that size")
        found = least_squares(
            lambda x, scale=scale: formula(places, *(scale * x)) - readings,
            np.ones_like(scale),
            jac="3-point",
            xtol=1e-15,
            ftol=1e-15,
            gtol=1e-15,
            max_nfev=2000,
        )
        if found.status <= 0:
            raise InputError("curve", "a fit without an end", "a better first guess", try_="plot the guess first")
        scale = scale * found.x
    r = np.linalg.qr(found.jac, mode="r")
    if np.linalg.cond(r) > 1e10:
        raise _not_told_apart()
    root = np.linalg.inv(r) * (scale / found.x)[:, None]
    return _fit(scale, root @ root.T, -found.fun, readings, constant=True)


def _enough(count, coefficients):
    if count <= coefficients:
        needs = f"{coefficients + 1} or more for {coefficients} coefficients"
        raise InputError("readings", f"{count} readings", needs, try_="take more readings, spread wide")


def _not_told_apart():
    needs = "readings that tell the coefficients apart"
    return InputError("readings", "readings too much alike", needs, try_="spread them over a wider range")


def _fit(coefficients, unscaled, residuals, readings, *, constant):
    freedom = len(readings) - len(coefficients)
    rest = float(residuals @ residuals)
    centre = readings.mean() if constant else 0.0
    total = float(np.sum((readings - centre) ** 2))
    covariance = unscaled * rest / freedom
    sigmas = np.sqrt(np.diag(covariance))
    scatter = math.sqrt(rest / freedom)
    return Fit(coefficients, sigmas, covariance, residuals, scatter, freedom, 1 - rest / total if total else 1.0)
