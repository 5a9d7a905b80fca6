"""Magnet fields: far and near limits, two roads to one answer, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.errors import OutOfRange, UnknownKey
from whirlbench.physics import magnet

_SHAPES = {
    "block": (lambda p: magnet.cuboid_field(p, remanence=1.2, size=(0.02, 0.02, 0.02)), 8e-6),
    "axial": (lambda p: magnet.axial_cylinder_field(p, remanence=1.2, diameter=0.02, length=0.02), 2e-6 * math.pi),
    "diametric": (
        lambda p: magnet.diametric_cylinder_field(p, remanence=1.2, diameter=0.02, length=0.02),
        2e-6 * math.pi,
    ),
}


@pytest.mark.parametrize("shape", _SHAPES)
def test_far_away_every_magnet_is_a_dipole(shape):
    field, volume = _SHAPES[shape]
    position = np.array([0.5, 0.3, -0.4])
    distance = np.linalg.norm(position)
    along = 3 * position * position[0] / distance**5 - np.array([1.0, 0, 0]) / distance**3
    np.testing.assert_allclose(field(position), 1.2 * volume / (4 * math.pi) * along, rtol=2e-3)


@pytest.mark.parametrize("shape", _SHAPES)
@given(x=st.floats(0.013, 0.03), y=st.floats(-0.03, 0.03), z=st.floats(-0.03, 0.03))
def test_outside_a_magnet_the_field_has_no_source_and_no_curl(shape, x, y, z):
    field, step = _SHAPES[shape][0], 1e-5
    shifted = np.array([x, y, z]) + step * np.vstack([np.eye(3), -np.eye(3)])
    values = field(shifted)
    slope = (values[:3] - values[3:]) / (2 * step)  # slope[i, j] = dB_j / dx_i
    # central differences leave step^2 times the third derivative
    assert abs(np.trace(slope)) < 1e-3
    np.testing.assert_allclose(slope, slope.T, atol=1e-3)


@pytest.mark.parametrize("shape", _SHAPES)
def test_mirror_symmetry(shape):
    field = _SHAPES[shape][0]
    position = np.array([0.014, 0.005, 0.013])
    np.testing.assert_allclose(field(-position), field(position), rtol=1e-9)
    np.testing.assert_allclose(field(position * [1, -1, 1]), field(position) * [1, -1, 1], rtol=1e-9)
    np.testing.assert_allclose(field(position * [1, 1, -1]), field(position) * [1, 1, -1], rtol=1e-9)


@given(gap=st.floats(0.0, 0.1), diameter=st.floats(0.003, 0.05), length=st.floats(0.001, 0.05))
def test_axis_closed_form_equals_the_sum_around(gap, diameter, length):
    closed = magnet.cylinder_axis_field(gap, remanence=1.2, diameter=diameter, length=length)
    summed = magnet.axial_cylinder_field([gap + length / 2, 0, 0], remanence=1.2, diameter=diameter, length=length)
    assert summed[0] == pytest.approx(closed, rel=1e-9, abs=1e-12)
    assert abs(summed[1]) < 1e-12


def test_a_long_magnet_holds_its_remanence_inside_and_half_at_its_face():
    bar = {"remanence": 1.3, "size": (0.3, 0.002, 0.002)}
    assert magnet.cuboid_field([0, 0, 0], **bar)[0] == pytest.approx(1.3, rel=1e-3)
    assert magnet.cuboid_field([0.15 + 1e-7, 0, 0], **bar)[0] == pytest.approx(0.65, rel=1e-3)
    assert magnet.cylinder_axis_field(0.0, remanence=1.3, diameter=0.002, length=0.3) == pytest.approx(0.65, rel=1e-3)


def test_block_field_is_finite_on_planes_and_lines_of_its_edges():
    size = (0.02, 0.02, 0.02)
    special = np.array([[0.01, 0.03, 0.0], [0.01, 0.01, 0.03], [0.03, 0.01, 0.01], [0.0, 0.01, 0.03]])
    field = magnet.cuboid_field(special, remanence=1.2, size=size)
    beside = magnet.cuboid_field(special + 1e-9, remanence=1.2, size=size)
    np.testing.assert_allclose(field, beside, atol=1e-6)


def test_warm_magnets_are_weaker():
    assert magnet.remanence("N42", 333.15).number == pytest.approx(magnet.remanence("N42").number * (1 - 0.048))


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: magnet.remanence("N43"), UnknownKey),
        (lambda: magnet.remanence("N42", 400.0), OutOfRange),
        (lambda: magnet.cylinder_axis_field(-0.001, remanence=1.2, diameter=0.02, length=0.01), OutOfRange),
        (lambda: magnet.cylinder_axis_field(0.001, remanence=1.2, diameter=20.0, length=0.01), OutOfRange),
        (lambda: magnet.cuboid_field([1, 0, 0], remanence=12.0, size=(0.01, 0.01, 0.01)), OutOfRange),
        (lambda: magnet.diametric_cylinder_field([0.005, 0, 0], remanence=1.2, diameter=0.02, length=0.02), OutOfRange),
        (lambda: magnet.axial_cylinder_field([0, 0.01, 0], remanence=1.2, diameter=0.02, length=0.02), OutOfRange),
    ],
)
def test_magnets_that_cannot_be_are_refused(call, error):
    with pytest.raises(error):
        call()
