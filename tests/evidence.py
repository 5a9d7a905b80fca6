"""Rows of the outside evidence that stands in ``tests/published``."""

from pathlib import Path

from whirlbench.tables import load_file

_DRAWER = Path(__file__).parent / "published"


def rows(name):
    """Rows of ``tests/published/<name>.csv``.

    Parameters
    ----------
    name : str
        Path below the drawer, without ``.csv``.

    Returns
    -------
    tuple of Row
        The rows in file order.
    """
    return load_file(_DRAWER / f"{name}.csv").rows
