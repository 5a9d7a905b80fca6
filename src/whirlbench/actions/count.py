"""Speed by eye: turns counted by hand, or a stroboscope."""

from whirlbench.actions.report import Report
from whirlbench.measure.strobe import counted_speed, strobe_speed


class CountReport(Report):
    """Answer of ``count``: the speed with one standard deviation of doubt, and how it was found."""

    rotor_speed_rad_s: float
    rotor_speed_sd_rad_s: float
    source: str
    logged: bool = False


def count_turns(counted_turns, duration):
    """Speed from turns counted in a time.

    Parameters
    ----------
    counted_turns : float
        Turns [-].
    duration : float
        [s].

    Returns
    -------
    CountReport
        The speed.

    Raises
    ------
    InputError
        A number out of range.
    """
    return _report(counted_speed(counted_turns, duration))


def count_flashes(flash_rates, blade_count):
    """Speed from the flash rates at which the rotor stands still.

    Parameters
    ----------
    flash_rates : sequence of float
        The highest, or neighbouring ones [Hz].
    blade_count : int
        Blades that look alike.

    Returns
    -------
    CountReport
        The speed.

    Raises
    ------
    InputError
        A number out of range, or rates that are no neighbours.
    """
    return _report(strobe_speed(flash_rates, blade_count=blade_count))


def _report(value):
    return CountReport(rotor_speed_rad_s=value.number, rotor_speed_sd_rad_s=value.sigma, source=value.source)
