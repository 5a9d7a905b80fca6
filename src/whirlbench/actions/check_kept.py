"""Check a kept turbine, asked for from another process: plain values in."""

from whirlbench.actions.check import check
from whirlbench.actions.kept_turbine import restored
from whirlbench.parts.event import Event
from whirlbench.parts.plain import part_of


def check_kept(kept, event):
    """Check a turbine that was kept.

    Parameters
    ----------
    kept : list
        Canonical JSON of the turbine, and the text of each file that it names.
    event : str or None
        Canonical JSON of the event's rules.

    Returns
    -------
    CheckReport
        As ``check`` gives it.

    Raises
    ------
    InputError
        As ``check``.
    """
    return check(restored(*kept), part_of(Event, event, where="event") if event else None)
