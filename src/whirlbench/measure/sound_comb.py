"""Which shaft speed explains the lines of a sound: a comb, and its rivals."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.measure.sound_lines import WIDTHS

_PASS_WEIGHTS = np.array([1.0, 0.8, 0.6, 0.5])  # blade-pass line and its harmonics
_SHAFT_WEIGHT = 0.25  # the lines between them, which uneven blades make
_BETWEEN_WEIGHT = -0.25  # no line belongs at half a shaft line: there a rotor of half the speed would have them
_STEP = 0.0004  # of the search, over the speed
_APART = 0.025  # a speed further away than this is a rival
_BLURRED = 2  # steps of the spectrum in which a line cannot be told from its neighbour
_RIVALS = 3
_NEARLY = 0.9  # a wide line explains a sharp one about as well, but up to its width aside: take the narrowest that does


@dataclass(frozen=True)
class Comb:
    """The speed with the most evidence, and the next ones.

    Attributes
    ----------
    shaft_frequency : float
        [Hz].
    blade_count : int
        Blades of the comb.
    score : float
        Sum of the evidence at its lines [-].
    width : float
        Half width of its lines over their frequency [-].
    lead : float
        Score over that of the best rival [-].
    rivals : tuple of Comb
        Best first; their ``lead`` is what the answer has more.
    """

    shaft_frequency: float
    blade_count: int
    score: float
    width: float = 0.0
    lead: float = 0.0
    rivals: tuple = ()


def best_speed(proofs, step, span, *, blade_count):
    """Shaft frequency whose comb of lines has the most evidence.

    Parameters
    ----------
    proofs : array, shape (widths, m)
        As ``sound_lines.evidence`` gives it.
    step : float
        Distance of two of its frequencies [Hz].
    span : tuple of float
        Lowest and highest shaft frequency [Hz].
    blade_count : int
        Blades.

    Returns
    -------
    Comb
        With its rivals.
    """
    grid = np.exp(np.arange(np.log(span[0]), np.log(span[1]), _STEP))
    scores = _scores(proofs, step, grid, blade_count)
    tops = scores.max(axis=1)
    narrowest = int(np.argmax(tops >= _NEARLY * tops.max()))
    width, top = WIDTHS[narrowest], scores[narrowest].copy()
    combs = []
    while len(combs) <= _RIVALS and np.isfinite(top).any():
        best = int(top.argmax())
        combs.append(Comb(float(grid[best]), blade_count, float(top[best]), width))
        blurred = _BLURRED * step / (grid[best] * blade_count)
        top[np.abs(grid / grid[best] - 1) < max(_APART, 1.5 * width, blurred)] = -np.inf
    return _ranked(combs)


def join(combs):
    """The best of several combs, the others among its rivals.

    Parameters
    ----------
    combs : sequence of Comb
        One for each blade count.

    Returns
    -------
    Comb
        With the rivals of all; a comb of other blades at the same speed is no rival.
    """
    every = sorted((each for comb in combs for each in (comb, *comb.rivals)), key=lambda comb: -comb.score)
    best = every[0]
    return _ranked(
        [best] + [each for each in every[1:] if abs(each.shaft_frequency / best.shaft_frequency - 1) > _APART]
    )


def _ranked(combs):
    best, *others = combs
    rivals = tuple(replace(each, lead=best.score - each.score, rivals=()) for each in others[:_RIVALS])
    return replace(best, rivals=rivals, lead=rivals[0].lead if rivals else 0.0)


def _scores(proofs, step, grid, blade_count):
    """Score of every line width and speed, shape (widths, speeds)."""
    passes = blade_count * np.arange(1, _PASS_WEIGHTS.size + 1)
    shaft = np.array([n for n in range(1, 2 * blade_count) if n % blade_count])
    between = np.arange(2 * blade_count) + 0.5
    score = _at(proofs, step, grid, passes) @ _PASS_WEIGHTS
    score += _SHAFT_WEIGHT * _at(proofs, step, grid, shaft).sum(axis=-1)
    return score + _BETWEEN_WEIGHT * _at(proofs, step, grid, between).sum(axis=-1)


def _at(proofs, step, grid, orders):
    """Evidence at multiples of the shaft frequency, none above the top; shape (widths, speeds, orders)."""
    place = np.rint(np.outer(grid, orders) / step).astype(int)
    last = proofs.shape[1] - 1
    return np.where(place <= last, proofs[:, np.minimum(place, last)], 0.0)
