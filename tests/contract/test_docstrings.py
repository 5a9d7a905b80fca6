"""Every public name says what it is; a formula also says what goes in, what comes out and what it refuses."""

import ast
import re

import pytest
from house import FUNCTION, is_private, place, python_files, text
from make_where import first_line, public

PUBLIC_FILES = [path for path in python_files("src") if not is_private(path)]
FORMULAS = [path for path in PUBLIC_FILES if {"physics", "predict"} & set(path.parts)]
_SECTION = re.compile(r"^([A-Z][A-Za-z ]+)\n-{3,}$", re.MULTILINE)


def sections(node):
    """Sections of a numpydoc docstring: heading and text."""
    pieces = _SECTION.split(ast.get_docstring(node) or "")
    return dict(zip(pieces[1::2], pieces[2::2], strict=True))


def documented(section):
    """Names that a Parameters or Attributes section explains, without stars."""
    heads = [line.partition(":")[0] for line in section.splitlines() if line and not line[0].isspace()]
    return [name.strip(" *\\`") for head in heads for name in head.split(",")]


def parameters(node):
    given = node.args
    every = [*given.posonlyargs, *given.args, given.vararg, *given.kwonlyargs, given.kwarg]
    return [each.arg for each in every if each and each.arg not in ("self", "cls")]


def own(node):
    """Nodes of a function's body, without those of functions inside it."""
    for child in ast.iter_child_nodes(node):
        yield child
        if not isinstance(child, ast.ClassDef | ast.Lambda | FUNCTION):
            yield from own(child)


def gives_back(node):
    """Tell whether a function returns or yields something."""
    returns = [each.value for each in own(node) if isinstance(each, ast.Return) and each.value]
    spoken = [value for value in returns if not (isinstance(value, ast.Constant) and value.value is None)]
    return bool(spoken) or any(isinstance(each, ast.Yield | ast.YieldFrom) for each in own(node))


def refuses(node):
    """Tell whether a function raises, itself or through ``within``."""
    calls = [ast.unparse(each.func).rpartition(".")[2] for each in own(node) if isinstance(each, ast.Call)]
    return "within" in calls or any(isinstance(each, ast.Raise) for each in own(node))


def is_decorated(node, *words):
    marks = [each.func if isinstance(each, ast.Call) else each for each in node.decorator_list]
    return any(ast.unparse(mark).rpartition(".")[2] in words for mark in marks)


def fields(node):
    """Public fields of a dataclass."""
    names = [
        each.target.id for each in node.body if isinstance(each, ast.AnnAssign) and isinstance(each.target, ast.Name)
    ]
    return [name for name in names if not name.startswith("_")] if is_decorated(node, "dataclass") else []


def without_summary(source):
    """Complaints about public names whose docstring does not open with a sentence."""
    tree = ast.parse(source)
    lines = [("the file", first_line(tree)), *((name, first_line(node)) for name, node in public(tree))]
    return [
        f"{name}: the docstring opens with one line that ends in a full stop"
        for name, line in lines
        if line[-1:] != "."
    ]


def differences(name, section, listed, real):
    """Complaints about names that a section forgets or makes up."""
    found = [f"{name}: {section} does not explain {word}" for word in real if word not in listed]
    return found + [f"{name}: {section} explains {word}, which is not there" for word in listed if word not in real]


def half_told(source):
    """Complaints about public formulas whose docstring leaves out a section or a parameter."""
    found = []
    for name, node in public(ast.parse(source)):
        told = sections(node)
        if isinstance(node, ast.ClassDef):
            found += differences(name, "Attributes", documented(told.get("Attributes", "")), fields(node))
            continue
        if is_decorated(node, "property", "cached_property", "setter"):
            continue
        found += differences(name, "Parameters", documented(told.get("Parameters", "")), parameters(node))
        if gives_back(node) and not {"Returns", "Yields"} & set(told):
            found.append(f"{name}: returns something, but has no Returns")
        if refuses(node) and "Raises" not in told:
            found.append(f"{name}: refuses something, but has no Raises")
    return found


@pytest.mark.parametrize("path", PUBLIC_FILES, ids=place)
def test_public_names_open_with_a_sentence(path):
    found = without_summary(text(path))
    assert not found, "\n".join(f"{place(path)}: {each}" for each in found)


@pytest.mark.parametrize("path", FORMULAS, ids=place)
def test_formulas_are_told_in_full(path):
    found = half_told(text(path))
    assert not found, "\n".join(f"{place(path)}: {each}" for each in found)


FULL = '''
def drag(speed, *, area):
    """Drag of a plate.

    Parameters
    ----------
    speed, area : float
        Speed [m/s] and area [m²].

    Returns
    -------
    float
        Drag [N].

    Raises
    ------
    OutOfRange
        Below 0.
    """
    within("speed", speed, low=0, high=1, unit="m/s", try_="slow down")
    return speed * area


@dataclass(frozen=True)
class Plate:
    """A plate.

    Attributes
    ----------
    area : float
        Area [m²].
    """

    area: float

    @property
    def half(self):
        """Half the area [m²]."""
        return self.area / 2
'''


@pytest.mark.parametrize(
    ("old", "new", "count"),
    [
        ("", "", 0),
        ("speed, area : float", "speed : float", 1),
        ("speed, area : float", "speed, area, mass : float", 1),
        ("Returns\n    -------", "Notes\n    -----", 1),
        ("Raises\n    ------", "Notes\n    -----", 1),
        ("    area : float\n        Area", "    mass : float\n        Area", 2),
    ],
)
def test_the_formula_check_can_fail(old, new, count):
    assert len(half_told(FULL.replace(old, new))) == count


@pytest.mark.parametrize("line", ["Plates.", "Drag of a plate.", "A plate.", "Half the area [m²]."])
def test_the_summary_check_can_fail(line):
    source = f'"""Plates."""\n{FULL}'
    assert not without_summary(source)
    assert len(without_summary(source.replace(f'"""{line}', f'"""{line[:-1]}'))) == 1
