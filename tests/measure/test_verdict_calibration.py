"""How often the verdict is right: nothing there is called better at most once in 20, the planned gain is seen 4 in 5.

Two-sided at 5 %: "better than the start" by luck comes out near 2.5 %, any difference near 5 %.
"""

import numpy as np
import pytest
from trials import outcomes, runs_of

from whirlbench.measure.design import design
from whirlbench.measure.plan import Factor
from whirlbench.measure.verdict import compare

COUNT = 2000
BY_LUCK = 3 * (0.05 * 0.95 / COUNT) ** 0.5  # three standard deviations of a rate that is truly 5 %
PITCH = Factor(name="pitch", levels=("8 deg", "12 deg"))
LOAD = Factor(name="load", levels=("10 ohm", "22 ohm"))
BLADES = Factor(name="blades", levels=("2", "3"))
SHEET = Factor(name="sheet", levels=("card", "balsa"))
FOUR = Factor(name="pitch", levels=("6 deg", "8 deg", "10 deg", "12 deg"))
PLANS = {
    "welch": ([PITCH], {}),
    "paired": ([PITCH], {"paired": True}),
    "blocked": ([PITCH], {"blocks": 3}),
    "tukey": ([FOUR], {}),
    "tukey in blocks": ([FOUR], {"blocks": 2}),
    "factorial": ([PITCH, LOAD, BLADES], {}),
    "factorial in blocks": ([PITCH, LOAD], {"blocks": 2}),
    "fraction": ([PITCH, LOAD, BLADES, SHEET], {"generators": ("D=ABC",)}),
    "mixed": ([FOUR, LOAD], {}),
}
GUSTS = ("welch", "paired", "tukey", "factorial")


def planned(name, gain):
    factors, more = PLANS[name]
    return design(factors, gain=gain, scatter=0.04, **more)


def rates(plan, *, gain=0.0, noise="normal", seed=5):
    """Shares of comparisons that call something better than the start, see the gain, and see any difference."""
    generator = np.random.default_rng(seed)
    counts = np.zeros(3)
    for _ in range(COUNT):
        found = compare(runs_of(plan, outcomes(plan, generator, gain=gain, noise=noise)))
        first = plan.factors[0]
        aim = (first.name, first.levels[0], first.levels[-1])
        counts += (
            bool(found.better),
            any((one.factor, one.first, one.second) == aim for one in found.better),
            any(one.verdict in ("better", "worse") for one in found.gains),
        )
    return counts / COUNT


@pytest.mark.slow
@pytest.mark.parametrize(("name", "noise"), [(n, "normal") for n in PLANS] + [(n, "gusts") for n in GUSTS])
def test_nothing_is_seldom_called_better(name, noise):
    better, _, different = rates(planned(name, 0.08), noise=noise)
    assert better <= 0.05
    assert different <= 0.05 + BY_LUCK


@pytest.mark.slow
@pytest.mark.parametrize(("name", "noise"), [(n, "normal") for n in PLANS] + [(n, "gusts") for n in GUSTS])
def test_the_planned_gain_is_seen(name, noise):
    plan = planned(name, 0.08)
    _, seen, _ = rates(plan, gain=0.08, noise=noise)
    assert seen >= 0.8
    if noise == "normal":  # and as often as the plan says, within four standard deviations
        assert seen == pytest.approx(plan.chance, abs=4 * (0.16 / COUNT) ** 0.5)


@pytest.mark.slow
@pytest.mark.parametrize("noise", ["normal", "gusts"])
@pytest.mark.parametrize("count", [2, 3])
def test_very_few_runs_do_not_cry_wolf(count, noise):
    better, _, different = rates(design([PITCH], replicates=count), noise=noise)
    assert better <= 0.05
    assert different <= 0.05 + BY_LUCK


@pytest.mark.slow
def test_one_run_each_does_not_cry_wolf():
    plan = design([PITCH, LOAD, BLADES], replicates=1, reference_every=0)
    better, _, different = rates(plan)
    assert better <= 0.05
    assert different <= 0.05
