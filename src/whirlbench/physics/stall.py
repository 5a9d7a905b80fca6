"""Flow that has left the section: the broad-plate law that every polar ends in."""

import numpy as np

from whirlbench.errors import within

_EDGE_SUCTION = (
    0.5808911345436207  # fit to the plateau of the measured 2 % plate and to a normal force of 1.29 at 30 deg
)
_CAMBER_LIFT = 4.525467463562042  # fit to lift past stall of the 5.9 % cambered section
_STEEPEST = 1.2  # [rad] keeps the tangent finite


def normal_drag(aspect_ratio):
    """Drag coefficient of a plate square to the wind.

    Parameters
    ----------
    aspect_ratio : float or array
        Length of the blade over its mean chord; infinity for two-dimensional flow [-].

    Returns
    -------
    float or array, shape of ``aspect_ratio``
        Drag coefficient at 90 deg [-].

    Raises
    ------
    OutOfRange
        Aspect ratio below 0.5.

    Notes
    -----
    Chosen midway between the published end points, which differ by 15 %: 1.18 to 1.98 (Hoerner, from memory)
    and 1.49 at 5 to 2.3 at infinity (Spera, second hand).

    References
    ----------
    .. [1] Hoerner, Fluid-Dynamic Drag, 1965.
    .. [2] Spera, NASA/CR-2008-215434, 2008.
    """
    within(
        "aspect ratio of the blade",
        aspect_ratio,
        low=0.5,
        high=np.inf,
        unit="",
        try_="divide blade length by mean chord",
    )
    return 1.17 + 0.83 * np.exp(-9.0 / np.asarray(aspect_ratio, dtype=float))


def separated_coefficients(alpha, *, camber_ratio, edge_drag, aspect_ratio):
    """Lift and drag coefficient of a section in fully separated flow.

    Parameters
    ----------
    alpha : float or array
        Angle of attack within -pi to pi [rad].
    camber_ratio : float
        Camber over chord, up to 0.12 [-].
    edge_drag : float or array, broadcast with ``alpha``
        Drag coefficient edge-on to the wind [-].
    aspect_ratio : float
        Length of the blade over its mean chord [-].

    Returns
    -------
    tuple of array
        Lift and drag coefficient [-].

    Raises
    ------
    OutOfRange
        Camber outside 0 to 0.12, or an aspect ratio below 0.5.

    Notes
    -----
    Normal force Cn = Cd90 sin a / (A + (1 - A) sin a), with A fitted to a normal force of 1.29 at 30 deg [1]_ and to
    the lift plateau of a 2 % plate at Re 1e5 [2]_. Wings of aspect ratio 1 to 2 lift 10 to 30 % more at 15 to 28 deg.

    References
    ----------
    .. [1] Fage and Johansen, Proc. R. Soc. A 116, 1927.
    .. [2] Selig, Donovan, Fraser, Airfoils at Low Speeds, SoarTech 8, 1989.
    """
    mirrored, flip = folded(alpha)
    sine, cosine = np.abs(np.sin(mirrored)), np.cos(mirrored)
    normal = normal_drag(aspect_ratio) * sine / (_EDGE_SUCTION + (1.0 - _EDGE_SUCTION) * sine)
    onset = np.clip((np.degrees(mirrored) + 4.0) / 8.0, 0.0, 1.0)
    camber_lift = _CAMBER_LIFT * effective_camber(camber_ratio) * cosine**2 * onset
    lift = np.sign(mirrored) * normal * cosine + camber_lift
    slope = np.abs(np.tan(np.clip(mirrored, -_STEEPEST, _STEEPEST)))
    return flip * lift, normal * sine + edge_drag * cosine**2 + camber_lift * slope


def effective_camber(camber_ratio):
    """Camber that acts on the flow: beyond 6 % of the chord only half of any more.

    Parameters
    ----------
    camber_ratio : float
        Camber over chord [-].

    Returns
    -------
    float
        Camber over chord to use in the sheet model [-].

    Raises
    ------
    OutOfRange
        Camber outside 0 to 0.12.

    Notes
    -----
    No plate above 5.9 % camber was measured in what was read; the half is judgement.
    """
    within("camber over chord", camber_ratio, low=0.0, high=0.12, unit="", try_="turn the section over or flatten it")
    return camber_ratio if camber_ratio <= 0.06 else 0.06 + 0.5 * (camber_ratio - 0.06)


def folded(alpha):
    """Angle seen by a section flown backwards, and the sign of its lift.

    Parameters
    ----------
    alpha : float or array
        Angle of attack within -pi to pi [rad].

    Returns
    -------
    tuple of array
        Angle within -pi/2 to pi/2 [rad], and 1 or -1.
    """
    alpha = np.asarray(alpha, dtype=float)
    backwards = np.abs(alpha) > np.pi / 2
    return np.where(backwards, np.copysign(np.pi, alpha) - alpha, alpha), np.where(backwards, -1.0, 1.0)
