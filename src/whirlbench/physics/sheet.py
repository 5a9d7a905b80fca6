"""Lift and drag of blades cut from flat or bent sheet."""

import numpy as np

from whirlbench.errors import UnknownKey, nearest, within
from whirlbench.physics.section import ALPHA_DEG, LOG_REYNOLDS, PolarTable
from whirlbench.physics.stall import effective_camber, folded, separated_coefficients

EDGE_DRAG = {  # drag of the two edges over thickness
    "square": 0.90,  # from memory: a blunt bar
    "rounded": 0.15,  # judgement
    "mixed": 0.30,  # consistent with the measured 2 % plate
    "unknown": 0.30,
    "airfoil nose": 0.15,  # a nose carved like an airfoil's, tail thin
}
SOURCE = (
    "own sheet model, fitted to a 2 % flat plate (Selig, Donovan, Fraser 1989) and a 5.9 % cambered thin section "
    "(Lyon et al. 1997); no measured plain bent sheet behind it, nothing below Re 5.9e4"
)

_SLOPE = 0.9481145534514585  # of the thin-airfoil lift slope, at high Reynolds number
_SLOPE_LOSS = 18.0  # judgement
_FULL_CAMBER = 0.059  # the cambered section that was measured; effects of bending grow in proportion up to it
_CAMBER_SLOPE_LOSS = 1.0 - 0.8301485447316823
_RECOVERY_WIDTH = 1.370577871104956  # [deg]
_RECOVERY_SHIFT = 6.268046261800848  # [deg per decade of Re]
_NOSE_DECAY = 3.086502861096509  # [deg]
_VISCOUS_GROWTH = 0.3408381796410333
_PLAIN_GROWTH = 1.16  # judgement
_AFT_DRAG = 0.047370163476104885
_STALL = 10.457468885529794  # [deg]
_STALL_CAMBER = 68.24721308483723  # [deg per unit camber]
_STALL_WIDTH = 1.6467964237767213  # [deg]


def sheet_coefficients(alpha, reynolds, *, thickness_ratio, camber_ratio=0.0, edge="unknown", aspect_ratio=7.0):
    """Lift and drag coefficient of flat or bent sheet at any angle.

    Parameters
    ----------
    alpha : float or array
        Angle between chord line and wind, within -pi to pi [rad].
    reynolds : float or array, broadcast with ``alpha``
        Chord Reynolds number, 1e3 to 1e6 [-].
    thickness_ratio : float
        Sheet thickness over chord, 0.001 to 0.2 [-].
    camber_ratio : float
        Camber over chord, 0 to 0.12; 0 is flat [-].
    edge : str
        ``square``, ``rounded``, ``mixed``, ``unknown`` or ``airfoil nose``.
    aspect_ratio : float
        Blade length over mean chord, 0.5 or more; acts on separated flow only [-].

    Returns
    -------
    tuple of array
        Lift and drag coefficient [-].

    Raises
    ------
    OutOfRange
        A number outside the ranges above.
    UnknownKey
        No such edge.

    Notes
    -----
    Attached flow: thin-airfoil lift with a slope lost to low Reynolds number, laminar friction, edge drag, and the nose
    suction that a sharp edge cannot hold. Past about 10 deg a logistic switch leads to the separated law of `stall`.
    Fitted to a 2 % plate [1]_ and a 5.9 % cambered thin section [2]_ at Re 6e4 to 3e5; the rest is extrapolation, and
    plain bent sheet has no measured set behind it. At negative angles bent sheet reads 0.2 to 0.25 too much lift.

    References
    ----------
    .. [1] Selig, Donovan, Fraser, Airfoils at Low Speeds, SoarTech 8, 1989.
    .. [2] Lyon, Broeren, Giguere, Gopalarathnam, Selig, Summary of Low-Speed Airfoil Data Vol. 3, 1997.
    """
    _check(reynolds, thickness_ratio, edge)
    mirrored, flip = folded(alpha)
    reynolds = np.asarray(reynolds, dtype=float)
    camber = effective_camber(camber_ratio)
    edge_on = edge_on_drag(reynolds, thickness_ratio=thickness_ratio, edge=edge)
    near = _attached(mirrored, reynolds, thickness_ratio, camber, edge=edge)
    near = near[0], near[1] + edge_on + 0.4 * max(camber_ratio - 0.06, 0.0)  # judgement: deep camber
    far = separated_coefficients(mirrored, camber_ratio=camber_ratio, edge_drag=edge_on, aspect_ratio=aspect_ratio)
    share = _separated_share(np.degrees(mirrored), camber)
    return flip * ((1.0 - share) * near[0] + share * far[0]), (1.0 - share) * near[1] + share * far[1]


def edge_on_drag(reynolds, *, thickness_ratio, edge):
    """Drag coefficient of a sheet edge-on to the wind.

    Parameters
    ----------
    reynolds : float or array
        Chord Reynolds number [-].
    thickness_ratio : float
        Sheet thickness over chord [-].
    edge : str
        ``square``, ``rounded``, ``mixed``, ``unknown`` or ``airfoil nose``.

    Returns
    -------
    float or array, shape of ``reynolds``
        Drag coefficient [-].

    Notes
    -----
    Laminar friction of both sides (Blasius, from memory) plus the drag of the edges.
    """
    return _friction(reynolds) * (1.0 + 2.0 * thickness_ratio) + EDGE_DRAG[edge] * thickness_ratio


def sheet_polar(thickness_ratio, camber_ratio=0.0, edge="unknown", aspect_ratio=7.0):
    """Polar table of flat or bent sheet.

    Parameters
    ----------
    thickness_ratio : float
        Sheet thickness over chord, 0.001 to 0.2 [-].
    camber_ratio : float
        Camber over chord, 0 to 0.12; 0 is flat [-].
    edge : str
        ``square``, ``rounded``, ``mixed``, ``unknown`` or ``airfoil nose``.
    aspect_ratio : float
        Blade length over mean chord [-].

    Returns
    -------
    PolarTable
        Lift and drag over all angles, Re 5e3 to 5e5.

    Raises
    ------
    OutOfRange
        A ratio outside its range.
    UnknownKey
        No such edge.
    """
    cl, cd = sheet_coefficients(
        np.radians(ALPHA_DEG),
        np.exp(LOG_REYNOLDS)[:, None],
        thickness_ratio=thickness_ratio,
        camber_ratio=camber_ratio,
        edge=edge,
        aspect_ratio=aspect_ratio,
    )
    shape = "flat sheet" if camber_ratio == 0 else f"sheet bent to {100 * camber_ratio:.1f} %"
    name = f"{shape}, {100 * thickness_ratio:.1f} % thick, edges {edge}"
    return PolarTable(ALPHA_DEG, LOG_REYNOLDS, cl, cd, name, SOURCE, sheet_kind(camber_ratio, edge))


def far_coefficients(*, thickness_ratio, camber_ratio, aspect_ratio):
    """Lift and drag coefficient that any section fades into outside the angles of its own polar.

    Parameters
    ----------
    thickness_ratio, camber_ratio : float
        Thickness and camber over chord [-].
    aspect_ratio : float
        Blade length over mean chord [-].

    Returns
    -------
    tuple of array, shape (24, 148)
        Lift and drag coefficient on the grid of `section` [-].

    Raises
    ------
    OutOfRange
        A ratio outside its range.

    Notes
    -----
    Forwards the separated law; backwards a rounded sheet, which lifts again near 180 deg. For NACA 0015 [1]_ between
    155 and 180 deg the sheet misses the lift by 0.11 on average, the separated law by 0.20.

    References
    ----------
    .. [1] Sheldahl and Klimas, SAND80-2114, 1981.
    """
    alpha, reynolds = np.radians(ALPHA_DEG), np.exp(LOG_REYNOLDS)[:, None]
    shape = {"camber_ratio": camber_ratio, "aspect_ratio": aspect_ratio}
    edge_on = edge_on_drag(reynolds, thickness_ratio=thickness_ratio, edge="rounded")
    separated = separated_coefficients(alpha, edge_drag=edge_on, **shape)
    sheet = sheet_coefficients(alpha, reynolds, thickness_ratio=thickness_ratio, edge="rounded", **shape)
    backwards = np.abs(ALPHA_DEG) > 90
    return tuple(np.where(backwards, near, far) for near, far in zip(sheet, separated, strict=True))


def sheet_kind(camber_ratio, edge):
    """Row of the doubt table that speaks for a sheet.

    Parameters
    ----------
    camber_ratio : float
        Camber over chord [-].
    edge : str
        Edge of the sheet.

    Returns
    -------
    str
        Section kind.

    Notes
    -----
    Less than half a per cent of camber counts as flat.
    """
    if camber_ratio > 0.06:
        return "bent sheet, deep"
    if camber_ratio > 0.005:
        return "bent sheet"
    return "flat sheet, edge unknown" if edge == "unknown" else "flat sheet"


def _check(reynolds, thickness_ratio, edge):
    within("chord Reynolds number", reynolds, low=1e3, high=1e6, unit="", try_="check chord [m] and speed [m/s]")
    within("thickness over chord", thickness_ratio, low=0.001, high=0.2, unit="", try_="give both in the same unit")
    if edge not in EDGE_DRAG:
        raise UnknownKey("edge", f"'{edge}'", "a known edge", try_=nearest(edge, EDGE_DRAG))


def _friction(reynolds):
    return 2.656 / np.sqrt(reynolds)


def _attached(alpha, reynolds, thickness, camber, *, edge):
    """Attached lift, and drag beyond edge-on drag; alpha within a quarter turn."""
    carved = edge == "airfoil nose"
    degrees, bent = np.degrees(alpha), min(camber / _FULL_CAMBER, 1.0)
    recovered_at = np.minimum(3.0, (2.1302616120905675 if carved else 0.0) - _RECOVERY_SHIFT * np.log10(reynolds / 6e4))
    lost = bent * (1.0 - _logistic((degrees - recovered_at) / _RECOVERY_WIDTH))
    slope = 2.0 * np.pi * _SLOPE * (1.0 - _SLOPE_LOSS / np.sqrt(reynolds)) * (1.0 - _CAMBER_SLOPE_LOSS * bent)
    lift = slope * (1.0 - lost) * (np.sin(alpha) + 2.0 * camber * np.cos(alpha))

    smooth_entry = (
        87.66672326944078 if carved else 30.0
    ) * camber  # [deg] the angle at which the flow meets the nose head-on
    entry = np.radians(smooth_entry)
    entry_lift = slope * (np.sin(entry) + 2.0 * camber)  # cos 1, as when the constants were fitted
    astray = np.maximum(np.abs(degrees - smooth_entry) - _tolerance(thickness, edge), 0.0)
    suction_lost = (
        (1.0 - np.exp(-astray / _NOSE_DECAY)) * np.abs(lift - entry_lift) * np.tan(np.radians(np.minimum(astray, 80.0)))
    )
    growth = _VISCOUS_GROWTH + (0.0 if carved else _PLAIN_GROWTH * bent)
    viscous = growth * _friction(reynolds) * np.minimum(lift**2, 2.0)
    return lift, suction_lost + viscous + _AFT_DRAG * lost


def _tolerance(thickness, edge):
    """Degrees off the smooth entry that the nose forgives."""
    if edge == "airfoil nose":
        return 6.5799786178273685
    return float(np.clip(100.0 * (thickness - 0.01), 0.0, 1.5)) if edge == "rounded" else 0.0  # judgement


def _separated_share(degrees, camber):
    rise = _STALL_CAMBER * camber
    upper = _logistic((degrees - _STALL - rise) / _STALL_WIDTH)
    lower = _logistic((-_STALL + 0.6 * rise - degrees) / _STALL_WIDTH)
    return np.maximum(upper, lower)


def _logistic(x):
    return 1.0 / (1.0 + np.exp(-np.clip(x, -60.0, 60.0)))
