"""Loads statsmodels past our own tests/polars.py: it looks for a library of that name and would take ours for it."""

import sys

_OURS = sys.modules.get("polars")
sys.modules["polars"] = None  # not there, says Python to whoever asks
try:
    import statsmodels.formula.api
    import statsmodels.stats.anova  # noqa: F401
finally:
    del sys.modules["polars"]
    if _OURS is not None:
        sys.modules["polars"] = _OURS
