"""The best any rotor can do: Betz, the optimum rotor with wake swirl, and blades of its shape."""

import numpy as np

from whirlbench.errors import within

BETZ = 16 / 27


def optimum_power_coefficient(tip_speed_ratio):
    """Largest power coefficient of a rotor with wake swirl, endless blades and no drag.

    Parameters
    ----------
    tip_speed_ratio : float or array
        0.05 to 30 [-].

    Returns
    -------
    float or array, shape of the input
        Power coefficient [-].

    Raises
    ------
    OutOfRange
        Tip-speed ratio outside 0.05-30.

    References
    ----------
    .. [1] H. Glauert, Airplane Propellers, in Aerodynamic Theory IV (Durand ed.), 1935, division L.
    """
    within("tip-speed ratio", tip_speed_ratio, low=0.05, high=30, unit="", try_="a tip-speed ratio from 0.05 to 30")
    ratios = np.atleast_1d(np.asarray(tip_speed_ratio, dtype=float))
    nodes, weights = np.polynomial.legendre.leggauss(64)
    s = 0.5 * (nodes + 1)
    # x = ratio * s^2 gathers nodes near the axis, where swirl is strong
    x = ratios[:, None] * s**2
    induction, swirl = optimum_induction(x)
    integrand = swirl * (1 - induction) * x**3 * ratios[:, None] * s  # dx = 2 ratio s ds, ds = d(node) / 2
    found = 8 / ratios**2 * (integrand @ weights)
    return found if np.ndim(tip_speed_ratio) else float(found[0])


def optimum_inflow_angle(speed_ratio):
    """Inflow angle of the optimum rotor with wake swirl.

    Parameters
    ----------
    speed_ratio : float or array
        Local speed ratio, above 0 [-].

    Returns
    -------
    float or array, shape of the input
        Angle between the air and the rotor plane [rad].

    References
    ----------
    .. [1] J. F. Manwell, J. G. McGowan, A. L. Rogers, Wind Energy Explained, ch. 3.
    """
    return 2 / 3 * np.arctan(1 / np.asarray(speed_ratio))


def optimum_induction(speed_ratio):
    """Axial and swirl induction of the optimum rotor.

    Parameters
    ----------
    speed_ratio : float or array
        Local speed ratio, above 0 [-].

    Returns
    -------
    tuple of float or array, shape of the input
        Axial induction a and swirl induction a' [-].

    Notes
    -----
    With tan(phi) = (1 - a) / (x (1 + a')) and a' (1 + a') x^2 = a (1 - a), eliminating a' leaves a line in 1 - a.

    References
    ----------
    .. [1] H. Glauert, Airplane Propellers, in Aerodynamic Theory IV (Durand ed.), 1935, division L.
    """
    tangent = np.tan(optimum_inflow_angle(speed_ratio))
    passing = (1 + speed_ratio / tangent) / (1 + 1 / tangent**2)
    return 1 - passing, passing / (speed_ratio * tangent) - 1


def optimum_blade(radius, tip_speed_ratio, blade_count, *, rotor_radius, design_lift, design_alpha):
    """Chord and pitch of the optimum rotor with wake swirl.

    Parameters
    ----------
    radius : array, shape (m,)
        Radii of the stations [m].
    tip_speed_ratio : float
        Design tip-speed ratio [-].
    blade_count : int
        Number of blades.
    rotor_radius : float
        Tip radius [m].
    design_lift : float
        Lift coefficient to work at [-].
    design_alpha : float
        Angle of attack that gives it [rad].

    Returns
    -------
    tuple of array, shape (m,)
        Chord [m] and angle from the rotor plane [rad].

    References
    ----------
    .. [1] J. F. Manwell, J. G. McGowan, A. L. Rogers, Wind Energy Explained, ch. 3.
    """
    phi = optimum_inflow_angle(tip_speed_ratio * np.asarray(radius) / rotor_radius)
    chord = 8 * np.pi * np.asarray(radius) * (1 - np.cos(phi)) / (blade_count * design_lift)
    return chord, phi - design_alpha


def finite_blade_bound(tip_speed_ratio, blade_count, lift_to_drag):
    """Fitted ceiling on the power coefficient of a rotor with few blades and real sections.

    Parameters
    ----------
    tip_speed_ratio : float or array
        4 to 20 [-].
    blade_count : int
        1 to 3.
    lift_to_drag : float
        Best lift over drag of the section, 25 or more; may be infinite [-].

    Returns
    -------
    float or array, shape of ``tip_speed_ratio``
        Power coefficient [-].

    Raises
    ------
    OutOfRange
        Outside the ranges above, where the fit was not made.

    References
    ----------
    .. [1] R. E. Wilson, P. B. S. Lissaman, S. N. Walker, ERDA/NSF/04014-76/1, 1976, as quoted in Wind Energy
       Explained, ch. 3 (from memory).
    """
    within("tip-speed ratio", tip_speed_ratio, low=4, high=20, unit="", try_="the optimum-rotor bound below 4")
    within("number of blades", blade_count, low=1, high=3, unit="", try_="the optimum-rotor bound above 3 blades")
    within("lift over drag", lift_to_drag, low=25, high=np.inf, unit="", try_="the optimum-rotor bound below 25")
    ratio = np.asarray(tip_speed_ratio, dtype=float)
    swirl_and_tip = ratio + (1.32 + ((ratio - 8) / 20) ** 2) / blade_count ** (2 / 3)
    drag = 0.57 * ratio**2 / (lift_to_drag * (ratio + 1 / (2 * blade_count)))
    return BETZ * ratio / swirl_and_tip - drag
