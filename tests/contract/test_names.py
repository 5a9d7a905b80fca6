"""One name for one quantity: signatures of the physics use the words of docs/names.csv."""

import ast
import csv
import re

import pytest
from house import is_private, place, python_files, text
from make_where import ROOT, public

COLUMNS = ["name", "symbol", "unit", "sign", "meaning"]
QUANTITIES = list(csv.DictReader((ROOT / "docs" / "names.csv").read_text(encoding="utf-8").splitlines()))
PLAIN = [
    line
    for line in (ROOT / "docs" / "plain_words.txt").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]
KNOWN = {row["name"] for row in QUANTITIES} | set(PLAIN)
PHYSICS = [path for path in python_files("src/whirlbench/physics") if not is_private(path)]


def parameters(node):
    given = node.args
    every = [*given.posonlyargs, *given.args, given.vararg, *given.kwonlyargs, given.kwarg]
    return [each.arg for each in every if each and each.arg not in ("self", "cls")]


def strangers(source, known):
    """Complaints about parameters of public functions whose name is not in the lists."""
    functions = [(name, node) for name, node in public(ast.parse(source)) if not isinstance(node, ast.ClassDef)]
    return [
        f"{name}({word}) is not a row of docs/names.csv, nor a plain word of docs/plain_words.txt"
        for name, node in functions
        for word in parameters(node)
        if not {word, word.removesuffix("s")} & known or len(word) == 1  # wind_speeds: many a wind_speed
    ]


@pytest.mark.parametrize("path", PHYSICS, ids=place)
def test_signatures_use_the_names_of_the_house(path):
    found = strangers(text(path), KNOWN)
    assert not found, "\n".join(f"{place(path)}: {each}" for each in found)


def test_the_check_can_fail():
    known = {"wind_speed", "x"}
    assert not strangers("def power(wind_speed): ...\ndef curve(wind_speeds): ...\ndef _power(u): ...", known)
    assert strangers("def power(wind): ...", known)
    assert strangers("def power(*, speed=1): ...", known)
    assert strangers("class Fan:\n    def power(self, wind): ...", known)
    assert strangers("def power(x): ...", known), "one letter is no word, listed or not"


@pytest.mark.parametrize("row", QUANTITIES, ids=lambda row: row["name"])
def test_a_quantity_is_told_in_full(row):
    assert list(row) == COLUMNS, f"a row of names.csv has the columns {', '.join(COLUMNS)}; quote a cell with a comma"
    assert all(cell and cell.strip() for cell in row.values()), f"an empty cell in {row}"
    assert re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)*", row["name"]), f"{row['name']}: whole words in lower case"


def test_each_name_stands_once():
    names = [row["name"] for row in QUANTITIES] + PLAIN
    assert sorted(names) == sorted(set(names)), sorted(name for name in names if names.count(name) > 1)


def test_plain_words_are_in_order():
    assert sorted(PLAIN) == PLAIN
