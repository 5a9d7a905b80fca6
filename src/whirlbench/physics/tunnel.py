"""The wind a rotor meets: a fan's uneven jet, and a closed tunnel whose walls speed the air past the rotor."""

import numpy as np

from whirlbench.errors import within


def cube_mean(ring_speeds, *, map_radius, rotor_radius):
    """Speed whose cube is the mean cube over the rotor disc.

    Parameters
    ----------
    ring_speeds : array, shape (n,)
        Speeds in rings of equal area, from the axis outward [m/s].
    map_radius : float
        Outer radius of the last ring [m].
    rotor_radius : float
        Radius of the rotor disc [m].

    Returns
    -------
    float
        Speed [m/s].

    Raises
    ------
    OutOfRange
        The disc reaches more than 5 % beyond the map, or a speed is negative.

    Notes
    -----
    Power goes with the cube, so a plain mean reads low: by 6-39 % in power on three invented profiles (computed).
    """
    speeds = np.asarray(ring_speeds, dtype=float)
    within("ring speed", speeds, low=0, high=60, unit="m/s", try_="speeds in m/s, from the axis outward")
    within(
        "rotor radius on the wind map",
        rotor_radius,
        low=0.01,
        high=1.05 * map_radius,
        unit="m",
        try_="measure the wind out to the blade tips, or take a shorter blade",
    )
    edges = np.linspace(0.0, 1.0, speeds.size + 1)  # of area, as a share of the map
    reach = min((rotor_radius / map_radius) ** 2, 1.0)
    share = np.clip(reach - edges[:-1], 0, edges[1:] - edges[:-1])
    return float((share @ speeds**3 / share.sum()) ** (1 / 3))


def ring_radii(count, map_radius):
    """Radii at which to hold the anemometer: the middle, by area, of each equal-area ring.

    Parameters
    ----------
    count : int
        Number of rings, 1 or more.
    map_radius : float
        Outer radius of the last ring [m].

    Returns
    -------
    array, shape (count,)
        Radii from the axis [m].
    """
    return map_radius * np.sqrt((2 * np.arange(1, count + 1) - 1) / (2 * count))


def free_speed_ratio(thrust_coefficient, blockage):
    """Free-air speed that loads the rotor as the tunnel does, over the speed in the empty section.

    Parameters
    ----------
    thrust_coefficient : float or array
        Thrust coefficient based on the empty section's speed, 0 to 1.3 [-].
    blockage : float
        Swept area over section area, 0 to 0.5 [-].

    Returns
    -------
    float or array, shape of ``thrust_coefficient``
        Ratio, 1 or more [-]. Power coefficients fall by its cube, thrust coefficients by its square.

    Raises
    ------
    OutOfRange
        Blockage above 0.5 or thrust coefficient outside 0-1.3.

    Notes
    -----
    Actuator disc in a closed section, no wake mixing: indicative above a thrust coefficient of about 1, and
    good to about a fifth of the correction (judgement). Not for an open jet, where the sign turns.

    References
    ----------
    .. [1] M. J. Barnsley, J. F. Wellicome, 1990, as used by Bahaj et al., Renewable Energy 32:407-426, 2007.
    .. [2] C. Garrett, P. Cummins, J. Fluid Mech. 588:243-251, 2007.
    """
    return _disc(thrust_coefficient, blockage)[0]


def bypass_speed_ratio(thrust_coefficient, blockage):
    """Speed beside the running rotor over the speed in the empty section.

    Parameters
    ----------
    thrust_coefficient : float or array
        Thrust coefficient based on the empty section's speed, 0 to 1.3 [-].
    blockage : float
        Swept area over section area, 0 to 0.5 [-].

    Returns
    -------
    float or array, shape of ``thrust_coefficient``
        Ratio, 1 or more [-].

    Raises
    ------
    OutOfRange
        As ``free_speed_ratio``.

    References
    ----------
    .. [1] As ``free_speed_ratio``.
    """
    return _disc(thrust_coefficient, blockage)[1]


def tunnel_thrust(free_thrust_coefficient, blockage):
    """Tunnel thrust coefficient of a rotor whose free-air thrust coefficient is known.

    Parameters
    ----------
    free_thrust_coefficient : array, shape (n,)
        Thrust coefficients in free air [-].
    blockage : float
        Swept area over section area, 0 to 0.5 [-].

    Returns
    -------
    tuple of array, shape (n,)
        Thrust coefficient on the empty section's speed [-] and the free-air speed over that speed [-].

    Raises
    ------
    OutOfRange
        Blockage above 0.5.

    Notes
    -----
    Free-air values beyond the disc model's reach are held at its end.
    """
    table = np.linspace(0.0, 1.3, 261)
    ratio = free_speed_ratio(table, blockage)
    free = table / ratio**2
    top = int(np.argmax(free))  # beyond it the disc model folds back
    wanted = np.clip(free_thrust_coefficient, 0.0, free[top])
    found = np.interp(wanted, free[: top + 1], table[: top + 1])
    return found, np.interp(found, table, ratio)


def _disc(thrust_coefficient, blockage):
    """Free and bypass speed ratios by bisection on the wake speed."""
    within("blockage", blockage, low=0, high=0.5, unit="", try_="a rotor of at most half the section's area")
    within("thrust coefficient", thrust_coefficient, low=0, high=1.3, unit="", try_="a value from 0 to 1.3")
    thrust = np.asarray(thrust_coefficient, dtype=float)
    if blockage == 0:
        return np.ones_like(thrust), np.ones_like(thrust)
    low, high = np.zeros_like(thrust), np.ones_like(thrust)
    for _ in range(60):
        wake = 0.5 * (low + high)
        bypass = np.sqrt(thrust + wake**2)
        disc = wake * (bypass + wake) / (bypass + 2 * wake - 1 + 1e-300)
        # continuity: more flow through the disc than the bypass leaves room for means too fast a wake
        too_fast = blockage * disc * (bypass - wake) < wake * (bypass - 1)
        low, high = np.where(too_fast, low, wake), np.where(too_fast, wake, high)
    bypass = np.sqrt(thrust + wake**2)
    disc = np.where(thrust > 0, wake * (bypass + wake) / (bypass + 2 * wake - 1), 1.0)
    return disc + thrust / (4 * disc), np.where(thrust > 0, bypass, 1.0)
