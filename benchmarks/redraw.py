"""How fast a rotor is drawn again when a slider moves, against the same equations in plain Python.

Run: python benchmarks/redraw.py
"""

import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
from plain import plain_speed, plain_torque

from whirlbench.physics import airfoil
from whirlbench.physics.rotor import RotorShape, rotor_curve, rotor_curves

AIR = {"air_density": 1.2, "air_viscosity": 1.8e-5}
POLAR = airfoil.airfoil_polar("sg6043")
WINDS = np.linspace(2.5, 8, 12)
RATIOS = np.linspace(0, 8, 40)
STATIONS = 30
STARTER = Path(__file__).parents[1] / "src/whirlbench/examples/starter.toml"


def shape_of(stations=STATIONS, *, radius=0.25, chord=0.05, pitch=6.0, twist=18.0, blade_count=3):
    """Tapered, twisted rotor."""
    edges = np.linspace(0.2 * radius, radius, stations + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    share = (middle / radius - 0.2) / 0.8
    return RotorShape(
        radius=radius,
        root_radius=0.2 * radius,
        blade_count=blade_count,
        station_radius=middle,
        station_width=np.diff(edges),
        chord=chord * (1 - 0.5 * share),
        pitch=np.radians(pitch + twist * (1 - share)),
        polars=(POLAR,),
        polar_index=np.zeros(stations, dtype=np.int64),
    )


SHAPE = shape_of()


def load_torque(speed):
    """Torque of bearings and a small generator on a resistor [N*m]."""
    return 1e-3 + 2e-4 * speed


def in_units(coefficient, wind_speed):
    """Shaft speeds [rad/s] and torques [N*m] of a torque coefficient."""
    pressure = 0.5 * AIR["air_density"] * wind_speed**2
    return RATIOS * wind_speed / SHAPE.radius, coefficient * pressure * np.pi * SHAPE.radius**3


def met_speed(speeds, torques):
    """Shaft speed of the last crossing from above of the straight pieces between the nodes."""
    surplus = torques - load_torque(speeds)
    i = np.flatnonzero((surplus[:-1] > 0) & (surplus[1:] <= 0))[-1]
    return speeds[i] + (speeds[i + 1] - speeds[i]) * surplus[i] / (surplus[i] - surplus[i + 1])


def shipped_redraw():
    """Torque coefficients and operating speeds at every wind speed by the shipped code."""
    curves = rotor_curves([SHAPE] * len(WINDS), WINDS, RATIOS, **AIR)
    torques = np.array([curve.torque[0] for curve in curves])
    return torques, [met_speed(*in_units(row, wind)) for row, wind in zip(torques, WINDS, strict=True)]


def plain_redraw():
    """Torque coefficients and operating speeds at every wind speed in plain Python."""
    torques = np.array([plain_torque(SHAPE, float(wind), RATIOS, **AIR) for wind in WINDS])
    return torques, [plain_speed(*in_units(row, wind), load_torque) for row, wind in zip(torques, WINDS, strict=True)]


def median_ms(work, repeats):
    """Median time of a call [ms], after one call to warm up."""
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1e3 * statistics.median(times)


def growth(works, sizes):
    """Power of the size with which the time grows."""
    times = [median_ms(work, 9) for work in works]
    return np.polyfit(np.log(sizes), np.log(times), 1)[0]


def tell(what, number, remark=""):
    """Print one line of the report."""
    print(f"{what:<56}{number:>12}  {remark}")


def against(fast, slow):
    """Remark on a time against that of plain Python [ms]."""
    return f"plain Python {slow:.0f} ms, {slow / fast:.0f} times as long"


def compare_redraw():
    """Print the redraw and one curve against plain Python."""
    (ours, speeds), (plain, plain_speeds) = shipped_redraw(), plain_redraw()
    fast, slow = median_ms(shipped_redraw, 31), median_ms(plain_redraw, 3)
    tell("redraw, 12 winds x 40 tip-speed ratios x 30 stations", f"{fast:.2f} ms", against(fast, slow))
    fast = median_ms(lambda: rotor_curve(SHAPE, 5.0, RATIOS, **AIR), 51)
    slow = median_ms(lambda: plain_torque(SHAPE, 5.0, RATIOS, **AIR), 5)
    tell("one curve, both branches (plain Python: one)", f"{fast:.2f} ms", against(fast, slow))
    difference = np.abs(ours - plain)
    parted = difference > 1e-6
    tell("largest difference in torque coefficient", f"{difference[~parted].max():.1e}")
    remark = f"at {parted.sum()} of {parted.size} points, where plain Python took another solution"
    tell("  and on another branch", f"{difference.max():.1e}", remark)
    tell("largest relative difference in operating speed", f"{np.abs(np.divide(speeds, plain_speeds) - 1).max():.1e}")


def compare_growth():
    """Print how time grows with stations, speeds and designs."""
    sizes = np.array([20, 40, 80, 160])
    shapes = [shape_of(int(size)) for size in sizes]
    grids = [np.linspace(0, 8, size) for size in sizes]
    by_station = growth([lambda shape=shape: rotor_curve(shape, 5.0, RATIOS, **AIR) for shape in shapes], sizes)
    by_ratio = growth([lambda grid=grid: rotor_curve(SHAPE, 5.0, grid, **AIR) for grid in grids], sizes)
    tell("time grows with stations to the power", f"{by_station:.2f}")
    tell("time grows with tip-speed ratios to the power", f"{by_ratio:.2f}")
    draw = np.random.default_rng(0)
    designs = [
        shape_of(chord=draw.uniform(0.02, 0.08), pitch=draw.uniform(0, 20), blade_count=int(draw.integers(2, 7)))
        for _ in range(1000)
    ]
    taken = median_ms(lambda: rotor_curves(designs, np.full(1000, 5.0), RATIOS, **AIR), 3)
    tell("1000 different rotors", f"{taken:.0f} ms", f"{1e6 / taken:.0f} rotors a second")


def compare_start():
    """Print how long the command takes from a cold start."""
    command = [sys.executable, "-c", "from whirlbench.cli.main import run; run()", "predict", str(STARTER), "--json"]
    taken = median_ms(lambda: subprocess.run(command, capture_output=True, check=True), 5)
    tell("whirlbench predict, a new process", f"{taken:.0f} ms")


if __name__ == "__main__":
    compare_redraw()
    compare_growth()
    compare_start()
