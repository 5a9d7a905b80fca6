"""Imports point down the house, never up or sideways."""

import ast
import sys

import pytest
from house import FUNCTION, place, python_files, text
from make_where import SOURCE

# From the top floor to the ground; drawers on one floor do not know each other.
FLOORS = [
    {"cli"},  # which starts the page
    {"web"},
    {"actions"},
    {"store"},
    {"advise", "event"},
    {"predict", "measure", "make"},
    {"parts", "physics"},
    {"tables"},
    {"charts"},
    {"units"},
    {"value", "errors"},
]
ONLY_FOR = {"charts": {"cli", "web", "actions"}}  # how a chart looks is for those who show it
PHYSICS_USES = {"whirlbench", "numpy", "numba", *sys.stdlib_module_names}
PHYSICS_USES_LATE = {"scipy", "neuralfoil"}  # slow to import, or optional: inside the function that needs it
SOURCES = python_files("src")


def floor_of(drawer):
    return next((number for number, drawers in enumerate(FLOORS) if drawer in drawers), None)


def module_of(path):
    """Dotted name of a source file, without ``__init__``."""
    parts = ["whirlbench", *path.relative_to(SOURCE).with_suffix("").parts]
    return parts[:-1] if parts[-1] == "__init__" else parts


def imports(source, package):
    """Line and dotted name of every import in a file, those inside functions too."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            module = ".".join([*above, *filter(None, [node.module])])
            yield from ((node.lineno, f"{module}.{alias.name}") for alias in node.names)


def complaints(where, source, module, is_package=False):
    """Sentences about the imports of one file that do not point down."""
    drawer = module[1]
    if floor_of(drawer) is None:
        return [f"{where}: '{drawer}' has no floor; give it one in FLOORS of tests/contract/test_layers.py"]
    found = []
    for line, name in imports(source, module if is_package else module[:-1]):
        root, _, rest = name.partition(".")
        other = rest.partition(".")[0]
        if root != "whirlbench" or other == drawer or other.startswith("__"):
            continue
        below = floor_of(other)
        if below is None or below <= floor_of(drawer):
            found.append(f"{where}:{line}: {drawer} may not import {name}, which is not below it")
        elif drawer not in ONLY_FOR.get(other, {drawer}):
            found.append(f"{where}:{line}: {drawer} may not import {name}, which is for {sorted(ONLY_FOR[other])}")
    return found


@pytest.mark.parametrize("path", [path for path in SOURCES if len(module_of(path)) > 1], ids=place)
def test_imports_point_down(path):
    found = complaints(place(path), text(path), module_of(path), path.stem == "__init__")
    assert not found, "\n".join(found)


def strangers(source):
    """Complaints about libraries that a physics file should not lean on."""
    functions = [node for node in ast.walk(ast.parse(source)) if isinstance(node, FUNCTION)]
    late = {line for node in functions for line in range(node.lineno, node.end_lineno + 1)}
    return [
        f"line {line}: physics may not import {name} here"
        for line, name in imports(source, ["whirlbench", "physics"])
        if name.partition(".")[0] not in (PHYSICS_USES | PHYSICS_USES_LATE if line in late else PHYSICS_USES)
    ]


@pytest.mark.parametrize("path", python_files("src/whirlbench/physics"), ids=place)
def test_physics_stands_on_numbers_alone(path):
    found = strangers(text(path))
    assert not found, "\n".join(f"{place(path)}: {each}" for each in found)


def test_the_library_check_can_fail():
    assert not strangers("import math\nimport numpy as np\ndef root():\n    import scipy.optimize")
    assert strangers("import scipy.optimize")
    assert strangers("try:\n    import scipy\nfinally:\n    pass")
    assert strangers("def chart():\n    import pandas")


@pytest.mark.parametrize(
    ("module", "source", "noticed"),
    [
        ("physics.gears", "from whirlbench.predict import balance", True),
        ("physics.gears", "def late():\n    import whirlbench.parts.gears", True),
        ("physics.gears", "from whirlbench import errors, parts", True),
        ("physics.gears", "from ..parts import gears", True),
        ("physics.gears", "from . import bearings\nfrom .bearings import drag", False),
        (
            "physics.gears",
            "import numpy\nfrom whirlbench.tables import load\nfrom whirlbench.errors import within",
            False,
        ),
        ("physics.gears", "from whirlbench import charts", True),
        ("predict.balance", "from whirlbench.physics import gears\nfrom whirlbench.parts import gears", False),
        ("predict.balance", "from whirlbench.measure import fit", True),
        ("actions.predict", "from whirlbench import charts, units", False),
        ("errors", "from whirlbench.value import Value", True),
        ("units", "from whirlbench import __version__", False),
        ("helpers.odds", "", True),
    ],
)
def test_the_layer_check_can_fail(module, source, noticed):
    assert bool(complaints("a file", source, ["whirlbench", *module.split(".")])) is noticed
