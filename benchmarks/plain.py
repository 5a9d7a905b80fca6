"""The same rotor in plain Python: a loop over speeds and stations, and a root finder for each.

What a careful person writes first, and the measure of what compiling and reordering are worth. The equations and the
polar table are those of ``whirlbench.physics.rotor``; only which of several solutions is found is left to chance.
"""

import math
from bisect import bisect_right

import numpy as np
from scipy.optimize import brentq


class PlainPolar:
    """Polar table as lists, which plain Python reads faster than arrays."""

    def __init__(self, table):
        self.alpha = np.radians(table.alpha_deg).tolist()
        self.log_re = table.log_reynolds.tolist()
        self.lift = table.cl.tolist()
        self.log_drag = np.log(table.cd).tolist()

    def at(self, alpha, log_re):
        """Lift and drag coefficient, bilinear on lift and ln(drag)."""
        j = min(max(bisect_right(self.alpha, alpha) - 1, 0), len(self.alpha) - 2)
        u = (alpha - self.alpha[j]) / (self.alpha[j + 1] - self.alpha[j])
        position = (log_re - self.log_re[0]) / (self.log_re[1] - self.log_re[0])
        position = min(max(position, 0.0), len(self.log_re) - 1.0)
        i = min(int(position), len(self.log_re) - 2)
        v = position - i

        def between(grid):
            low, high = grid[i], grid[i + 1]
            return (1 - v) * ((1 - u) * low[j] + u * low[j + 1]) + v * ((1 - u) * high[j] + u * high[j + 1])

        return between(self.lift), math.exp(between(self.log_drag))


class PlainStation:
    """One station of a rotor at one wind speed."""

    def __init__(self, shape, m, reynolds_per_metre):
        blades, radius = shape.blade_count, float(shape.station_radius[m])
        self.place, self.width = radius / shape.radius, float(shape.station_width[m]) / shape.radius
        self.pitch, chord = float(shape.pitch[m]), float(shape.chord[m])
        self.solidity = blades * chord / (2 * math.pi * radius)
        self.tip = 0.5 * blades * (shape.radius - radius) / radius
        self.root = 0.5 * blades * (radius - shape.root_radius) / shape.root_radius
        self.log_re = math.log(reynolds_per_metre * chord)

    def state(self, phi, ratio, polar):
        """Sine, cosine, lift, drag, loss factor and 1 / (1 - a) at an inflow angle."""
        s, c = math.sin(phi), math.cos(phi)
        cl, cd = polar.at(phi - self.pitch, self.log_re + 0.5 * math.log(1 + ratio * ratio))
        tip, root = (2 / math.pi * math.acos(math.exp(-loss / s)) for loss in (self.tip, self.root))
        factor = max(tip * root, 1e-6)
        k = self.solidity * (cl * c + cd * s) / (4 * factor * s * s)
        h = 1 + k if k <= 2 / 3 else 5 / 3 - factor + math.sqrt(factor * factor + 2 * factor * (k - 2 / 3))
        return s, c, cl, cd, factor, h

    def residual(self, phi, ratio, polar):
        """What is left of the balance at an inflow angle."""
        s, c, cl, cd, factor, h = self.state(phi, ratio, polar)
        return ratio * s * h - c + self.solidity * (cl * s - cd * c) / (4 * factor * s)

    def torque(self, tip_speed_ratio, polar):
        """Torque coefficient that the station adds."""
        ratio = tip_speed_ratio * self.place
        low, high = 1e-6, 0.5 * math.pi
        if self.residual(low, ratio, polar) * self.residual(high, ratio, polar) > 0:
            low, high = high, math.pi - 1e-6
        phi = brentq(self.residual, low, high, args=(ratio, polar), xtol=1e-8)
        s, c, cl, cd, _, h = self.state(phi, ratio, polar)
        return 2 * self.place**2 * self.width * self.solidity * (cl * s - cd * c) / (h * s) ** 2


def plain_torque(shape, wind_speed, tip_speed_ratios, *, air_density, air_viscosity):
    """Torque coefficient at every tip-speed ratio, one station after the other."""
    polar = PlainPolar(shape.polars[0])
    count = len(shape.station_radius)
    stations = [PlainStation(shape, m, air_density * wind_speed / air_viscosity) for m in range(count)]
    return np.array([sum(one.torque(ratio, polar) for one in stations) for ratio in tip_speed_ratios.tolist()])


def plain_speed(speeds, torques, load):
    """Shaft speed at which a falling torque curve meets ``load(speed)``."""
    start = int(np.argmax(torques))
    return brentq(lambda speed: np.interp(speed, speeds, torques) - load(speed), speeds[start], speeds[-1])


def plain_chain(speeds, torques, machine, *, step_up, resistance):
    """Power at the load of one drivetrain and one resistor where a push can bring the rotor [W]; lists of nodes."""
    ohms = machine.circuit.winding_resistance + resistance

    def surplus(i):
        generator_torque = machine.emf_constant**2 * speeds[i] * step_up / ohms + machine.friction
        return torques[i] - (step_up / 0.9 * generator_torque + 1e-3)

    for i in range(len(speeds) - 2, -1, -1):
        above, below = surplus(i), surplus(i + 1)
        if above > 0 >= below:
            speed = speeds[i] + (speeds[i + 1] - speeds[i]) * above / (above - below)
            return resistance * (machine.emf_constant * speed * step_up / ohms) ** 2
    return 0.0
