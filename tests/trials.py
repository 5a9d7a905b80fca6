"""Invented runs of a plan: blocks that differ, one gain, and noise of a wanted kind."""

import numpy as np

from whirlbench.measure.runs import Runs

POWER = 0.08  # [W] of the starter build


def _noise(kind, generator, count):
    if kind == "gusts":  # skewness 1
        return (generator.gamma(4, size=count) - 4) / 2
    return generator.normal(size=count)


def outcomes(plan, generator, *, gain=0.0, scatter=0.04, noise="normal"):
    """Powers of a plan's runs; the last level of the first factor is better by ``gain``."""
    blocks = generator.normal(0, 0.1, plan.blocks + 1)
    best = plan.factors[0].levels[-1]
    runs = plan.test_runs
    means = np.array([1 + gain * (run.settings[0] == best) + blocks[run.block] for run in runs])
    return POWER * (means + scatter * _noise(noise, generator, len(runs)))


def runs_of(plan, powers):
    """The plan's runs with these powers."""
    runs = plan.test_runs
    labels = {factor.name: tuple(run.settings[i] for run in runs) for i, factor in enumerate(plan.factors)}
    blocks = tuple(str(run.block) for run in runs) if plan.blocks > 1 else ()
    return Runs(tuple(powers), labels, {factor.name: factor.levels for factor in plan.factors}, blocks)
