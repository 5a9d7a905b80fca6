"""The record sheet: every run on paper once, nothing off the page, both papers, and never a broken file."""

import pypdfium2
import pytest

from whirlbench.errors import InputError, UnknownKey
from whirlbench.make.record_sheet import BOXES, CAUTION, SheetRow, record_sheet

SIZES = {"A4": (841.9, 595.3), "letter": (792, 612)}


def rows(count, *, factors=2, group=""):
    return [
        SheetRow(number, tuple(f"setting {number}{'abcdefgh'[i]}" for i in range(factors)), group, number % 6 == 1)
        for number in range(1, count + 1)
    ]


def written(path, entries, *, factors=2, **more):
    names = [f"factor {i}" for i in range(factors)]
    record_sheet(path, entries, title="Test of pitch and load", factors=names, lines=["16 runs."], **more)
    document = pypdfium2.PdfDocument(path)
    try:
        pages = [(page.get_size(), page.get_textpage().get_text_range(), page.get_bbox()) for page in document]
        marks = [[mark.get_bounds() for mark in page.get_objects()] for page in document]
    finally:
        document.close()
    return pages, marks


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("count", [1, 12, 13, 14, 40, 240])
def test_every_run_stands_once(tmp_path, count, paper):
    pages, marks = written(tmp_path / "sheet.pdf", rows(count), paper=paper)
    text = "\n".join(said for _, said, _ in pages)
    for number in range(1, count + 1):
        assert text.count(f"setting {number}a") == 1
    for number, (size, said, _) in enumerate(pages, start=1):
        assert size == pytest.approx(SIZES[paper], abs=0.5)
        assert f"page {number} of {len(pages)}" in said
        assert "Test of pitch and load" in said
    for each in marks:
        for left, bottom, right, top in each:
            assert left >= 20
            assert bottom >= 20
            assert right <= SIZES[paper][0] - 20
            assert top <= SIZES[paper][1] - 20


def test_what_the_first_page_says(tmp_path):
    pages, _ = written(tmp_path / "sheet.pdf", rows(7, group="day 1") + rows(6, group="day 2"))
    said = " ".join(pages[0][1].split())
    assert CAUTION in said
    assert "16 runs." in said
    assert all(name in said for name, _ in BOXES)
    assert all(unit in said for _, unit in BOXES)
    for words in ("team", "date", "meter and range", "factor 1", "day 1", "day 2", "ref: the starter build"):
        assert words in said
    assert said.count("ref ") >= 3


def test_a_group_that_goes_on_is_announced_on_the_next_page(tmp_path):
    pages, _ = written(tmp_path / "sheet.pdf", rows(30, group="day 1"))
    assert all("day 1" in said for _, said, _ in pages)


def test_a_row_is_never_squeezed(tmp_path):
    """As many columns as a plan can have, with names that are too long."""
    entry = SheetRow(1, ("a very long name of a setting that nobody can fit",) * 8)
    _, marks = written(tmp_path / "sheet.pdf", [entry], factors=8)
    assert max(right for each in marks for _, _, right, _ in each) <= SIZES["A4"][0] - 30


def test_same_plan_same_file(tmp_path):
    for name in ("one", "two"):
        written(tmp_path / f"{name}.pdf", rows(5))
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


@pytest.mark.parametrize("title", ["Größe & <b>Kraft</b>", "Лопасти", "22 Ω", "‰ " * 40])
def test_any_words_can_be_printed(tmp_path, title):
    record_sheet(tmp_path / "sheet.pdf", [SheetRow(1, (title,))], title=title, factors=[title], lines=[title])
    document = pypdfium2.PdfDocument(tmp_path / "sheet.pdf")
    assert len(document) == 1
    document.close()


def test_what_cannot_be_printed_is_refused(tmp_path):
    told = {"title": "x", "factors": ["pitch"]}
    with pytest.raises(InputError, match=r"an ending \.pdf"):
        record_sheet(tmp_path / "sheet.doc", rows(1, factors=1), **told)
    with pytest.raises(UnknownKey, match="A4"):
        record_sheet(tmp_path / "sheet.pdf", rows(1, factors=1), paper="A5", **told)
    with pytest.raises(InputError, match="no runs"):
        record_sheet(tmp_path / "sheet.pdf", [], **told)
    with pytest.raises(InputError, match="make the folder first"):
        record_sheet(tmp_path / "missing" / "sheet.pdf", rows(1, factors=1), **told)
    assert not list(tmp_path.iterdir())
