"""A hand-wound coil in front of a turning magnet: its winding, its flux and its EMF.

Air-cored coils and bare magnets only. With iron behind the magnets or inside the coil the flux is another one, and
the model does not apply: measure open-circuit volts against speed instead.
"""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import within

_RINGS, _SPOKES = 12, 24  # Gauss points over a coil's area; converged to 1e-9 in the published checks


@dataclass(frozen=True)
class WindingFit:
    """How a winding lies in the window of its former.

    Attributes
    ----------
    turns_per_layer : int
        Whole turns side by side.
    layers : int
        Layers needed, the last one perhaps not full.
    depth : float
        Height of the layers, one on top of the other [m].
    fill : float
        Wire squares over window area [-]; a careful hand reaches about 0.8, a drill about 0.6 (common practice).
    fits : bool
        Whether the layers stay below the rim.
    """

    turns_per_layer: int
    layers: int
    depth: float
    fill: float
    fits: bool


def winding_fit(turns, wire_diameter, *, window_width, window_depth):
    """Layers and fill of a winding in its window.

    Parameters
    ----------
    turns : int
        Turns of the coil.
    wire_diameter : float
        Diameter with enamel [m].
    window_width : float
        Width between the cheeks, along the coil's axis [m].
    window_depth : float
        Depth from the core to the rim [m].

    Returns
    -------
    WindingFit
        Turns in a layer, layers, depth [m], fill [-], and whether it fits.

    Raises
    ------
    OutOfRange
        No turn, or a wire thicker than the window is wide.

    Notes
    -----
    Layers stacked square. A perfect winding nests and takes 13 % less depth; nobody winds one by hand. No
    published check found.
    """
    within("turns", turns, low=1, high=1e6, unit="", try_="count the turns")
    within("wire diameter", wire_diameter, low=2e-5, high=window_width, unit="m", try_="choose a thinner wire")
    per_layer = int(window_width / wire_diameter * (1.0 + 1e-12))
    layers = math.ceil(turns / per_layer)
    depth = layers * wire_diameter
    fill = turns * wire_diameter**2 / (window_width * window_depth)
    return WindingFit(per_layer, layers, depth, fill, depth <= window_depth * (1.0 + 1e-12))


def coil_resistance(turns, mean_radius, resistance_per_length):
    """Resistance of a round coil.

    Parameters
    ----------
    turns : int or array
        Turns of the coil.
    mean_radius : float or array
        Radius of the middle turn [m].
    resistance_per_length : float or array
        Resistance of its wire [ohm/m].

    Returns
    -------
    float or array
        Resistance [ohm].

    Raises
    ------
    OutOfRange
        No turn, or a radius over 1 m: most often millimetres were passed.

    References
    ----------
    .. [1] Turns times the length of the mean turn times ohms per metre.
    """
    within("turns", turns, low=1, high=1e6, unit="", try_="count the turns")
    within("mean radius of the coil", mean_radius, low=5e-4, high=1, unit="m", try_="10 mm is 0.01 m")
    return turns * 2.0 * math.pi * mean_radius * resistance_per_length


def flux(field, magnet_angle, *, coil_radius, distance):
    """Flux through one flat round turn in front of a turning magnet.

    Parameters
    ----------
    field : callable
        Flux density [T], shape (..., 3), of points [m], shape (..., 3), in the frame of the magnet.
    magnet_angle : float or array
        Angle through which the magnet has turned about z; north faces the turn at 0 [rad].
    coil_radius : float
        Radius of the turn [m].
    distance : float
        From the axis of the magnet's rotation to the plane of the turn [m].

    Returns
    -------
    array, shape of ``magnet_angle``
        Flux [Wb].

    Raises
    ------
    OutOfRange
        A radius or a distance over 1 m, or what ``field`` refuses.

    Notes
    -----
    12 Gauss rings of 24 points; the turn faces the magnet squarely, centred on x.

    References
    ----------
    .. [1] Recomputed cases in tests/published/generator/coil_flux_checks.csv.
    """
    within("coil radius", coil_radius, low=1e-4, high=1, unit="m", try_="10 mm is 0.01 m")
    within("distance from axis to coil", distance, low=1e-4, high=1, unit="m", try_="15 mm is 0.015 m")
    side, up, weight = _disc_points(coil_radius)
    angle = np.asarray(magnet_angle, dtype=float)[..., np.newaxis]
    cosine, sine = np.cos(angle), np.sin(angle)
    # turn the points backward instead of the magnet forward
    position = np.stack(
        np.broadcast_arrays(distance * cosine + side * sine, side * cosine - distance * sine, up), axis=-1
    )
    density = field(position)
    return ((density[..., 0] * cosine - density[..., 1] * sine) * weight).sum(axis=-1)


def thick_coil_flux(field, magnet_angle, *, radii, distances, points=4):
    """Flux through the average turn of a coil with a thick winding.

    Parameters
    ----------
    field : callable
        As for ``flux``.
    magnet_angle : float or array
        As for ``flux`` [rad].
    radii : pair of float
        Inner and outer radius of the winding [m].
    distances : pair of float
        From the magnet's axis of rotation to the near and far face of the winding [m].
    points : int
        Gauss points along each side of the window.

    Returns
    -------
    array, shape of ``magnet_angle``
        Mean flux of the turns [Wb].

    Raises
    ------
    OutOfRange
        As for ``flux``.

    Notes
    -----
    Turns lie evenly over the window.

    References
    ----------
    .. [1] Worked case in the head of tests/published/generator/coil_flux_checks.csv.
    """
    node, share = np.polynomial.legendre.leggauss(points)
    radius = np.mean(radii) + node * (radii[1] - radii[0]) / 2.0
    distance = np.mean(distances) + node * (distances[1] - distances[0]) / 2.0
    return sum(
        share[i] * share[j] / 4.0 * flux(field, magnet_angle, coil_radius=radius[i], distance=distance[j])
        for i in range(points)
        for j in range(points)
    )


@dataclass(frozen=True)
class FluxWave:
    """Shape of the flux over one turn of the magnet.

    Attributes
    ----------
    peak : float
        Largest flux over the angles taken [Wb].
    fundamental : float
        Amplitude of the sine that turns once with the magnet [Wb].
    third_harmonic_ratio : float
        Amplitude of the third harmonic over the fundamental [-].
    """

    peak: float
    fundamental: float
    third_harmonic_ratio: float


def flux_wave(flux):
    """Peak, fundamental and third harmonic of the flux over one turn of the magnet.

    Parameters
    ----------
    flux : array, shape (n,)
        Flux at ``n`` even steps of one turn [Wb]; 24 steps or more keep the third harmonic clean.

    Returns
    -------
    FluxWave
        Amplitudes [Wb] and their ratio [-].

    Raises
    ------
    OutOfRange
        Fewer than 12 steps.

    References
    ----------
    .. [1] Fourier series.
    """
    flux = np.asarray(flux, dtype=float)
    within("steps of one turn", flux.size, low=12, high=1e6, unit="", try_="take 24 even steps from 0 to 360 degrees")
    harmonic = 2.0 * np.abs(np.fft.rfft(flux)) / flux.size
    return FluxWave(float(np.abs(flux).max()), float(harmonic[1]), float(harmonic[3] / harmonic[1]))


def emf_constant(flux_fundamental, *, turns, pole_pairs=1, coils_in_series=1):
    """Peak EMF per shaft speed of coils in series.

    Parameters
    ----------
    flux_fundamental : float or array
        Amplitude of the fundamental flux through one turn [Wb].
    turns : int or array
        Turns of one coil.
    pole_pairs : int
        Periods of the flux per shaft turn [-].
    coils_in_series : int
        Coils whose EMFs are in step.

    Returns
    -------
    float or array
        Peak EMF constant [V*s/rad].

    Raises
    ------
    OutOfRange
        No turn, pole pair or coil.

    Notes
    -----
    With several poles the flux is that of the whole ring of magnets, not of one magnet alone.

    References
    ----------
    .. [1] Faraday: peak EMF = N p w Phi.
    """
    within("turns", turns, low=1, high=1e6, unit="", try_="count the turns")
    within("pole pairs", pole_pairs, low=1, high=200, unit="", try_="count north poles around the rotor")
    within("coils in series", coils_in_series, low=1, high=100, unit="", try_="1 for a single coil")
    return coils_in_series * turns * pole_pairs * flux_fundamental


def _disc_points(radius):
    """Sideways and upward places of Gauss points over a disc, and their areas."""
    node, share = np.polynomial.legendre.leggauss(_RINGS)
    ring = radius * (node + 1.0) / 2.0
    area = share * radius / 2.0 * ring * 2.0 * math.pi / _SPOKES
    spoke = 2.0 * math.pi * (np.arange(_SPOKES) + 0.5) / _SPOKES
    return np.outer(ring, np.cos(spoke)).ravel(), np.outer(ring, np.sin(spoke)).ravel(), np.repeat(area, _SPOKES)
