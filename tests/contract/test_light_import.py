"""``import whirlbench`` is quick: the file that needs a heavy library imports it."""

import subprocess
import sys

import pytest

HEAVY = ["numba", "scipy", "pint", "pandas", "matplotlib", "vl_convert", "typer"]


@pytest.fixture(scope="module")
def loaded():
    """Modules that a fresh Python holds after the import."""
    code = "import sys, whirlbench; print(*sys.modules)"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(answer.stdout.split())


@pytest.mark.parametrize("library", HEAVY)
def test_import_leaves_heavy_libraries_alone(loaded, library):
    assert "whirlbench" in loaded
    assert library not in loaded
