"""Coils: limits, scaling, the winding window, refusals."""

from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange
from whirlbench.physics import coil, magnet

_BLOCK = partial(magnet.cuboid_field, remanence=1.2, size=(0.01, 0.02, 0.02))


def test_flux_of_an_even_field_is_field_times_area():
    def even(position):
        return np.broadcast_to([0.1, 0.0, 0.0], position.shape)

    angles = np.radians([0, 60, 90, 180])
    found = coil.flux(even, angles, coil_radius=0.02, distance=0.03)
    np.testing.assert_allclose(found, 0.1 * np.pi * 0.02**2 * np.cos(angles), atol=1e-18)


def test_small_coil_far_away_sees_the_dipole():
    found = coil.flux(_BLOCK, 0.0, coil_radius=0.005, distance=0.5)
    assert found == pytest.approx(2 * 1.2 * 4e-6 / (4 * np.pi * 0.5**3) * np.pi * 0.005**2, rel=2e-3)


def test_half_a_turn_reverses_the_flux():
    angles = np.radians([0.0, 25.0, 110.0])
    here = coil.flux(_BLOCK, angles, coil_radius=0.01, distance=0.015)
    there = coil.flux(_BLOCK, angles + np.pi, coil_radius=0.01, distance=0.015)
    np.testing.assert_allclose(there, -here, rtol=1e-12, atol=1e-18)


def test_thin_window_is_one_turn():
    thin = coil.thick_coil_flux(_BLOCK, 0.3, radii=(0.01, 0.01 + 1e-9), distances=(0.016, 0.016 + 1e-9))
    assert thin == pytest.approx(coil.flux(_BLOCK, 0.3, coil_radius=0.01, distance=0.016), rel=1e-6)


def test_thick_coil_has_converged():
    window = {"radii": (0.006, 0.014), "distances": (0.012, 0.018)}
    few, many = (coil.thick_coil_flux(_BLOCK, 0.0, **window, points=points) for points in (4, 8))
    assert few == pytest.approx(many, rel=1e-3)


def test_emf_is_the_slope_of_the_flux():
    angles = np.radians(np.arange(0, 360, 5))
    cylinder = partial(magnet.diametric_cylinder_field, remanence=1.2, diameter=0.02, length=0.02)
    wave = coil.flux_wave(coil.flux(cylinder, angles, coil_radius=0.01, distance=0.015))
    step = 1e-4
    ends = coil.flux(cylinder, np.pi / 2 + np.array([-step, step]), coil_radius=0.01, distance=0.015)
    assert 200 * abs(ends[1] - ends[0]) / (2 * step) == pytest.approx(coil.emf_constant(wave.fundamental, turns=200))


def test_emf_constant_multiplies():
    one = coil.emf_constant(6e-5, turns=100)
    assert coil.emf_constant(6e-5, turns=100, pole_pairs=4, coils_in_series=3) == pytest.approx(12 * one)


def test_wave_of_known_harmonics():
    angles = np.arange(24) * 2 * np.pi / 24
    wave = coil.flux_wave(3.0 * np.cos(angles + 0.4) + 0.6 * np.cos(3 * angles))
    assert wave.fundamental == pytest.approx(3.0)
    assert wave.third_harmonic_ratio == pytest.approx(0.2)


@given(turns=st.integers(1, 5000), diameter=st.floats(0.05e-3, 1e-3))
def test_layers_hold_all_turns_and_no_layer_is_idle(turns, diameter):
    fit = coil.winding_fit(turns, diameter, window_width=0.01, window_depth=0.01)
    assert (fit.layers - 1) * fit.turns_per_layer < turns <= fit.layers * fit.turns_per_layer
    assert fit.turns_per_layer * diameter <= 0.01 * (1 + 1e-9)
    assert fit.fits == (fit.depth <= 0.01 * (1 + 1e-9))
    if fit.fits:
        assert fit.fill <= 1 + 1e-9


def test_a_window_that_is_exactly_full_fits():
    fit = coil.winding_fit(100, 0.001, window_width=0.01, window_depth=0.01)
    assert (fit.turns_per_layer, fit.layers, fit.fits) == (10, 10, True)
    assert fit.fill == pytest.approx(1.0)
    assert not coil.winding_fit(101, 0.001, window_width=0.01, window_depth=0.01).fits


@pytest.mark.parametrize(
    "call",
    [
        lambda: coil.coil_resistance(0, 0.01, 0.3),
        lambda: coil.coil_resistance(100, 10.0, 0.3),
        lambda: coil.winding_fit(100, 0.02, window_width=0.01, window_depth=0.01),
        lambda: coil.flux(_BLOCK, 0.0, coil_radius=10.0, distance=0.015),
        lambda: coil.flux_wave([1.0, 0.0, -1.0]),
        lambda: coil.emf_constant(1e-5, turns=100, pole_pairs=0),
    ],
)
def test_coils_that_cannot_be_are_refused(call):
    with pytest.raises(OutOfRange):
        call()
