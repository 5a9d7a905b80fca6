"""Polars defined by a formula, for code checks that need no measured section."""

import numpy as np

from whirlbench.physics.section import LOG_REYNOLDS, PolarTable

ALPHA_DEG = np.arange(-180, 180.1, 0.125)  # finer than the shipped grid: here the table must not be what is tested


def polar_of(lift, drag, name="formula"):
    """Polar table sampled from two functions of the angle of attack [rad].

    Parameters
    ----------
    lift, drag : callable
        Coefficient at an array of angles [rad].
    name : str
        Name of the table.

    Returns
    -------
    PolarTable
        The same at every Reynolds number.
    """
    alpha = np.radians(ALPHA_DEG)
    rows = (LOG_REYNOLDS.size, 1)
    return PolarTable(
        alpha_deg=ALPHA_DEG,
        log_reynolds=LOG_REYNOLDS,
        cl=np.tile(lift(alpha), rows),
        cd=np.tile(np.maximum(drag(alpha), 1e-12), rows),
        name=name,
        source="formula",
        kind="flat_sheet",
    )


def poly_fit_airfoil():
    """Polynomial airfoil of the annulus verification cases, held at its ends."""

    def held(alpha):
        return np.clip(np.degrees(alpha), -10, 20)

    def lift(alpha):
        a = held(alpha)
        return 0.42625 + 0.11628 * a - 0.00063973 * a**2 - 8.712e-5 * a**3 - 4.2576e-6 * a**4

    def drag(alpha):
        a = held(alpha)
        return 0.011954 + 0.00019972 * a + 0.00010332 * a**2

    return polar_of(lift, drag, "polynomial airfoil")


def thin_plate():
    """Thin plate in attached flow at every angle, drag 0.02."""
    return polar_of(lambda a: 2 * np.pi * np.sin(a), lambda a: 0.02 + 0 * a, "thin plate")


def stalled_plate():
    """Fully separated plate."""
    return polar_of(lambda a: np.sin(2 * a), lambda a: 1.3 * np.sin(a) ** 2 + 0.02, "stalled plate")


def design_section(lift_to_drag=np.inf):
    """Lift 1 at 7 degrees with the thin-section slope, constant drag."""

    def lift(alpha):
        return 1 + 2 * np.pi * (alpha - np.radians(7))

    return polar_of(lift, lambda a: 1 / lift_to_drag + 0 * a, "design section")
