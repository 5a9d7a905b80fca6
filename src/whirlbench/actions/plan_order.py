"""A plan as a page orders it: what was typed becomes a plan; its sheet becomes a file; both in another process."""

import re
import tempfile
from pathlib import Path

from whirlbench.actions.plan import write_csv, write_sheet
from whirlbench.errors import InputError
from whirlbench.measure import design, fractions
from whirlbench.measure.plan import Factor, Plan
from whirlbench.measure.plan_words import sizes_of

_SHARES = {"1/2": 2, "1/4": 4, "1/8": 8}


def ordered(wishes):
    """Plan from what was typed.

    Parameters
    ----------
    wishes : dict
        ``factors``: pairs of a name and its levels parted by commas or semicolons; ``gain`` and ``scatter`` such as
        ``8 %`` or ``5 mW``; ``replicates``, ``blocks``, ``reference_every`` and ``seed``: whole numbers or None;
        ``block_name``; ``paired``; ``fraction`` such as ``1/2``.

    Returns
    -------
    Plan
        With its order of runs.

    Raises
    ------
    InputError
        What cannot be planned.
    """
    factors = [_factor(name, levels) for name, levels in wishes["factors"]]
    if not factors:
        raise InputError("what you change", "nothing", "a thing and two settings", try_="pitch, and 8 deg, 12 deg")
    share = wishes.get("fraction")
    more = {name: wishes[name] for name in ("replicates", "reference_every") if wishes.get(name) is not None}
    return design.design(
        factors,
        **sizes_of(*(wishes.get(name, "").strip() or None for name in ("gain", "scatter")), try_="8 % and 4 %"),
        blocks=wishes.get("blocks") or 1,
        block_name=wishes.get("block_name") or "block",
        paired=bool(wishes.get("paired")),
        generators=fractions.generators(len(factors), _SHARES[share]) if share in _SHARES else (),
        seed=wishes.get("seed") or 0,
        **more,
    )


def sheet(plan, kind, paper):
    """Record sheet of a plan.

    Parameters
    ----------
    plan : dict
        The plan as plain values.
    kind : str
        ``pdf`` to print, ``csv`` to fill in.
    paper : str
        ``A4`` or ``letter``.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    InputError
        Unknown paper.
    """
    plan = Plan.model_validate(plan)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"plan.{kind}"
        if kind == "pdf":
            write_sheet(plan, path, paper=paper)
        else:
            write_csv(plan, path)
        return path.read_bytes()


def _factor(name, levels):
    parts = re.split(r";" if ";" in levels else r",", levels)
    return Factor(name=" ".join(name.split()), levels=tuple(" ".join(part.split()) for part in parts if part.strip()))
