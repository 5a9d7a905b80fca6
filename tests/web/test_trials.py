"""Bench tests on the page: listed, filled in, and kept in the turbine as a version."""

PAGE = "/teams/1/readings/trials"


def filled(page, volts):
    """Cells of the sheet of open volts."""
    cells = {}
    for row, speed in enumerate((300, 600, 900, 1200)):
        cells |= {f"cell-{row}-0": str(speed), f"cell-{row}-1": volts(speed)}
    return cells


def test_the_tests_are_listed_and_each_has_a_sheet(team):
    listed = team.get(PAGE).text
    assert "open-volts" in listed
    sheet = team.get(f"{PAGE}/open-volts").text
    assert "Step by step" in sheet
    assert 'name="cell-0-0"' in sheet
    assert team.get(f"{PAGE}/open-volts/sheet.pdf").content.startswith(b"%PDF")
    assert team.get(f"{PAGE}/nothing").status_code == 404


def test_a_filled_sheet_is_told_and_then_kept_in_the_turbine(team):
    place = f"{PAGE}/open-volts"
    cells = filled(place, lambda speed: f"{0.0011 * speed + 0.004:.3f}".replace(".", ","))
    look = team.submit(place, cells)
    assert look.status_code == 200, look.text
    assert "V/krpm" in look.text
    assert "Keep it in the turbine" in look.text
    kept = team.submit(place, cells | {"do": "keep"})
    assert "Kept as version 2" in kept.text
    again = team.submit(place, cells | {"do": "keep"})
    assert "said so already" in again.text or "Kept as version 3" in again.text


def test_a_wrong_cell_is_told_by_its_row_and_stays(team):
    place = f"{PAGE}/open-volts"
    answer = team.submit(place, filled(place, lambda speed: "much" if speed == 600 else f"{0.0011 * speed:.3f}"))
    assert answer.status_code == 422
    assert "row 2" in answer.text
    assert 'value="much"' in answer.text
    assert team.submit(place, {}).status_code == 422


def test_another_team_has_its_own_turbine_or_none(team, other):
    assert other.get(f"{PAGE}/open-volts").status_code == 404
    assert "Keep a turbine first" in other.get("/teams/2/readings/trials/open-volts").text
    assert other.submit("/teams/2/readings/trials/open-volts", {}).status_code == 404
