"""Tables for other programs: every number comes back, units stand in the headers, no cell becomes a formula."""

import csv
import sys
from dataclasses import fields, replace

import openpyxl
import pytest
from pyarrow import parquet

from whirlbench import units
from whirlbench.errors import InputError, MissingExtra
from whirlbench.measure.columns import COLUMNS, NUMBERS, split_header
from whirlbench.measure.readings import Reading
from whirlbench.store import export, readings

ROWS = [
    Reading(row=1, wind_speed=4.46, voltage=1 / 3, rotor_speed=1e-9, humidity=0.45, meter="±(0.5 % + 2 digits)"),
    Reading(row=2, load_resistance=47.0, pushed=True, note='=HYPERLINK("x")'),
    Reading(row=3, current=0.5, note="two\nlines; and, 'quotes' \"", taken_at="09:30"),
]


@pytest.fixture
def written(store, team, tmp_path):
    """Export a team that has changed its first reading and deleted a fourth."""
    with store.writing() as session:
        ids = readings.add(session, team, [*ROWS, Reading(row=4)], author="Ana")
        readings.change(session, team, ids[0], seen=1, reading=replace(ROWS[0], voltage=2 / 3))
        readings.delete(session, team, ids[3], seen=1)

    def write(name, **more):
        with store.looking() as session:
            assert export.write(readings.every(session, team, **more), tmp_path / name) == (6 if more else 3)
        return tmp_path / name

    return write


def checked(table):
    """Rows of an exported table as dictionaries, held against what was logged."""
    assert list(table[0]) == export.header()
    first, second, third = table
    assert (first["voltage [V]"], first["rotor_speed [rad/s]"], first["humidity"]) == (2 / 3, 1e-9, 0.45)
    assert first["meter"] == "±(0.5 % + 2 digits)"
    assert [row["version"] for row in table] == [2, 1, 1]
    assert (second["load_resistance [ohm]"], third["current [A]"], third["taken_at"]) == (47.0, 0.5, "09:30")
    assert third["note"] == ROWS[2].note
    return table


def test_headers_carry_units_that_can_be_read():
    heads = dict(map(split_header, export.header()))
    for name in NUMBERS:
        assert heads[name] == COLUMNS[name]
        units.read(name, f"1 {heads[name]}", COLUMNS[name])
    assert {field.name for field in fields(Reading)} <= set(heads)


def test_csv(written):
    text = written("a.csv").read_text(encoding="utf-8-sig")
    table = list(csv.DictReader(text.splitlines(keepends=True)))
    whole = {"reading", "version", "row"}
    for row in table:
        for name, cell in row.items():
            if name in whole:
                row[name] = int(cell)
            elif split_header(name)[0] in NUMBERS:
                row[name] = float(cell) if cell else None
    checked(table)
    assert [row["pushed"] for row in table] == ["no", "yes", "no"]
    assert table[1]["note"] == "'" + ROWS[1].note


def test_xlsx(written):
    sheet = openpyxl.load_workbook(written("a.XLSX"))["readings"]
    head, *rows = sheet.iter_rows()
    names = [cell.value for cell in head]
    table = checked([dict(zip(names, (cell.value for cell in row), strict=True)) for row in rows])
    assert [row["pushed"] for row in table] == [False, True, False]
    note = rows[1][names.index("note")]
    assert (note.value, note.data_type) == (ROWS[1].note, "s")


def test_xlsx_leaves_out_what_no_sheet_can_hold(store, team, tmp_path):
    with store.writing() as session:
        readings.add(session, team, [Reading(row=1, note="bell \a, page \f")])
        export.write(readings.every(session, team), tmp_path / "a.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "a.xlsx")["readings"]
    assert "bell , page " in [cell.value for cell in sheet[2]]


def test_parquet(written):
    table = parquet.read_table(written("a.parquet"))
    checked(table.to_pylist())
    kinds = {field.name: str(field.type) for field in table.schema}
    assert (kinds["voltage [V]"], kinds["version"], kinds["pushed"], kinds["note"]) == (
        *("double", "int64", "bool", "string"),
    )


def test_every_version(written):
    table = parquet.read_table(written("a.parquet", versions=True)).to_pylist()
    assert [(row["version"], row["deleted"]) for row in table] == [
        *((1, False), (2, False), (1, False), (1, False), (1, False), (2, True)),
    ]


def test_nothing_to_export(store, team, tmp_path):
    with store.looking() as session:
        for name in ("a.csv", "a.xlsx", "a.parquet"):
            assert export.write(readings.every(session, team), tmp_path / name) == 0
    assert parquet.read_table(tmp_path / "a.parquet").num_rows == 0


def test_an_export_that_fails_leaves_the_older_file(written, tmp_path, monkeypatch):
    path = written("a.csv")
    before = path.read_bytes()

    def broken():
        yield from ()
        raise KeyError

    with pytest.raises(KeyError):
        export.write((each for each in broken()), path)
    assert path.read_bytes() == before
    assert [each.name for each in tmp_path.glob("*.part")] == []


def test_places_and_endings_that_do_not_work(tmp_path):
    with pytest.raises(InputError, match=r"ends in \.csv, \.xlsx or \.parquet"):
        export.write([], tmp_path / "a.doc")
    with pytest.raises(InputError, match="a file that can be written"):
        export.write([], tmp_path / "missing" / "a.csv")


def test_parquet_without_its_extra(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(MissingExtra, match=r"whirlbench\[parquet\]") as told:
        export.write([], tmp_path / "a.parquet")
    assert "\n" not in str(told.value)
