"""Drift of the fan: sessions with a known drift, taken out again without bias and with an honest interval."""

import numpy as np
import pytest

from whirlbench.errors import InputError, OutOfRange
from whirlbench.measure.drift import corrected, linear_drift, piecewise_drift

REFERENCES = np.arange(7) * 600.0  # one every ten minutes for an hour
RUNS = np.array([300.0, 1500.0, 3300.0])
NOISE = 0.01


def session(rng, slope):
    """References and runs of a fan that changes by a share per hour about the middle of the session."""

    def shares(times):
        return 1 + slope * (times - 1800) / 3600

    references = 0.2 * shares(REFERENCES) * (1 + NOISE * rng.standard_normal(7))
    return linear_drift(REFERENCES, references), 0.5 * shares(RUNS)


@pytest.mark.parametrize("slope", [-0.2, 0.1, 0.3])
def test_correction_is_unbiased_and_its_interval_holds(slope):
    rng = np.random.default_rng(1)
    found = [corrected(drift, RUNS, raw) for drift, raw in (session(rng, slope) for _ in range(800))]
    assert all(run.applied for runs in found for run in runs)
    numbers = np.array([[run.number for run in runs] for runs in found])
    assert numbers.mean(axis=0) == pytest.approx([0.5] * 3, rel=1.5e-3)
    held = np.array([[run.low <= 0.5 <= run.high for run in runs] for runs in found])
    assert held.mean() == pytest.approx(0.95, abs=0.025)  # three standard errors; the runs of a session hang together
    sigmas = np.array([[run.factor_sigma * run.raw for run in runs] for runs in found])
    assert np.sqrt(np.mean(sigmas**2, axis=0)) == pytest.approx(numbers.std(axis=0), rel=0.08)


def test_a_steady_fan_is_called_drifting_once_in_twenty():
    rng = np.random.default_rng(2)
    seen = [session(rng, 0.0)[0].real for _ in range(2000)]
    assert np.mean(seen) == pytest.approx(0.05, abs=0.015)


@pytest.mark.parametrize("slope", [0.0, 0.01, 0.02, 0.03])
def test_a_drift_too_small_to_be_seen_is_still_in_the_doubt(slope):
    rng = np.random.default_rng(3)
    found = [corrected(drift, RUNS, raw) for drift, raw in (session(rng, slope) for _ in range(500))]
    assert np.mean([run.low <= 0.5 <= run.high for runs in found for run in runs]) > 0.92


def test_the_raw_number_stays_beside():
    drift = linear_drift([0, 1, 2, 3], [1.0, 1.1, 1.201, 1.3])
    (run,) = corrected(drift, [3.0], [2.6])
    assert (run.raw, run.applied) == (2.6, True)
    assert run.number == pytest.approx(2.6 * run.factor)
    assert run.number == pytest.approx(2.6 * 1.15 / 1.3, rel=2e-3)
    assert drift.change == pytest.approx(0.3 / 1.15, rel=5e-3)
    steady = linear_drift([0, 1, 2, 3], [1.0, 1.01, 0.99, 1.0])
    (run,) = corrected(steady, [3.0], [2.6])
    assert (run.number, run.applied) == (2.6, False)
    assert run.low < 2.6 < run.high


def warming(times):
    """Share of a fan that gives way as it warms up and then rests."""
    return 1 - 0.15 * (1 - np.exp(-np.asarray(times) / 600))


def level():
    """Geometric mean of the true references over all blocks."""
    return np.exp(np.mean([np.log(warming(at + 2.5)) for at in (0, 600, 1200, 2400, 3600)]))


def pieces(rng, noise=NOISE, shares=warming):
    times = np.array([first + second for first in (0, 600, 1200, 2400, 3600) for second in (0, 5)], dtype=float)
    return piecewise_drift(times, 2.0 * shares(times) * (1 + noise * rng.standard_normal(10)), times // 60)


def test_pieces_follow_a_fan_that_warms_up():
    drift = pieces(np.random.default_rng(0), noise=1e-5)
    assert np.prod(drift.shares) == pytest.approx(1)
    for time in (2.5, 602.5, 2402.5, 3602.5):
        assert drift.share(time)[0] == pytest.approx(warming(time) / level(), rel=1e-3)


def test_doubt_of_the_pieces_is_their_spread():
    rng = np.random.default_rng(6)
    drifts = [pieces(rng) for _ in range(1500)]
    for time in (2.5, 900.0, 3000.0):
        spread = np.std([drift.share(time)[0] for drift in drifts])
        assert np.sqrt(np.mean([drift.share(time)[1] ** 2 for drift in drifts])) == pytest.approx(spread, rel=0.06)
    assert np.mean([drift.real for drift in drifts]) > 0.99


def test_pieces_of_a_steady_fan_are_real_once_in_twenty():
    rng = np.random.default_rng(7)
    drifts = [pieces(rng, shares=np.ones_like) for _ in range(2000)]
    assert np.mean([drift.real for drift in drifts]) == pytest.approx(0.05, abs=0.015)


def test_corrected_by_pieces_is_unbiased():
    rng = np.random.default_rng(8)
    runs = np.array([600.0, 1200.0, 2405.0])
    found = [corrected(pieces(rng), runs, 0.5 * warming(runs)) for _ in range(500)]
    numbers = np.array([[run.number for run in each] for each in found])
    # the curve between two blocks bends a little away from the straight piece
    assert numbers.mean(axis=0) == pytest.approx([0.5 * level()] * 3, rel=4e-3)
    assert np.mean([run.low <= 0.5 * level() <= run.high for each in found for run in each]) > 0.93


def test_nothing_is_said_outside_the_session():
    drift = linear_drift([0, 600, 1200], [1.0, 0.99, 0.98])
    with pytest.raises(OutOfRange, match="reference run before"):
        corrected(drift, [1201.0], [1.0])


@pytest.mark.parametrize(
    ("times", "references"), [([0, 1], [1, 1]), ([0, 1, 2], [1, 0, 1]), ([5, 5, 5], [1, 1.1, 0.9])]
)
def test_references_that_say_nothing_are_refused(times, references):
    with pytest.raises(InputError):
        linear_drift(times, references)


def test_blocks_need_repeats():
    with pytest.raises(InputError, match="twice"):
        piecewise_drift([0, 1, 2], [1, 1.1, 1.2], [1, 2, 3])
    with pytest.raises(InputError, match="twice"):
        piecewise_drift([0, 1, 2], [1, 1.1, 1.2], [1, 1, 1])
