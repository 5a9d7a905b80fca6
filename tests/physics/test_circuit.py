"""Circuits: energy, limits, and the same circuits integrated in time."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import InputError, OutOfRange, UnknownKey
from whirlbench.physics.circuit import Circuit, electrical_state

_OHMS = st.floats(0.1, 1e3)
_LOADS = st.one_of(st.just(0.0), st.just(math.inf), st.floats(1e-3, 1e6))
_DROPS = st.floats(0.05, 1.1)
_THRESHOLDS = st.one_of(st.just(0.0), st.floats(0.5, 10.0))
_RECTIFIED = [("dc", 0, False), ("dc", 1, False), ("dc", 2, False), ("ac", 1, False), ("ac", 2, False), ("ac", 2, True)]
_KINDS = [*_RECTIFIED, ("ac", 0, False)]


def _circuit(kind, winding=10.0, load=47.0, drop=0.4, threshold=0.0):
    name, diodes, reservoir = kind
    if name == "ac" and not diodes:
        threshold = 0.0
    return Circuit(winding, name, drop if diodes else 0.0, diodes, reservoir, load, threshold)


@pytest.mark.parametrize("kind", _KINDS, ids=str)
@given(winding=_OHMS, load=_LOADS, drop=_DROPS, threshold=_THRESHOLDS, peak=st.floats(0.0, 100.0))
def test_energy_is_kept_and_never_negative(kind, winding, load, drop, threshold, peak):
    state = electrical_state(_circuit(kind, winding, load, drop, threshold), np.array([0.0, peak, peak / 3]))
    parts = [state.winding_loss, state.rectifier_loss, state.load_power]
    assert np.all(np.isfinite([state.current, state.voltage, state.gap_power, *parts]))
    assert np.all(np.array([state.current, state.voltage, *parts]) >= 0)
    np.testing.assert_allclose(state.gap_power, sum(parts), rtol=1e-14)


@given(winding=_OHMS, load=_LOADS, drop=_DROPS, threshold=_THRESHOLDS, emf=st.floats(0.0, 100.0))
def test_dc_gap_power_is_emf_times_current(winding, load, drop, threshold, emf):
    state = electrical_state(Circuit(winding, "dc", drop, 1, False, load, threshold), emf)
    assert state.gap_power == pytest.approx(emf * state.current, rel=1e-12, abs=1e-12)


@given(winding=_OHMS, load=_LOADS, drop=_DROPS, threshold=_THRESHOLDS, peak=st.floats(0.01, 100.0))
def test_reservoir_current_balances_the_load_line(winding, load, drop, threshold, peak):
    """The load line never enters the formula of the current: two roads to one answer."""
    state = electrical_state(Circuit(winding, "ac", drop, 2, True, load, threshold), peak)
    if load == 0 and state.current > 0:
        assert state.voltage == pytest.approx(threshold, abs=1e-12 * peak)
    elif state.current > 0 and load < math.inf:
        assert state.voltage == pytest.approx(threshold + load * state.current, abs=2e-9 * peak)


def _angles(count=200_000):
    return (np.arange(count) + 0.5) * math.pi / count


@pytest.mark.parametrize(("diodes", "threshold"), [(0, 0.0), (1, 0.0), (1, 1.9), (2, 0.0), (2, 1.9)])
@pytest.mark.parametrize("load", [0.0, 3.0, 47.0, 1e4, math.inf])
@pytest.mark.parametrize("peak", [0.3, 1.9, 6.0])
def test_pulsating_current_against_sums_over_a_half_wave(diodes, threshold, load, peak):
    drop = 0.45
    emf = peak * np.sin(_angles())
    current = np.maximum(emf - diodes * drop - threshold, 0.0) / (8.0 + load)
    voltage = np.maximum(emf - diodes * drop, 0.0) - 8.0 * current
    state = electrical_state(Circuit(8.0, "ac", drop, diodes, False, load, threshold), peak)

    def meter(wave):
        return np.mean(wave) if diodes else np.sqrt(np.mean(wave**2))

    # 1e-9: what the sum over 200 000 points leaves open at the corners of the wave
    assert state.current == pytest.approx(meter(current), rel=1e-8, abs=1e-9)
    assert state.voltage == pytest.approx(meter(voltage), rel=1e-8, abs=1e-9)
    assert state.gap_power == pytest.approx(np.mean(emf * current), rel=1e-8, abs=1e-9)
    assert state.winding_loss == pytest.approx(np.mean(8.0 * current**2), rel=1e-8, abs=1e-9)
    assert state.load_power == pytest.approx(np.mean(voltage * current), rel=1e-8, abs=1e-9)


def _run_in_time(circuit, peak, *, cycles=1000, steps=400, capacitor=3.0):
    """Mean volts, amperes and winding watts of the last half wave; the capacitor starts empty; half period = 1 s."""
    wave = (peak * np.sin(_angles(steps))).tolist()
    volts, step = 0.0, 1.0 / steps
    for _ in range(cycles):
        total, squares, area = 0.0, 0.0, 0.0
        for emf in wave:
            coming = max(emf - circuit.rectifier_voltage - volts, 0.0) / circuit.winding_resistance
            going = max(volts - circuit.load_threshold, 0.0) / circuit.load_resistance
            volts += (coming - going) * step / capacitor
            total, squares, area = total + coming, squares + coming**2, area + volts
    return area * step, total * step, circuit.winding_resistance * squares * step


@pytest.mark.parametrize(
    ("peak", "load", "threshold"),
    [(3.0, 5.0, 0.0), (3.0, 40.0, 0.0), (9.0, 12.0, 3.4), (5.0, 2.0, 2.8), (4.4, 10.0, 3.4)],
)
def test_reservoir_against_a_run_in_time(peak, load, threshold):
    circuit = Circuit(6.0, "ac", 0.35, 2, True, load, threshold)
    state = electrical_state(circuit, peak)
    volts, amperes, watts = _run_in_time(circuit, peak)
    # ripple of the finite capacitor and the finite step
    assert state.voltage == pytest.approx(volts, rel=1e-4)
    assert state.current == pytest.approx(amperes, rel=3e-4)
    assert state.winding_loss == pytest.approx(watts, rel=1e-3)


def test_reservoir_balance_reaches_rounding_from_short_to_open():
    """The balance rewritten in u and bisected, over the whole plane of starting level and load."""
    for ratio in np.geomspace(1e-6, 1e7, 27):
        peak = np.geomspace(1.0001, 1e4, 40)  # over a starting voltage of 1
        state = electrical_state(Circuit(1.0, "ac", 0.5, 2, True, ratio), peak)
        low, high = 1.0 / peak, np.ones_like(peak)
        for _ in range(60):
            level = (low + high) / 2
            half = np.arcsin(level)
            mean = (2 * np.cos(half) - level * (math.pi - 2 * half)) / math.pi
            over = level - 1.0 / peak > ratio * mean
            low, high = np.where(over, low, level), np.where(over, level, high)
        np.testing.assert_allclose(state.voltage, peak * level - 1.0, rtol=0, atol=1e-13 * peak.max() + 1e-12)


@pytest.mark.parametrize("kind", _KINDS, ids=str)
def test_power_and_current_rise_with_emf(kind):
    state = electrical_state(_circuit(kind, threshold=1.8), np.linspace(0, 12, 200))
    assert np.all(np.diff(state.current) >= 0)
    assert np.all(np.diff(state.gap_power) >= 0)
    assert state.load_power[-1] > 0


@pytest.mark.parametrize("kind", _KINDS, ids=str)
def test_nothing_flows_into_an_open_circuit_and_little_power_into_a_short(kind):
    emf = np.array([0.0, 1.0, 5.0])
    still = electrical_state(_circuit(kind, load=math.inf), emf)
    short = electrical_state(_circuit(kind, load=0.0), emf)
    large = electrical_state(_circuit(kind, load=1e9), emf)
    assert np.all(still.current == 0) and np.all(still.gap_power == 0)
    # behind a capacitor the volts fall with the 2/3 power of the load's conductance: 3e-5 V are left at 1 Gohm
    np.testing.assert_allclose(large.voltage, still.voltage, atol=1e-4)
    np.testing.assert_allclose(short.load_power, 0, atol=1e-14)
    assert short.gap_power[-1] > 0


def test_open_volts_are_what_a_meter_would_show():
    def volts(*args):
        return electrical_state(Circuit(5.0, *args), 4.0).voltage

    assert volts("dc") == 4.0
    assert volts("dc", 0.3, 1) == pytest.approx(3.7)
    assert volts("ac") == pytest.approx(4.0 / math.sqrt(2))
    assert volts("ac", 0.3, 2, True) == pytest.approx(3.4)
    assert volts("ac", 0.0, 2, False) == pytest.approx(8.0 / math.pi)


def test_ideal_diodes_take_no_more_power_than_bare_ac():
    """Without drops a bridge only folds the wave: same rms, same power."""
    bare = electrical_state(Circuit(7.0, "ac", load_resistance=20.0), 3.0)
    folded = electrical_state(Circuit(7.0, "ac", 0.0, 2, False, 20.0), 3.0)
    assert folded.load_power == pytest.approx(bare.load_power)


@pytest.mark.parametrize("kind", _RECTIFIED, ids=str)
@pytest.mark.parametrize("scale", [0.1, 3.0])
def test_volts_scale_together(kind, scale):
    """All voltages times s: currents times s, powers times s squared."""
    one = electrical_state(_circuit(kind, drop=0.5, threshold=2.0), 7.0)
    other = electrical_state(_circuit(kind, drop=0.5 * scale, threshold=2.0 * scale), 7.0 * scale)
    assert other.current == pytest.approx(scale * one.current)
    assert other.load_power == pytest.approx(scale**2 * one.load_power)


def test_two_phases_on_one_capacitor_are_one_of_half_the_resistance():
    """Volts U from one circuit, into which two phases of full resistance each must send half of the current."""
    both = electrical_state(Circuit(4.0, "ac", 0.3, 2, True, 20.0), 5.0)
    single = electrical_state(Circuit(8.0, "ac", 0.3, 2, True, 40.0), 5.0)
    assert single.voltage == pytest.approx(both.voltage)
    assert 2 * single.current == pytest.approx(both.current)
    assert 2 * single.gap_power == pytest.approx(both.gap_power)


def test_scalars_and_shapes_are_kept():
    circuit = Circuit(5.0, "ac", 0.3, 2, True, 20.0)
    assert np.shape(electrical_state(circuit, 2.0).load_power) == ()
    assert electrical_state(circuit, np.ones((2, 3))).load_power.shape == (2, 3)


@pytest.mark.parametrize(
    ("wrong", "error"),
    [
        ({"winding_resistance": 0.0}, OutOfRange),
        ({"winding_resistance": 5.0, "load_resistance": -1.0}, OutOfRange),
        ({"winding_resistance": 5.0, "diode_count": 3}, OutOfRange),
        ({"winding_resistance": 5.0, "rectifier_drop": -0.1}, OutOfRange),
        ({"winding_resistance": 5.0, "kind": "DC"}, UnknownKey),
        ({"winding_resistance": 5.0, "kind": "ac", "reservoir": True}, InputError),
        ({"winding_resistance": 5.0, "kind": "ac", "load_threshold": 1.7}, InputError),
    ],
    ids=str,
)
def test_circuits_that_cannot_be_are_refused(wrong, error):
    with pytest.raises(error):
        Circuit(**wrong)


@pytest.mark.parametrize("emf", [-1.0, math.nan, math.inf])
def test_an_emf_that_cannot_be_is_refused(emf):
    with pytest.raises(OutOfRange):
        electrical_state(Circuit(5.0), emf)
