"""Safety in numbers: how hard a loose blade hits, how far it may go, how strong a loose magnet is."""

from dataclasses import dataclass

import numpy as np

from whirlbench.errors import within
from whirlbench.physics.base import GRAVITY
from whirlbench.tables import load


@dataclass(frozen=True)
class Comparison:
    """A published energy to hold another one against.

    Attributes
    ----------
    topic : str
        What has that energy.
    energy : float
        Its energy [J].
    times : float or array
        The energy asked about over this one [-].
    source : str
        Where the published number came from.
    """

    topic: str
    energy: float
    times: float
    source: str


def rim_speed(rotor_speed, radius):
    """Speed of a point of the rotor, and of what comes loose there.

    Parameters
    ----------
    rotor_speed : float or array
        Speed of the rotor [rad/s].
    radius : float or array
        Axis to the point: the tip, or the centre of mass of a blade [m].

    Returns
    -------
    float or array
        Speed, omega r [m/s].

    Raises
    ------
    OutOfRange
        A speed or radius of no bench rotor.
    """
    within("rotor speed", rotor_speed, low=0, high=1e4, unit="rad/s", try_="give rad/s: rpm times 0.1047")
    within("radius", radius, low=0, high=2, unit="m", try_="measure from the axis of the shaft, in metres")
    return np.asarray(rotor_speed) * radius


def throw_energy(mass, speed):
    """Kinetic energy of a thrown piece.

    Parameters
    ----------
    mass : float or array
        Mass of the piece [kg].
    speed : float or array
        Speed of its centre of mass [m/s].

    Returns
    -------
    float or array
        Energy, m v^2/2 [J].

    Raises
    ------
    OutOfRange
        A mass or speed of no bench rotor.

    Notes
    -----
    A blade that leaves the hub also spins about itself and carries that energy on top.
    """
    within("mass of the piece", mass, low=0, high=5, unit="kg", try_="weigh the piece, in kilograms")
    within("speed of the piece", speed, low=0, high=340, unit="m/s", try_="take rotor speed in rad/s times radius")
    return 0.5 * np.asarray(mass) * np.asarray(speed) ** 2


def throw_range(speed, release_height):
    """Farthest that a thrown piece can fly over level floor, without air drag.

    Parameters
    ----------
    speed : float or array
        Speed on leaving [m/s].
    release_height : float or array
        Floor to the place where it leaves [m].

    Returns
    -------
    float or array
        Distance to the first touch of the floor, at the worst angle [m].

    Raises
    ------
    OutOfRange
        A speed of no bench rotor or a negative height.

    Notes
    -----
    v/g sqrt(v^2 + 2 g h). An upper limit, drag shortens it; no published keep-out distance for small rotors was
    found, so a distance is the rule of the room, not this number.
    """
    within("speed of the piece", speed, low=0, high=340, unit="m/s", try_="take rotor speed in rad/s times radius")
    within("height of the release", release_height, low=0, high=10, unit="m", try_="measure floor to shaft, in metres")
    return np.asarray(speed) / GRAVITY * np.sqrt(np.asarray(speed) ** 2 + 2 * GRAVITY * np.asarray(release_height))


def comparisons(energy):
    """Energies of eye-protection tests, and how many of each an energy amounts to.

    Parameters
    ----------
    energy : float or array
        Energy to compare [J].

    Returns
    -------
    tuple of Comparison
        One for each impact energy of the shipped table ``safety/facts``.
    """
    rows = (row for row in load("safety/facts").rows if row.unit == "J" and row.kind == "comparison")
    return tuple(Comparison(row.topic, row.value, np.asarray(energy) / row.value, row.source) for row in rows)


def magnet_flux_index(surface_flux_density, pole_area):
    """Flux index of a loose magnet, the number that a hazardous-magnet rule limits.

    Parameters
    ----------
    surface_flux_density : float or array
        Greatest flux density at the surface of a pole [T].
    pole_area : float or array
        Greatest cross-section of the magnet across its axis [m^2].

    Returns
    -------
    float or array
        Flux index [kG^2*mm^2], the rule's own unit; its limit stands in ``safety/facts``.

    Raises
    ------
    OutOfRange
        A flux density above 2 T, or an area of no loose magnet.

    Notes
    -----
    Square of the flux density times the area; 1 T = 10 kG. No published worked check found.

    References
    ----------
    .. [1] 16 CFR 1262 (2022).
    """
    within("flux density", surface_flux_density, low=0, high=2, unit="T", try_="a magnet has 0.1 to 0.6 T at its face")
    within("area of the pole", pole_area, low=0, high=0.01, unit="m^2", try_="give square metres: mm^2 times 1e-6")
    return (10 * np.asarray(surface_flux_density)) ** 2 * np.asarray(pole_area) * 1e6
