"""The server's own process stays light: numbers are worked out in its workers."""

import subprocess
import sys

HEAVY = {"numba", "scipy", "pandas", "statsmodels", "reportlab", "shapely", "soundfile", "openpyxl", "vl_convert"}


def test_the_application_loads_no_numeric_library():
    code = "import sys, whirlbench.web.app; print(*sys.modules)"
    loaded = set(
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    )
    assert "whirlbench.web.app" in loaded
    assert not HEAVY & loaded
