"""Worlds that agree with what was read: a turbine seen running is not believed to crawl."""

import itertools

import numpy as np

from whirlbench.advise.calibrate import cases
from whirlbench.predict import world

_MISS = 4.0  # doubts of a reading by which a world may miss it, beyond what the best estimate misses
_MANY = 5  # times as many worlds are drawn where some do not agree


def worlds_after(fit, turbine, readings, *, count=world.COUNT, lessons=()):
    """Worlds drawn from a fit, without those that the readings rule out.

    Parameters
    ----------
    fit : Fit
        To the readings.
    turbine : Turbine
        As built.
    readings : sequence of Reading
        Those of the fit.
    count : int
        Number of worlds, odd.
    lessons : sequence of Lesson
        What readings of other builds have taught.

    Returns
    -------
    Worlds
        ``count`` worlds, the best estimate first.

    Notes
    -----
    A fit speaks of small steps around its best estimate. Where a little less lift lets the rotor fall back into stall
    some of the worlds drawn from it would not do at all what the turbine was seen doing: these are left out.
    """
    drawn = world.draw(fit.beliefs, count, lessons=lessons)
    asked = list(cases(turbine, readings))
    if not asked or (_misses(asked, drawn) <= _MISS).all():
        return drawn
    pairs = _MANY * (count - 1) // 2
    drawn = world.draw(fit.beliefs, 2 * pairs + 1, lessons=lessons)
    order = np.array([0, *itertools.chain.from_iterable((i, i + pairs) for i in range(1, pairs + 1))])
    misses = _misses(asked, drawn)[order]
    agreeing = np.flatnonzero(misses <= _MISS)
    if len(agreeing) < count:  # the nearest, where too few agree
        agreeing = np.sort(np.argsort(misses, kind="stable")[:count])
    chosen = [0, *(i for i in agreeing if i)][:count]
    return drawn.only(order[chosen])


def _misses(asked, worlds):
    """Largest miss of every world beyond that of the best estimate, in doubts."""
    missed = np.concatenate([np.abs(case.residual(worlds)) for case in asked])
    return np.max(missed - missed[:, :1], axis=0, initial=0.0)
