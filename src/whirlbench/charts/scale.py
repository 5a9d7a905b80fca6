"""Watts as a chart writes them: the unit that fits, and shares in percent."""

from whirlbench import units

_UNITS = {"W": 1.0, "mW": 1e-3, "µW": 1e-6}


def watt_unit(power):
    """Unit in which a power is written without many noughts, and its size.

    Parameters
    ----------
    power : float
        The largest power to show [W].

    Returns
    -------
    tuple of (str, float)
        ``W``, ``mW`` or ``µW``, and that unit in watts.
    """
    fitting = [(name, size) for name, size in _UNITS.items() if abs(power) >= size]
    return fitting[0] if fitting else ("mW", 1e-3) if power == 0 else ("µW", 1e-6)


def watts(power, unit):
    """A power with two digits, for a label; one far below the unit of its neighbours takes a smaller one.

    Parameters
    ----------
    power : float
        [W].
    unit : str
        ``W``, ``mW`` or ``µW``, the unit of its neighbours.

    Returns
    -------
    str
        Such as ``71 mW``.
    """
    if 0 < abs(power) < 0.01 * _UNITS[unit]:
        unit, _ = watt_unit(power)
    return units.show(power, unit, digits=2)


def percent(share):
    """A share in percent, short enough for a label.

    Parameters
    ----------
    share : float
        [-].

    Returns
    -------
    str
        Such as ``28 %``, ``0.4 %`` or ``under 0.1 %``.
    """
    size = abs(share) * 100
    if size == 0:
        return "0 %"
    if size < 0.1:
        return "under 0.1 %"
    return f"{share * 100:.1f} %" if size < 9.95 else f"{share * 100:.0f} %"
