"""Tables in and out: columns shown before anything is kept, a table that grew, downloads, files that are none."""

import io
import re

import pytest

PAGE = "/teams/1/readings"
TABLE = """Viento (m/s);V salida (mV);Carga;Ruido
4,5;310;22 ohm;a
4,5;"320";22 ohm;b
x;1;2;3
"""


def sent(browser, content, name="table.csv", page=f"{PAGE}/import"):
    """Send a file and come to where its columns are matched."""
    return browser.submit(page, files={"file": (name, content, "text/csv")})


def test_a_table_is_looked_at_and_then_kept(team):
    look = sent(team, TABLE.encode())
    assert look.status_code == 200
    assert "2 readings" in look.text
    assert "1 line cannot be used" in look.text
    before = team.get(PAGE).text.count('id="reading-')
    done = team.submit(look.url.path, {"do": "keep", "turbine": "1 Team Kittiwake, starter build"})
    assert done.url.path == PAGE
    assert done.text.count('id="reading-') == before + 2
    assert "Ruido: b" in done.text
    assert team.get(look.url.path).status_code == 404


def test_what_the_turbine_could_not_show_is_asked_about(team):
    look = sent(team, "wind_speed [m/s],load_resistance [ohm],voltage [V]\n5,22,310\n5,22 ohm,0.3\n", "slips.csv")
    assert "Could these be slips?" in look.text
    assert "mV written as V" in look.text


def test_a_table_that_grew_brings_only_what_is_new(team):
    first = "wind_speed [m/s],voltage [V]\n4,0.3\n4,0.4\n"
    team.submit(sent(team, first, "grows.csv").url.path, {"do": "keep"})
    before = team.get(f"{PAGE}/rows").text.count('id="reading-')
    team.submit(sent(team, first + "4,0.5\n", "grows.csv").url.path, {"do": "keep"})
    assert team.get(f"{PAGE}/rows").text.count('id="reading-') == before + 1


def test_a_person_says_what_a_column_is(team):
    look = sent(team, "a,b\n4,300\n")
    fields = {"column-1": "wind_speed", "unit-1": "m/s", "column-2": "voltage", "unit-2": "mV", "do": "look"}
    again = team.submit(look.url.path, fields)
    assert "300 mV" in again.text
    wrong = team.submit(look.url.path, fields | {"unit-2": "kg"})
    assert wrong.status_code == 422
    assert "Try:" in wrong.text
    filled = team.submit(look.url.path, {"column-1": "-", "column-2": "voltage", "unit-2": "mV", "wind_speed": "5"})
    assert "5 m/s" in filled.text


@pytest.mark.parametrize(("content", "name"), [(b"", "a.csv"), (b"\0" * 99, "a.csv"), (b"x", "a.exe"), (b"x", "a")])
def test_what_is_no_table_is_refused(team, content, name):
    assert sent(team, content, name).status_code == 422


def test_a_file_name_and_cells_stay_text(team):
    evil = "<script>alert(1)</script>"
    look = sent(team, f"{evil},voltage [V]\n{evil},1\n", f"{evil}.csv")
    assert "<script>alert" not in look.text
    assert "&lt;script&gt;" in look.text


def test_nobody_else_finds_a_file_that_was_sent(team, other):
    key = sent(team, TABLE).url.path.rpartition("/")[2]
    assert other.get(f"/teams/2/readings/import/{key}").status_code == 404
    assert other.get(f"{PAGE}/import/{key}").status_code == 404
    assert sent(other, TABLE).status_code == 404


def test_tables_to_download(team, other):
    from openpyxl import load_workbook

    answer = team.get(f"{PAGE}/export.csv")
    assert "attachment" in answer.headers["content-disposition"]
    assert re.search(r"voltage", answer.text)
    book = load_workbook(io.BytesIO(team.get(f"{PAGE}/export.xlsx").content))
    assert book.active.max_row > 2
    assert team.get(f"{PAGE}/export.exe").status_code == 404
    assert other.get(f"{PAGE}/export.csv").status_code == 404
