"""How fast rotors and whole builds are computed: against plain Python, vectorised numpy, and what this machine can add.

Run: python benchmarks/speed.py            all parts
     python benchmarks/speed.py rotors     one part: rotors, growth, memory, start, search or workers
"""

import functools
import itertools
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import numpy as np
from numba import njit
from plain import plain_chain, plain_speed, plain_torque
from vectorised import vectorised_torque

from whirlbench.physics import airfoil
from whirlbench.physics.circuit import Circuit
from whirlbench.physics.rotor import RotorShape, rotor_curve, rotor_curves
from whirlbench.predict import chains
from whirlbench.predict.generator import Machine

AIR = {"air_density": 1.2, "air_viscosity": 1.8e-5}
POLAR = airfoil.airfoil_polar("sg6043")
WINDS = np.linspace(2.5, 8, 12)
RATIOS = np.linspace(0, 8, 40)
STATIONS = 30
STARTER = Path(__file__).parents[1] / "src/whirlbench/examples/starter.toml"
CORES = os.cpu_count()
KNOTS = 112  # inflow angles that the shipped code sweeps a station
FLOPS = 150  # of one look at the balance: some 75 plain ones, and 25 each for sine, cosine and exp: an estimate
STEPS_UP, RESISTANCES = np.linspace(1, 10, 10), np.geomspace(2, 200, 10)
DC_MACHINE = Machine(0.02, 5e-4, 8e-4, 0.0, 0.0, Circuit(winding_resistance=5.0, kind="dc", load_resistance=10.0))


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


def designs(count, seed=0):
    """Different rotors, one after the other."""
    draw = np.random.default_rng(seed)
    for _ in range(count):
        yield shape_of(chord=draw.uniform(0.02, 0.08), pitch=draw.uniform(0, 20), blade_count=int(draw.integers(2, 7)))


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


# --- the same work three ways -----------------------------------------------------------------------------------------


def redraw_shipped():
    """Torque coefficients and operating speeds at every wind speed by the shipped code."""
    torques = np.array([curve.torque[0] for curve in rotor_curves([SHAPE] * len(WINDS), WINDS, RATIOS, **AIR)])
    return torques, [met_speed(*in_units(row, wind)) for row, wind in zip(torques, WINDS, strict=True)]


def redraw_plain():
    """The same in plain Python."""
    torques = np.array([plain_torque(SHAPE, float(wind), RATIOS, **AIR) for wind in WINDS])
    return torques, [plain_speed(*in_units(row, wind), load_torque) for row, wind in zip(torques, WINDS, strict=True)]


def redraw_vectorised():
    """The same in vectorised numpy."""
    torques, _ = vectorised_torque([SHAPE] * len(WINDS), WINDS, RATIOS, **AIR)
    return torques, [met_speed(*in_units(row, wind)) for row, wind in zip(torques, WINDS, strict=True)]


def in_batches(shapes, size):
    """Lists of at most ``size`` designs, so that memory does not grow with their number."""
    shapes = iter(shapes)
    return iter(lambda: list(itertools.islice(shapes, size)), [])


def different_shipped(count):
    """Best power coefficient of different rotors."""
    best = 0.0
    for some in in_batches(designs(count), 250):
        curves = rotor_curves(some, np.full(len(some), 5.0), RATIOS, **AIR)
        best = max(best, *(float(curve.power[0].max()) for curve in curves))
    return best


def different_plain(count):
    """The same in plain Python."""
    return max(float((plain_torque(one, 5.0, RATIOS, **AIR) * RATIOS).max()) for one in designs(count))


def different_vectorised(count):
    """The same in vectorised numpy, a few rotors at a time: larger arrays leave the cache."""
    return max(
        float((vectorised_torque(some, np.full(len(some), 5.0), RATIOS, **AIR)[0] * RATIOS).max())
        for some in in_batches(designs(count), 5)
    )


TRAINS = chains.TrainTable(
    STEPS_UP[:, None], STEPS_UP[:, None] / 0.9, np.full((10, 1), 1e-3), STEPS_UP[:, None], np.full((10, 1), 1e-3)
)


def best_chain(torque):
    """Power of the best of 100 drivetrains and loads on a running torque coefficient [W]."""
    speeds, torques = in_units(torque, 5.0)
    curve = SimpleNamespace(
        speed=np.tile(speeds, (2, 1, 1)), torque=np.tile(torques, (2, 1, 1)), standstill=torques[:1, None]
    )
    return float(chains.settled(curve, TRAINS, DC_MACHINE, RESISTANCES, pushed=True).power.max())


def reuse_shipped(rotors):
    """Best power of some rotors, each with 100 drivetrains and loads."""
    curves = (rotor_curves(some, np.full(len(some), 5.0), RATIOS, **AIR) for some in in_batches(designs(rotors), 50))
    return max(best_chain(curve.torque[0]) for curve in itertools.chain.from_iterable(curves))


def reuse_plain(rotors):
    """The same in plain Python: one curve a rotor, then drivetrain by drivetrain and load by load."""
    best = 0.0
    for one in designs(rotors):
        speeds, torques = (each.tolist() for each in in_units(plain_torque(one, 5.0, RATIOS, **AIR), 5.0))
        for step_up, resistance in itertools.product(STEPS_UP.tolist(), RESISTANCES.tolist()):
            best = max(best, plain_chain(speeds, torques, DC_MACHINE, step_up=step_up, resistance=resistance))
    return best


def reuse_vectorised(rotors):
    """The same in vectorised numpy; its drivetrains and loads are what is shipped."""
    found = (
        vectorised_torque(some, np.full(len(some), 5.0), RATIOS, **AIR)[0] for some in in_batches(designs(rotors), 5)
    )
    return max(best_chain(torque) for torque in itertools.chain.from_iterable(found))


# --- the machine ------------------------------------------------------------------------------------------------------


@njit(fastmath={"contract"}, error_model="numpy")
def _multiply_and_add(rounds):
    values = np.ones(64)  # fit the registers, and enough of them to hide how long one step takes
    for _ in range(rounds):
        for j in range(64):
            values[j] = values[j] * 0.999999 + 1e-6
    return values.sum()


def peak():
    """Double-precision operations a second of one core: multiply-adds that wait for nothing [1/s]."""
    rounds = 100_000
    _multiply_and_add(1)
    times = [timed(lambda: _multiply_and_add(rounds)) for _ in range(15)]
    return 2 * 64 * rounds / min(times)


def least_ms(curves, rate, stations=STATIONS):
    """Time of some curves if all cores did nothing but the operations of the looks at the balance [ms]."""
    looks = stations * (KNOTS + 3 * len(RATIOS))
    return 1e3 * curves * looks * FLOPS / (rate * CORES)


# --- measuring and telling --------------------------------------------------------------------------------------------


def timed(work):
    """Time of one call [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def median_ms(work, repeats):
    """Median time of a call [ms], after one call to warm up."""
    work()
    return 1e3 * statistics.median(timed(work) for _ in range(repeats))


def tell(what, number, remark=""):
    """Print one line of the report."""
    print(f"{what:<58}{number:>14}  {remark}", flush=True)


def compare(what, ours, plain, *, numpy, limit):
    """Print one job: time, and the ratios to the other ways of doing it, all in ms."""
    tell(what, f"{ours:.3g} ms", f"plain {plain / ours:,.0f} x, numpy {numpy / ours:.1f} x, {ours / limit:.0f} x limit")


def rotors():
    """Redraw, one curve, and 10,000 designs, each in three ways."""
    rate = peak()
    tell("peak of one core", f"{rate / 1e9:.0f} GFlop/s", f"{CORES} cores; the limit counts {FLOPS} a look (estimate)")
    ours, plain = median_ms(redraw_shipped, 21), median_ms(redraw_plain, 3)
    least = least_ms(len(WINDS), rate)
    compare("redraw, 12 winds", ours, plain, numpy=median_ms(redraw_vectorised, 5), limit=least)
    ours = median_ms(lambda: rotor_curve(SHAPE, 5.0, RATIOS, **AIR), 51)
    plain = median_ms(lambda: plain_torque(SHAPE, 5.0, RATIOS, **AIR), 5)
    numpy = median_ms(lambda: vectorised_torque([SHAPE], [5.0], RATIOS, **AIR), 9)
    compare("one curve, both branches (the others: one), one core", ours, plain, numpy=numpy, limit=CORES * least / 12)
    _sweep(
        "10,000 designs: 10,000 rotors", (different_shipped, different_plain, different_vectorised), 10_000, rate=rate
    )
    _sweep("10,000 designs: 100 rotors x 100 chains", (reuse_shipped, reuse_plain, reuse_vectorised), 100, rate=rate)
    _agreement()


def _sweep(what, ways, rotors, *, rate):
    """Print a sweep: all of it by the shipped code, the others from a few rotors."""
    shipped, plain, vectorised = ways
    ours = 1e3 * timed(lambda: shipped(rotors)) if rotors > 1000 else median_ms(lambda: shipped(rotors), 5)
    slow, numpy = median_ms(lambda: plain(3), 3) * rotors / 3, median_ms(lambda: vectorised(20), 3) * rotors / 20
    compare(what, ours, slow, numpy=numpy, limit=least_ms(rotors, rate))
    tell("  designs a second", f"{1e7 / ours:,.0f}")


def _agreement():
    """Print how far the three ways agree."""
    (ours, speeds), (plain, plain_speeds), (numpy, _) = redraw_shipped(), redraw_plain(), redraw_vectorised()
    for name, other in (("plain Python", plain), ("numpy", numpy)):
        gap = np.abs(ours - other)
        apart = gap > 1e-6
        remark = f"{apart.sum()} of {apart.size} points on another of several solutions, up to {gap.max():.1e}"
        tell(f"largest difference in torque coefficient, {name}", f"{gap[~apart].max():.1e}", remark)
    tell("largest relative difference in operating speed", f"{np.abs(np.divide(speeds, plain_speeds) - 1).max():.1e}")


def slope(works, sizes):
    """Power of the size with which the time grows."""
    times = [median_ms(work, 7) for work in works]
    return np.polyfit(np.log(sizes), np.log(times), 1)[0]


def growth():
    """How time grows with stations, speeds and designs."""
    sizes = np.array([20, 40, 80, 160])
    shapes = [shape_of(int(size)) for size in sizes]
    grids = [np.linspace(0, 8, size) for size in sizes]
    by_station = slope([lambda one=one: rotor_curve(one, 5.0, RATIOS, **AIR) for one in shapes], sizes)
    by_ratio = slope([lambda grid=grid: rotor_curve(SHAPE, 5.0, grid, **AIR) for grid in grids], sizes)
    counts = np.array([50, 100, 200, 400])
    by_design = slope([lambda count=count: different_shipped(count) for count in counts], counts)
    tell("time grows with stations to the power", f"{by_station:.2f}")
    tell("time grows with tip-speed ratios to the power", f"{by_ratio:.2f}")
    tell("time grows with designs to the power", f"{by_design:.2f}")


def memory():
    """Most memory of a process that streams designs, 100 chains a rotor."""
    for count in (1_000, 10_000, 100_000):
        code = (
            f"import resource, speed; speed.reuse_shipped({count // 100}); "
            "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
        )
        done = subprocess.run(
            [sys.executable, "-c", code], cwd=Path(__file__).parent, capture_output=True, text=True, check=True
        )
        tell(f"most memory, {count:,} designs streamed", f"{int(done.stdout) / 1024:.0f} MB")


def start():
    """How long the command takes from a cold start."""
    command = [sys.executable, "-c", "from whirlbench.cli.main import run; run()", "predict", str(STARTER), "--json"]
    bare = [sys.executable, "-c", "import numba"]
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}

    def process(words):
        return median_ms(lambda: subprocess.run(words, env=environment, capture_output=True, check=True), 7)

    taken, least = process(command), process(bare)
    tell("whirlbench predict --json, a new process", f"{taken:.0f} ms", f"{taken / least:.1f} x importing numba alone")


def search():
    """The robust search of the shipped bin, against its rotor curves alone in the other two ways."""
    from search import settled, whole_search

    for build in ("starter", "geared", "advanced"):
        found = whole_search(*settled(build))
        one = shape_of(14)
        plain = median_ms(lambda one=one: plain_torque(one, 5.0, RATIOS, **AIR), 3)
        numpy = median_ms(lambda one=one: vectorised_torque([one] * 5, [5.0] * 5, RATIOS, **AIR), 3) / 5
        least = least_ms(found.evaluations, peak(), stations=14)
        others = (1e-3 * found.evaluations * each / found.seconds for each in (plain, numpy))
        remark = "their rotor curves alone, no chains: plain {:.1f} x, numpy {:.1f} x".format(*others)
        tell(f"robust search, {build} build", f"{found.seconds:.1f} s", f"{found.evaluations} rotors; {remark}")
        tell("  over the limit of its rotor curves", f"{1e3 * found.seconds / least:,.0f} x")


def workers():
    """A quick search on one and on two worker processes of a cluster."""
    from distributed import LocalCluster
    from search import settled, whole_search

    times = {}
    for count in (1, 2):
        with (
            LocalCluster(n_workers=count, threads_per_worker=1, dashboard_address=None) as cluster,
            cluster.get_client() as client,
        ):
            executor = client.get_executor()
            work = functools.partial(whole_search, *settled("starter"), executor=executor, effort="quick")
            work()  # loads the code in every worker
            times[count] = timed(work)
    tell(
        "quick search on one dask worker, on two",
        f"{times[1]:.1f}, {times[2]:.1f} s",
        f"{times[1] / times[2]:.2f} x as fast",
    )


PARTS = {each.__name__: each for each in (rotors, growth, memory, start, search, workers)}

if __name__ == "__main__":
    tell("cores", str(CORES), f"Python {sys.version.split()[0]}, numpy {np.__version__}, load {os.getloadavg()[0]:.1f}")
    for part in sys.argv[1:] or PARTS:
        PARTS[part]()
