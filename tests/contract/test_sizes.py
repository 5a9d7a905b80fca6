"""Functions, files and signatures stay small enough to be read at one sitting."""

import ast

import pytest
from house import FUNCTION, code_lines, place, python_files, text
from make_where import ROOT

FUNCTION_LINES, FILE_LINES, PUBLIC_NAMES, BY_POSITION = 40, 350, 15, 4
COMPILED = {"njit", "jit", "vectorize", "guvectorize", "cfunc"}  # numba knows no keyword-only parameters
SOURCES = [*python_files("src"), *python_files("docs"), ROOT / "bench.py"]
TESTS = python_files("tests")


def functions(tree):
    return [node for node in ast.walk(tree) if isinstance(node, FUNCTION)]


def long_ones(source):
    """Complaints about the file and its functions."""
    lines = code_lines(source)
    found = [f"{len(lines)} code lines in the file, at most {FILE_LINES}"] if len(lines) > FILE_LINES else []
    for node in functions(ast.parse(source)):
        size = len(lines & set(range(node.lineno, node.end_lineno + 1)))
        if size > FUNCTION_LINES:
            found.append(f"line {node.lineno}: {node.name} has {size} code lines, at most {FUNCTION_LINES}")
    return found


def public_names(tree):
    """Functions and classes that a file offers; constants and annotated types read like a table, however many."""
    return [node.name for node in tree.body if isinstance(node, ast.ClassDef | FUNCTION) and node.name[0] != "_"]


def decorators(node):
    """Last words of a function's decorators, for example ``njit`` of ``@numba.njit(cache=True)``."""
    calls = [each.func if isinstance(each, ast.Call) else each for each in node.decorator_list]
    return {ast.unparse(call).rpartition(".")[2] for call in calls}


def crowded(source):
    """Complaints about signatures and about how much a file offers."""
    tree = ast.parse(source)
    names = public_names(tree)
    found = [f"{len(names)} public names, at most {PUBLIC_NAMES}"] if len(names) > PUBLIC_NAMES else []
    for node in functions(tree):
        given = [each.arg for each in [*node.args.posonlyargs, *node.args.args] if each.arg not in ("self", "cls")]
        if len(given) > BY_POSITION and not decorators(node) & COMPILED:
            found.append(
                f"line {node.lineno}: {node.name} takes {len(given)} parameters by position, at most {BY_POSITION}; "
                "put * before the rest"
            )
    return found


@pytest.mark.parametrize("path", [*SOURCES, *TESTS], ids=place)
def test_files_and_functions_are_short(path):
    found = long_ones(text(path))
    assert not found, "\n".join(f"{place(path)}: {each}" for each in found)


@pytest.mark.parametrize("path", SOURCES, ids=place)
def test_files_and_signatures_are_not_crowded(path):
    found = crowded(text(path))
    assert not found, "\n".join(f"{place(path)}: {each}" for each in found)


def function_of(lines):
    body = "    x = (\n        1\n    )\n" + "    x = 1\n" * (lines - 4)
    return f'def long():\n    """Words.\n\n    More words.\n    """\n    # why\n\n{body}'


@pytest.mark.parametrize(("source", "count"), [(function_of(40), 0), (function_of(41), 1), ("x = 1\n" * 351, 1)])
def test_the_line_check_can_fail(source, count):
    assert len(long_ones(source)) == count


@pytest.mark.parametrize(
    ("source", "count"),
    [
        ("def f(a, b, c, d, *, e): ...", 0),
        ("def f(a, b, c, d, e): ...", 1),
        ("class C:\n    def f(self, a, b, c, d): ...", 0),
        ("@numba.njit(cache=True)\ndef f(a, b, c, d, e): ...", 0),
        ("\n".join(f"def f{number}(): ..." for number in range(15)) + "\ndef _f(): ...\nN = 1", 0),
        ("\n".join(f"def f{number}(): ..." for number in range(15)) + "\nclass C: ...", 1),
    ],
)
def test_the_crowd_check_can_fail(source, count):
    assert len(crowded(source)) == count
