"""The same rotors in vectorised numpy: every design, station and speed at once, no loop but over the steps of the work.

What a practised person writes second. At one inflow angle the balance is linear in the speed ratio, so a sweep over the
knots of the polar gives the ratio that each knot balances; the first cell whose two ends stand on both sides of the
wanted ratio holds the running solution, and a few chords inside it finish the work. One section polar for all.
"""

import numpy as np

from whirlbench.physics.rotor import kernel_polars

_LEAST_ANGLE, _STEPS, _ROUNDS = 1e-6, 5, 3


class Stations:
    """All stations of some rotors of equal station count in one wind each; arrays of shape (d, m, 1)."""

    def __init__(self, shapes, reynolds_per_metre):
        def column(pick):
            return np.array([pick(shape) for shape in shapes])[:, :, None]

        self.place = column(lambda one: one.station_radius / one.radius)
        self.width = column(lambda one: one.station_width / one.radius)
        self.pitch = column(lambda one: one.pitch)
        self.solidity = column(lambda one: one.blade_count * one.chord / (2 * np.pi * one.station_radius))
        self.tip = column(lambda one: 0.5 * one.blade_count * (one.radius - one.station_radius) / one.station_radius)
        self.root = column(lambda one: 0.5 * one.blade_count * (one.station_radius - one.root_radius) / one.root_radius)
        chord = column(lambda one: one.chord)
        self.log_re = np.log(np.asarray(reynolds_per_metre, dtype=float)[:, None, None] * chord)
        self.polar = kernel_polars(shapes[0].polars)

    def knots(self):
        """Inflow angles of the polar's knots, rising, those outside (0, pi) moved to its ends."""
        alphas = self.polar[1]
        angles = np.concatenate([alphas, alphas[1:] + 2 * np.pi]) + self.pitch
        used = ((angles > _LEAST_ANGLE) & (angles < np.pi)).any(axis=(0, 1))
        edges = np.broadcast_to([_LEAST_ANGLE, 1e-3, np.pi - 1e-6], (*self.pitch.shape[:2], 3))
        inside = np.clip(angles[:, :, used], _LEAST_ANGLE, np.pi - 1e-6)
        return np.sort(np.concatenate([edges, inside], axis=2), axis=2)

    def section(self, alpha, log_re):
        """Lift and drag coefficient, bilinear on lift and ln(drag)."""
        cell_of, alphas, first, step, lift, log_drag = self.polar
        lift, log_drag = lift[0], log_drag[0]
        alpha = np.where(alpha > np.pi, alpha - 2 * np.pi, alpha)
        j = cell_of[np.clip(((alpha / (2 * np.pi) + 0.5) * cell_of.size).astype(int), 0, cell_of.size - 1)]
        u = (alpha - alphas[j]) / (alphas[j + 1] - alphas[j])
        position = np.clip((log_re - first) / step, 0.0, len(lift) - 1.0)
        i = np.minimum(position.astype(int), len(lift) - 2)
        v = position - i

        def between(grid):
            low, high = grid[i, j], grid[i + 1, j]
            return (1 - v) * (low + u * (grid[i, j + 1] - low)) + v * (high + u * (grid[i + 1, j + 1] - high))

        return between(lift), np.exp(between(log_drag))

    def inflow(self, phi):
        """Sine, cosine and loss factor at inflow angles."""
        s = np.sin(phi)
        loss = [2 / np.pi * np.arccos(np.exp(-exponent / s)) for exponent in (self.tip, self.root)]
        return s, np.cos(phi), np.maximum(loss[0] * loss[1], 1e-6)

    def balance(self, phi, inflow, ratio):
        """Slope and level of the residual ``ratio * slope - level``, torque loading, at inflow angles and ratios."""
        s, c, factor = inflow
        cl, cd = self.section(phi - self.pitch, self.log_re + 0.5 * np.log1p(ratio * ratio))
        share = self.solidity / (4 * factor * s)
        k = share * (cl * c + cd * s) / s
        heavy = 5 / 3 - factor + np.sqrt(factor * factor + 2 * factor * np.maximum(k - 2 / 3, 0.0))
        h = np.where(k <= 2 / 3, 1 + k, heavy)
        loading = self.solidity * (cl * s - cd * c) / (h * s) ** 2
        return s * h, c - share * (cl * s - cd * c), loading

    def residual(self, phi, ratio):
        """Residual and torque loading at inflow angles and speed ratios."""
        slope, level, loading = self.balance(phi, self.inflow(phi), ratio)
        return ratio * slope - level, loading


def vectorised_torque(shapes, wind_speeds, tip_speed_ratios, *, air_density, air_viscosity):
    """Torque coefficients of the running branch, shape (d, n), and the largest residual left."""
    stations = Stations(shapes, air_density * np.asarray(wind_speeds) / air_viscosity)
    knots = stations.knots()
    inflow = stations.inflow(knots)
    balanced = np.clip(inflow[1] / inflow[0], 0.0, 40.0)
    for _ in range(_ROUNDS):  # Re follows the ratio found
        slope, level, _ = stations.balance(knots, inflow, np.clip(balanced, 0.0, 40.0))
        balanced = np.where(slope > 0, level / np.where(slope > 0, slope, 1.0), np.copysign(np.inf, level))
    ratio = stations.place * np.asarray(tip_speed_ratios)
    envelope = np.minimum.accumulate(balanced, axis=2)
    cell = np.clip((envelope[:, :, None, :] > ratio[:, :, :, None]).sum(axis=3) - 1, 0, knots.shape[2] - 2)
    # the sweep's Re is a little off: a solution close to a knot may lie in the cell beside
    miss, above = (stations.residual(np.take_along_axis(knots, cell + end, 2), ratio)[0] for end in (0, 1))
    cell = np.clip(cell - (miss > 0) + (above < 0), 0, knots.shape[2] - 2)
    low, high = np.take_along_axis(knots, cell, 2), np.take_along_axis(knots, cell + 1, 2)
    loading, left = _inside(stations, ratio, low, high)
    torque = (2 * stations.place**2 * stations.width * loading).sum(axis=1)
    return torque, float(np.abs(left).max())


def _inside(stations, ratio, low, high):
    """Torque loading and residual at the solution between two angles, by the Illinois rule."""
    f_low, f_high = stations.residual(low, ratio)[0], stations.residual(high, ratio)[0]
    side = np.zeros(low.shape)
    for _ in range(_STEPS):
        gap = np.where(f_high == f_low, 1.0, f_high - f_low)
        phi = np.clip(low - f_low * (high - low) / gap, low, high)
        f, loading = stations.residual(phi, ratio)
        below = f < 0
        f_high = np.where(below, np.where(side < 0, 0.5 * f_high, f_high), f)
        f_low = np.where(below, f, np.where(side > 0, 0.5 * f_low, f_low))
        low, high, side = np.where(below, phi, low), np.where(below, high, phi), np.where(below, -1, 1)
    return loading, f
