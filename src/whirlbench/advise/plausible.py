"""Worlds that agree with what was read: a turbine seen running is not believed to crawl."""

import itertools
from dataclasses import replace

import numpy as np

from whirlbench.advise.calibrate import cases
from whirlbench.predict import world

_MISS = 4.0  # doubts of a reading by which a world may miss it, beyond what the best estimate misses
_FEW = 16  # of 321 worlds; in fewer it was rather a push that nobody wrote down (one in twenty: judgement)
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
    some of the worlds drawn from it would not do at all what the turbine was seen doing: these are left out, and so are
    those in which it does not come there by itself, unless next to none does: then somebody gave it a push, and said
    nothing. Where the best estimate is among them, the middle of those that are left takes its place.
    """
    drawn = world.draw(fit.beliefs, count, lessons=lessons)
    asked = list(cases(turbine, readings))
    if not asked or _held(asked, drawn)[1].all():
        return drawn
    pairs = _MANY * (count - 1) // 2
    drawn = world.draw(fit.beliefs, 2 * pairs + 1, lessons=lessons)
    order = np.array([0, *itertools.chain.from_iterable((i, i + pairs) for i in range(1, pairs + 1))])
    drawn = drawn.only(order)
    misses, agree = _held(asked, drawn)
    agreeing = np.flatnonzero(agree)
    if len(agreeing) < _FEW:
        agreeing = np.sort(np.argsort(misses, kind="stable")[:count])
    first = _first(asked, drawn, agreeing)
    others = np.resize(agreeing[agreeing > 0], count - 1)  # again from the front, where there are too few
    return replace(drawn, log_factors=np.vstack([first, drawn.log_factors[others]]))


def _first(asked, drawn, agreeing):
    """Best estimate: as fitted where it agrees, else the middle of those that do, else the one next to the middle."""
    if agreeing[0] == 0:
        return drawn.log_factors[0]
    left = drawn.log_factors[agreeing]
    middle, spread = left.mean(axis=0), left.std(axis=0)
    both = replace(drawn, log_factors=np.vstack([drawn.log_factors[0], middle]))
    if _held(asked, both)[1][1]:
        return middle
    away = (left - middle) / np.where(spread > 0, spread, 1.0)
    return left[np.argmin((away**2).sum(axis=1))]


def _held(asked, worlds):
    """Worlds against what was read: the largest miss beyond that of the first, in doubts, and whether each agrees."""
    seen = [case.seen(worlds) for case in asked]
    missed = np.concatenate([np.abs(residual) for residual, _ in seen])
    misses = np.max(missed - missed[:, :1], axis=0, initial=0.0)
    return misses, (misses <= _MISS) & np.all([comes for _, comes in seen], axis=0)
