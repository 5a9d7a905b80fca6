"""Lift and drag of carved, printed and ribbed airfoils."""

import functools

import numpy as np

from whirlbench import tables
from whirlbench.errors import InputError, MissingExtra, UnknownKey, nearest, within
from whirlbench.physics.section import ALPHA_DEG, LOG_REYNOLDS, PolarTable, known_bias
from whirlbench.physics.sheet import far_coefficients

FLOWS = {"fan": 4.0, "smooth tunnel": 9.0}  # ln of the growth at which the boundary layer turns turbulent (n_crit)
NEURAL_ALPHA_DEG = ALPHA_DEG[(ALPHA_DEG >= -16) & (ALPHA_DEG <= 24)]

_FADE_UP = (15.0, 24.0)  # [deg] the neural polar gives way to the separated law
_FADE_DOWN = (-8.0, -16.0)
_PEAK_LIFT = (-16.0, 16.5)  # [deg] where the greatest and least lift are looked for
_PEAK_DEPTH = 0.4  # lift this far below the greatest is left alone by its correction
_CAMBERS = (0.0, 0.02, 0.04, 0.06)
_THICKNESSES = (0.06, 0.09, 0.12, 0.15, 0.18)


def catalogue():
    """Shipped airfoils.

    Returns
    -------
    tuple of Row
        Name, label, thickness and camber over chord, and whether the coordinates follow from a formula.
    """
    return tables.load("sections/catalogue").rows


@functools.lru_cache(maxsize=256)
def airfoil_polar(name, flow="fan", *, aspect_ratio=7.0):
    """Polar table of a shipped airfoil.

    Parameters
    ----------
    name : str
        Name in `catalogue`, for example ``e387``; capitals, spaces and hyphens do not matter.
    flow : str
        ``fan`` (restless air, n_crit 4) or ``smooth tunnel`` (n_crit 9).
    aspect_ratio : float
        Blade length over mean chord; acts on separated flow only [-].

    Returns
    -------
    PolarTable
        Lift and drag over all angles, Re 5e3 to 5e5.

    Raises
    ------
    UnknownKey
        No such airfoil or flow.
    OutOfRange
        Aspect ratio below 0.5.

    Notes
    -----
    Two known biases of the neural polar [1]_ are taken off, both found against tunnels at n_crit 9:
    0.11 of the greatest lift above Re 5e4, in both flows (lift more than 0.4 below it stays; the same on the negative
    side, by symmetry only); a factor 1.12 of the drag between Re 5e4 and 1e5, in the smooth tunnel only, because at
    n_crit 4 the drag is already lower and nothing was measured. Below Re 5e4 nothing is taken off, and the doubt is
    larger than most design differences. The greatest lift was compared at Re 5.4e4 to 1.04e5; above, it is carried on.
    Past 15 deg (-8 deg below) the table fades into the separated law by 24 deg (-16 deg); flown backwards it is a
    rounded sheet.

    References
    ----------
    .. [1] Sharpe, NeuralFoil, arXiv:2503.16323, 2025.
    """
    key = "".join(letter for letter in name.lower() if letter.isalnum())
    known = {row.name: row for row in catalogue()}
    if key not in known:
        raise UnknownKey("airfoil", f"'{name}'", "an airfoil of the catalogue", try_=nearest(key, known))
    row = known[key]
    return _assembled(*_raw(key, _n_crit(flow)), row, flow=flow, aspect_ratio=aspect_ratio)


@functools.lru_cache(maxsize=256)
def naca4_polar(camber_ratio, camber_position=0.4, thickness_ratio=0.12, *, flow="fan", aspect_ratio=7.0):
    """Polar table of a section of the NACA 4-digit family.

    Parameters
    ----------
    camber_ratio : float
        Camber over chord, 0 to 0.06 [-].
    camber_position : float
        Place of the greatest camber over chord; any but 0.4 is computed with the extra ``airfoils`` [-].
    thickness_ratio : float
        Thickness over chord, 0.06 to 0.18 [-].
    flow : str
        ``fan`` or ``smooth tunnel``.
    aspect_ratio : float
        Blade length over mean chord; acts on separated flow only [-].

    Returns
    -------
    PolarTable
        Lift and drag over all angles, Re 5e3 to 5e5.

    Raises
    ------
    OutOfRange
        Camber, its place or thickness outside the family.
    UnknownKey
        No such flow.
    MissingExtra
        Camber elsewhere than at 0.4 without the extra ``airfoils``.

    Notes
    -----
    Linear between shipped sections in camber and thickness, on the lift and the logarithm of the drag.
    """
    within(
        "camber over chord", camber_ratio, low=0.0, high=0.06, unit="", try_="use a bent-sheet section for more camber"
    )
    within(
        "thickness over chord",
        thickness_ratio,
        low=0.06,
        high=0.18,
        unit="",
        try_="use a sheet section for thinner blades",
    )
    within("place of greatest camber", camber_position, low=0.2, high=0.7, unit="", try_="0.4 is the common choice")
    if camber_position != 0.4 and camber_ratio > 0:
        x, y = four_digit_coordinates(camber_ratio, camber_position, thickness_ratio)
        return coordinates_polar(x, y, flow=flow, aspect_ratio=aspect_ratio)
    lift, log_drag = 0.0, 0.0
    for camber, camber_share in _neighbours(camber_ratio, _CAMBERS):
        for thickness, thickness_share in _neighbours(thickness_ratio, _THICKNESSES):
            cl, cd = _raw(_four_digit_name(camber, thickness), _n_crit(flow))
            lift = lift + camber_share * thickness_share * cl
            log_drag = log_drag + camber_share * thickness_share * np.log(cd)
    label = f"NACA 4-digit, camber {100 * camber_ratio:g} %, thickness {100 * thickness_ratio:g} %"
    shape = tables.Row({"label": label, "thickness_ratio": thickness_ratio, "camber_ratio": camber_ratio})
    return _assembled(lift, np.exp(log_drag), shape, flow=flow, aspect_ratio=aspect_ratio)


def coordinates_polar(outline_x, outline_y, *, flow="fan", aspect_ratio=7.0, name="own coordinates"):
    """Polar table of any airfoil from its outline, through the optional extra ``airfoils``.

    Parameters
    ----------
    outline_x, outline_y : array, shape (n,)
        Outline from the tail over the top to the nose and back below, any scale [-].
    flow : str
        ``fan`` or ``smooth tunnel``.
    aspect_ratio : float
        Blade length over mean chord; acts on separated flow only [-].
    name : str
        What to call the section.

    Returns
    -------
    PolarTable
        Lift and drag over all angles, Re 5e3 to 5e5.

    Raises
    ------
    MissingExtra
        The extra ``airfoils`` is not installed.
    InputError
        Fewer than 20 points, or x and y of different length.
    UnknownKey
        No such flow.

    Notes
    -----
    Biases are taken off as in `airfoil_polar`.
    """
    x, y = np.asarray(outline_x, dtype=float), np.asarray(outline_y, dtype=float)
    if x.ndim != 1 or x.shape != y.shape or len(x) < 20 or not np.isfinite(x + y).all():
        raise InputError(
            "airfoil coordinates", f"{len(x)} x and {len(y)} y", "20 or more pairs", try_="export the outline again"
        )
    n_crit = _n_crit(flow)
    cl, cd = neural_coefficients(x, y, n_crit)
    thickness, camber = _shape(x, y)
    shape = tables.Row({"label": name, "thickness_ratio": thickness, "camber_ratio": camber})
    return _assembled(cl, cd, shape, flow=flow, aspect_ratio=aspect_ratio)


def four_digit_coordinates(camber_ratio, camber_position, thickness_ratio, *, count=100):
    """Outline of a NACA 4-digit section.

    Parameters
    ----------
    camber_ratio, camber_position, thickness_ratio : float
        Greatest camber, its place and greatest thickness, over chord [-].
    count : int
        Panels a side.

    Returns
    -------
    tuple of array, shape (2 count + 1,)
        x and y from the tail over the top to the nose and back below [-].

    References
    ----------
    .. [1] Jacobs, Ward, Pinkerton, NACA Report 460, 1933.
    """
    x = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, count + 1)))
    half = 5.0 * thickness_ratio * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    m, p = camber_ratio, camber_position
    scale = np.where(x < p, m / p**2, m / (1.0 - p) ** 2)
    mean = scale * np.where(x < p, 2.0 * p * x - x**2, 1.0 - 2.0 * p + 2.0 * p * x - x**2)
    slope = np.arctan(2.0 * scale * (p - x))
    upper = x - half * np.sin(slope), mean + half * np.cos(slope)
    lower = x + half * np.sin(slope), mean - half * np.cos(slope)
    return tuple(np.concatenate([top[::-1], bottom[1:]]) for top, bottom in zip(upper, lower, strict=True))


def neural_coefficients(outline_x, outline_y, n_crit):
    """Lift and drag coefficient from the neural polar, biases left in.

    Parameters
    ----------
    outline_x, outline_y : array, shape (n,)
        Outline from the tail over the top to the nose and back below [-].
    n_crit : float
        Logarithm of the growth at which the boundary layer turns turbulent [-].

    Returns
    -------
    tuple of array, shape (24, n_alpha)
        Lift and drag coefficient at the Reynolds numbers of the tables and ``NEURAL_ALPHA_DEG`` [-].

    Raises
    ------
    MissingExtra
        The extra ``airfoils`` is not installed.
    """
    try:
        import neuralfoil
    except ImportError as gap:
        raise MissingExtra("Any other airfoil needs the extra: pip install 'whirlbench[airfoils]'.") from gap
    reynolds, alpha = np.meshgrid(np.exp(LOG_REYNOLDS), NEURAL_ALPHA_DEG, indexing="ij")
    found = neuralfoil.get_aero_from_coordinates(
        np.column_stack([outline_x, outline_y]),
        alpha=alpha.ravel(),
        Re=reynolds.ravel(),
        n_crit=n_crit,
        model_size="xlarge",
    )
    return tuple(np.asarray(found[key]).reshape(alpha.shape) for key in ("CL", "CD"))


def _n_crit(flow):
    if flow not in FLOWS:
        raise UnknownKey("flow", f"'{flow}'", "a known flow", try_=nearest(flow, FLOWS))
    return FLOWS[flow]


@functools.cache
def _raw(name, n_crit):
    rows = tables.load(f"sections/{name}").rows
    table = np.array([list(vars(row).values()) for row in rows if row.n_crit == n_crit])
    cl, cd = np.split(table[:, 2:].T, 2)
    return cl, cd


def _neighbours(value, nodes):
    right = int(np.clip(np.searchsorted(nodes, value), 1, len(nodes) - 1))
    share = (value - nodes[right - 1]) / (nodes[right] - nodes[right - 1])
    return [pair for pair in ((nodes[right - 1], 1.0 - share), (nodes[right], share)) if pair[1] > 0.0]


def _four_digit_name(camber, thickness):
    return f"naca{round(100 * camber)}{4 if camber else 0}{round(100 * thickness):02d}"


def _shape(x, y):
    """Greatest thickness and camber over chord of an outline."""
    nose, chord = int(np.argmin(x)), float(np.ptp(x))
    at = np.linspace(0.01, 0.99, 99)
    scaled = (x - x.min()) / chord
    upper = np.interp(at, scaled[nose::-1], y[nose::-1] / chord)
    lower = np.interp(at, scaled[nose:], y[nose:] / chord)
    tail = 0.5 * (y[0] + y[-1]) / chord
    chord_line = y[nose] / chord + (tail - y[nose] / chord) * at
    return float((upper - lower).max()), float(np.clip((0.5 * (upper + lower) - chord_line).max(), 0.0, 0.12))


def _assembled(cl, cd, shape, *, flow, aspect_ratio):
    """Raw neural polar, biases taken off, faded into the separated law."""
    reynolds = np.exp(LOG_REYNOLDS)[:, None]
    excess, factor = known_bias("airfoil", reynolds)
    cl = _less_peak(cl, excess)
    cd = cd / factor if flow == "smooth tunnel" else cd
    thickness = min(shape.thickness_ratio, 0.2)
    far_cl, far_cd = far_coefficients(
        thickness_ratio=thickness, camber_ratio=shape.camber_ratio, aspect_ratio=aspect_ratio
    )
    share = np.minimum(_fade(NEURAL_ALPHA_DEG, *_FADE_UP), _fade(NEURAL_ALPHA_DEG, *_FADE_DOWN))
    inside = np.searchsorted(ALPHA_DEG, NEURAL_ALPHA_DEG)
    far_cl[:, inside] = share * cl + (1.0 - share) * far_cl[:, inside]
    far_cd[:, inside] = cd**share * far_cd[:, inside] ** (1.0 - share)
    source = f"computed with the neuralfoil library, size xlarge, n_crit {_n_crit(flow):g}; known biases taken off"
    return PolarTable(ALPHA_DEG, LOG_REYNOLDS, far_cl, far_cd, f"{shape.label}, {flow}", source, "airfoil")


def _less_peak(cl, excess):
    """Take the excess off the greatest and the least lift, and nothing from lift well inside."""
    peak = slice(*np.searchsorted(NEURAL_ALPHA_DEG, _PEAK_LIFT))
    top, bottom = cl[:, peak].max(axis=1, keepdims=True), cl[:, peak].min(axis=1, keepdims=True)
    near_top = _fade(cl, top - _PEAK_DEPTH, top, rising=True)
    near_bottom = _fade(cl, bottom + _PEAK_DEPTH, bottom, rising=True)
    return cl - excess * near_top + excess * near_bottom


def _fade(x, start, end, *, rising=False):
    way = np.clip((x - start) / (end - start), 0.0, 1.0)
    way = way**2 * (3.0 - 2.0 * way)
    return way if rising else 1.0 - way
