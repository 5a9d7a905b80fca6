"""``import whirlbench`` is quick, and so is the command line: the file that needs a heavy library imports it."""

import importlib
import subprocess
import sys

import pytest

from whirlbench.cli.main import COMMANDS, written

HEAVY = ["numba", "scipy", "pint", "pandas", "matplotlib", "vl_convert", "typer"]


def loaded_by(module):
    """Modules that a fresh Python holds after an import."""
    code = f"import sys, {module}; print(*sys.modules)"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(answer.stdout.split())


@pytest.fixture(scope="module")
def loaded():
    return loaded_by("whirlbench")


@pytest.mark.parametrize("library", HEAVY)
def test_import_leaves_heavy_libraries_alone(loaded, library):
    assert "whirlbench" in loaded
    assert library not in loaded


def test_the_command_line_loads_no_command_before_it_is_asked_for():
    loaded = loaded_by("whirlbench.cli.main")
    assert "typer" in loaded
    assert not [f"whirlbench.cli.{name}" for name in COMMANDS if f"whirlbench.cli.{name}" in loaded]
    assert not loaded & {"numba", "scipy", "pydantic"}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_named_for_its_file_and_its_function(name):
    assert hasattr(importlib.import_module(f"whirlbench.cli.{written(name)}"), written(name))
