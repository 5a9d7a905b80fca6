"""All bench tests by name."""

from whirlbench.errors import UnknownKey, nearest
from whirlbench.measure.trial_balance import BALANCE
from whirlbench.measure.trial_generator import BREAKAWAY, LOADED_VOLTS, NO_LOAD_CURRENT, OPEN_VOLTS
from whirlbench.measure.trial_spin_down import SPIN_DOWN
from whirlbench.measure.trial_stand import BASE_TILT, TOWER_PULL
from whirlbench.measure.trial_wind import TUNNEL_MAP, WIND_MAP

TRIALS = {
    one.name: one
    for one in (
        OPEN_VOLTS,
        LOADED_VOLTS,
        NO_LOAD_CURRENT,
        BREAKAWAY,
        SPIN_DOWN,
        BALANCE,
        WIND_MAP,
        TUNNEL_MAP,
        TOWER_PULL,
        BASE_TILT,
    )
}


def trial(name):
    """Bench test of a name.

    Parameters
    ----------
    name : str
        As typed.

    Returns
    -------
    Trial
        What to do and how to read it.

    Raises
    ------
    UnknownKey
        No such test; the message names the nearest.
    """
    if name not in TRIALS:
        raise UnknownKey("bench test", f"'{name}'", "a test that we know", try_=nearest(name, TRIALS))
    return TRIALS[name]
