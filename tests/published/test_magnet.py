"""Magnet fields against a recomputed table, and against an independent library off the axis."""

import numpy as np
import pytest
from evidence import rows

from whirlbench import tables
from whirlbench.physics import magnet

_DIGITS = 4e-6  # six printed digits

_FIELDS = {
    # the table counts z from the face along the magnetisation; here that is x, from the centre
    "axial cylinder D20 L10 Br1.2": lambda x, y, z: magnet.axial_cylinder_field(
        [z + 0.005, x, y], remanence=1.2, diameter=0.02, length=0.01
    ),
    "block 20x10x5 Br1.3 along 5": lambda x, y, z: magnet.cuboid_field(
        [z + 0.0025, x, y], remanence=1.3, size=(0.005, 0.02, 0.01)
    ),
    "diametric cylinder D20 L20 Br1.2": lambda x, y, z: magnet.diametric_cylinder_field(
        [x, y, z], remanence=1.2, diameter=0.02, length=0.02
    ),
}


@pytest.mark.parametrize("row", rows("generator/magnet_field_checks"), ids=str)
def test_fields_of_the_table(row):
    field = _FIELDS[row.source_magnet](row.x_m, row.y_m, row.z_m)
    assert field[0] == pytest.approx(row.B_magpylib_T, rel=_DIGITS)


@pytest.mark.parametrize(
    "row",
    [
        row
        for row in rows("generator/magnet_field_checks")
        if row.where.startswith("axis") and "cyl" in row.source_magnet
    ],
    ids=str,
)
def test_closed_form_on_the_axis(row):
    field = magnet.cylinder_axis_field(row.z_m, remanence=1.2, diameter=0.02, length=0.01)
    assert field == pytest.approx(row.B_reference_T, rel=_DIGITS)


@pytest.fixture(scope="module")
def points():
    return np.random.default_rng(20).uniform(-0.03, 0.03, (300, 3))


def test_block_anywhere_against_the_library(points):
    import magpylib

    witness = magpylib.magnet.Cuboid(polarization=(1.2, 0, 0), dimension=(0.01, 0.02, 0.015)).getB(points)
    np.testing.assert_allclose(
        magnet.cuboid_field(points, remanence=1.2, size=(0.01, 0.02, 0.015)), witness, atol=1e-13
    )


def test_diametric_cylinder_off_its_axes_against_the_library(points):
    import magpylib

    clear = points[(np.hypot(points[:, 0], points[:, 1]) > 0.011) | (np.abs(points[:, 2]) > 0.011)]
    witness = magpylib.magnet.Cylinder(polarization=(1.2, 0, 0), dimension=(0.02, 0.02)).getB(clear)
    found = magnet.diametric_cylinder_field(clear, remanence=1.2, diameter=0.02, length=0.02)
    np.testing.assert_allclose(found, witness, atol=1e-10)


def test_axial_cylinder_off_its_axis_against_the_library(points):
    import magpylib

    clear = points[(np.hypot(points[:, 1], points[:, 2]) > 0.011) | (np.abs(points[:, 0]) > 0.006)]
    along_z = magpylib.magnet.Cylinder(polarization=(0, 0, 1.2), dimension=(0.02, 0.01))
    witness = along_z.getB(clear[:, [1, 2, 0]])[:, [2, 0, 1]]
    found = magnet.axial_cylinder_field(clear, remanence=1.2, diameter=0.02, length=0.01)
    np.testing.assert_allclose(found, witness, atol=1e-10)


@pytest.mark.parametrize("row", tables.load("generator/ndfeb_grades").rows, ids=lambda row: row.grade)
def test_remanence_lies_in_the_middle_of_the_makers_band(row):
    value = magnet.remanence(row.grade)
    assert value.number - 3**0.5 * value.sigma == pytest.approx(row.Br_min_T)
    assert value.number + 3**0.5 * value.sigma == pytest.approx(row.Br_max_T)
