"""docs/where.md is what the docstrings say today."""

import ast

import make_where


def test_the_page_is_up_to_date():
    written = make_where.PAGE.read_text(encoding="utf-8")
    assert written == make_where.page(), "run: python docs/make_where.py"


def test_a_file_is_told_by_its_public_names():
    tree = ast.parse(
        'def drag():\n    """Drag of a plate.\n\n    More."""\nclass Plate:\n    def half(self): ...\ndef _in(): ...'
    )
    assert [(name, make_where.first_line(node)) for name, node in make_where.public(tree)] == [
        ("drag", "Drag of a plate."),
        ("Plate", ""),
        ("Plate.half", ""),
    ]
