"""Coils against recomputed cases, and against an independent library at other angles."""

from functools import partial

import numpy as np
import pytest
from evidence import rows

from whirlbench.physics import coil, magnet, wire

_TURN = np.arange(72) * 2 * np.pi / 72
_SPEED = 600 * np.pi / 30
_CYLINDER = partial(magnet.diametric_cylinder_field, remanence=1.2, diameter=0.02, length=0.02)
_MAGNETS = {
    "diametric cylinder D20 L20": _CYLINDER,
    "block 10(x) x20x20 magnetised along x": partial(magnet.cuboid_field, remanence=1.2, size=(0.01, 0.02, 0.02)),
    "block 20(x) x10x10 magnetised along x": partial(magnet.cuboid_field, remanence=1.2, size=(0.02, 0.01, 0.01)),
}


@pytest.mark.parametrize("row", rows("generator/coil_flux_checks"), ids=str)
def test_flux_and_emf(row):
    wave = coil.flux_wave(
        coil.flux(_MAGNETS[row.magnet], _TURN, coil_radius=row.coil_radius_m, distance=row.distance_m)
    )
    constant = coil.emf_constant(wave.fundamental, turns=int(row.turns))
    assert wave.peak * 1e6 == pytest.approx(row.flux_peak_uWb, rel=2e-6)
    assert wave.fundamental * 1e6 == pytest.approx(row.flux_fundamental_uWb, rel=2e-6)
    assert wave.third_harmonic_ratio == pytest.approx(row.third_harmonic_ratio, rel=1e-5, abs=1e-12)
    assert constant == pytest.approx(row.k_peak_Vs_per_rad, rel=5e-6)
    assert constant * _SPEED == pytest.approx(row.EMF_peak_600rpm_V, rel=5e-6)
    assert constant * _SPEED / 2**0.5 == pytest.approx(row.EMF_rms_600rpm_V, rel=5e-6)
    per_metre = wire.resistance_per_length(wire.gauge_diameter(30))
    resistance = coil.coil_resistance(row.turns, row.coil_radius_m, per_metre)
    assert resistance == pytest.approx(row.R_coil_AWG30_ohm, rel=1e-5)


def test_thick_coil():
    mean = coil.thick_coil_flux(_CYLINDER, 0.0, radii=(0.006, 0.014), distances=(0.012, 0.018))
    assert mean == pytest.approx(60.3e-6, abs=0.05e-6)


@pytest.mark.parametrize("name", _MAGNETS)
def test_flux_at_odd_angles_against_the_library(name):
    """The library turns the magnet, we turn the coil; the disc is cut in other points."""
    import magpylib

    ring = 0.012 * np.sqrt((np.arange(60) + 0.5) / 60)  # rings of equal area
    spoke = np.arange(40) * 2 * np.pi / 40
    place = np.stack(
        [np.full(2400, 0.016), np.outer(ring, np.cos(spoke)).ravel(), np.outer(ring, np.sin(spoke)).ravel()], axis=-1
    )
    if "cylinder" in name:
        body = magpylib.magnet.Cylinder(polarization=(1.2, 0, 0), dimension=(0.02, 0.02))
    else:
        body = magpylib.magnet.Cuboid(polarization=(1.2, 0, 0), dimension=_MAGNETS[name].keywords["size"])
    for degrees in (13.0, 71.0):
        body.orientation = None
        body.rotate_from_angax(degrees, "z", anchor=0)
        witness = body.getB(place)[:, 0].mean() * np.pi * 0.012**2
        found = coil.flux(_MAGNETS[name], np.radians(degrees), coil_radius=0.012, distance=0.016)
        # 60 equal-area rings are good to about 1e-4 here
        assert found == pytest.approx(witness, rel=1e-3)
