"""Every table says where it comes from, and a column with a unit holds numbers."""

import math

import pytest
from house import place
from make_where import ROOT, SOURCE

from whirlbench.errors import TableError
from whirlbench.tables import load_file

SHIPPED = sorted((SOURCE / "tables").rglob("*.csv"))
EVIDENCE = sorted((ROOT / "tests" / "published").rglob("*.csv"))
UNITS = """
    um mm cm m km in ft mm2 cm2 m2 mm3 cm3 m3 mm4 m4 ms s min h K C degC F g kg gcm2 gm2 kgm2 m3 Pa hPa kPa MPa GPa
    N mN Nm mNm uNm W mW V mV A mA ohm kohm uH mH H uF J mJ Hz rad deg rpm krpm T mT Wb uWb pct percent
"""  # as they end a column's name: chord_mm, density_kg_m3


def has_unit(column):
    """Tell whether the last part of a column's name is a unit, as in ``chord_mm``."""
    name, _, unit = column.rpartition("_")
    return bool(name) and unit in UNITS.split()


def words_for_numbers(table):
    """Complaints about cells that should be numbers, or empty."""
    return [
        f"row {number}, {column}: '{cell}' is no number"
        for number, row in enumerate(table.rows, 1)
        for column, cell in vars(row).items()
        if has_unit(column) and cell is not None and not (isinstance(cell, float) and math.isfinite(cell))
    ]


@pytest.mark.parametrize("path", [*SHIPPED, *EVIDENCE], ids=place)
def test_a_table_has_a_source_and_rows(path):
    table = load_file(path)
    assert table.source
    assert table.seen
    assert table.rows


@pytest.mark.parametrize("path", [*SHIPPED, *EVIDENCE], ids=place)
def test_columns_with_a_unit_hold_numbers(path):
    found = words_for_numbers(load_file(path))
    assert not found, "\n".join(f"{place(path)}: {each}" for each in found)


GOOD = "# source: a book\n# seen: read\nname,chord_mm\nsheet,30\nrod,\n"


def test_the_checks_can_fail(tmp_path):
    file = tmp_path / "blades.csv"
    file.write_text(GOOD, encoding="utf-8")
    assert not words_for_numbers(load_file(file))
    file.write_text(GOOD + "foil,about 30\n", encoding="utf-8")
    assert words_for_numbers(load_file(file)) == ["row 3, chord_mm: 'about 30' is no number"]


@pytest.mark.parametrize("missing", ["# source: a book\n", "# seen: read\n"])
def test_a_table_without_its_origin_does_not_load(tmp_path, missing):
    file = tmp_path / "blades.csv"
    file.write_text(GOOD.replace(missing, ""), encoding="utf-8")
    with pytest.raises(TableError, match=r"blades\.csv"):
        load_file(file)
