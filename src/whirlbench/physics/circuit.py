"""What flows when a generator of a given EMF meets its rectifier and load."""

import math
from dataclasses import dataclass

import numpy as np

from whirlbench.errors import InputError, UnknownKey, nearest, within

_KINDS = ("ac", "dc")
_NO_EMF = 1e-100  # [V] stands for a machine at rest, so that ratios stay finite
_METER = 1e6  # [ohm] from here on a load draws no more than a voltmeter
_NEWTON_STEPS = 5  # 4 reach rounding for any load from short to open; see tests/physics/test_circuit.py


@dataclass(frozen=True)
class Circuit:
    """A winding, the diodes behind it, and a load: numbers only.

    A load is a threshold voltage followed by a resistance. A resistor has no threshold, a string of
    LEDs has both, an open circuit has an infinite resistance and a short circuit none.

    Attributes
    ----------
    winding_resistance : float
        Resistance of the winding and its leads [ohm]; over 0. An array asks many windings at once.
    kind : str
        ``"dc"`` for a commutator machine, ``"ac"`` for a sinusoidal EMF.
    rectifier_drop : float
        Forward voltage of one diode [V].
    diode_count : int
        Diodes that the current passes: 0 none, 1 blocking diode (dc) or centre tap (ac, numbers of one half
        of the winding), 2 bridge.
    reservoir : bool
        Whether a large capacitor stands behind the rectifier; without effect on dc.
    load_resistance : float
        Resistance of the load, or in series with its LEDs [ohm]; 0 to infinity. An array asks many loads at once.
    load_threshold : float
        Voltage below which the load takes no current [V]; 0 for a resistor.
    brush_drop : float
        Voltage lost at the brushes of a dc machine while current flows [V]. An array asks many machines at once.

    Raises
    ------
    OutOfRange
        A negative or absurd number.
    InputError
        A capacitor or LEDs on an alternating current without a rectifier, or an unknown kind.

    Notes
    -----
    Winding inductance is left out: right for coreless and hand-wound coils, and for any machine while
    ``generator.reactance`` is small beside the sum of the resistances. Beyond that, power is overstated.
    Phases with one bridge each on a common capacitor act as one phase of ``winding_resistance`` / phases.
    """

    winding_resistance: float
    kind: str = "dc"
    rectifier_drop: float = 0.0
    diode_count: int = 0
    reservoir: bool = False
    load_resistance: float = math.inf
    load_threshold: float = 0.0
    brush_drop: float = 0.0

    def __post_init__(self):
        if self.kind not in _KINDS:
            raise UnknownKey("current", f"'{self.kind}'", "dc or ac", try_=nearest(self.kind, _KINDS))
        within(
            "winding resistance",
            self.winding_resistance,
            low=1e-6,
            high=1e6,
            unit="ohm",
            try_="measure it from open and loaded volts at one speed",
        )
        within("diode drop", self.rectifier_drop, low=0, high=5, unit="V", try_="0.7 V for silicon, 0.3 V for Schottky")
        within("diodes in the path", self.diode_count, low=0, high=2, unit="", try_="2 for a bridge, 1 for one diode")
        within("load resistance", self.load_resistance, low=0, high=math.inf, unit="ohm", try_="give 0 for a short")
        within("load threshold", self.load_threshold, low=0, high=1e3, unit="V", try_="add up the volts of the LEDs")
        within(
            "brush drop", self.brush_drop, low=0, high=5, unit="V", try_="0.05 V for metal brushes, 0.3 V for carbon"
        )
        bare_ac = self.kind == "ac" and not self.diode_count
        if bare_ac and (self.reservoir or self.load_threshold):
            got = "a capacitor" if self.reservoir else "LEDs"
            raise InputError(
                "load", f"{got} on alternating current", "a rectifier", try_="put a bridge before the load"
            )

    @property
    def rectifier_voltage(self):
        """Voltage lost in all diodes of the path [V]."""
        return self.rectifier_drop * self.diode_count

    @property
    def starting_voltage(self):
        """EMF below which no current flows [V]."""
        return self.rectifier_voltage + self.load_threshold


@dataclass(frozen=True)
class ElectricalState:
    """Currents, voltages and mean powers of a circuit; arrays of the shape of the EMF.

    Attributes
    ----------
    current : array
        What a meter in the load's lead reads [A]: the mean, or the rms value on alternating current.
    voltage : array
        What a meter across the load reads [V]: the mean, or the rms value on alternating current.
    gap_power : array
        Electrical power that the shaft delivers [W]; over the shaft speed it is the electrical torque.
    winding_loss : array
        Heat in the winding and its brushes [W].
    rectifier_loss : array
        Heat in the diodes [W].
    load_power : array
        Power in the load [W]. Pulses in a resistor deliver more than mean volts times mean amperes.
    """

    current: np.ndarray
    voltage: np.ndarray
    gap_power: np.ndarray
    winding_loss: np.ndarray
    rectifier_loss: np.ndarray
    load_power: np.ndarray


def electrical_state(circuit, emf):
    """Currents, voltages and mean powers of a circuit at given EMFs.

    Parameters
    ----------
    circuit : Circuit
        Winding, rectifier and load.
    emf : float or array
        EMF of a dc machine, peak EMF of an ac one [V].

    Returns
    -------
    ElectricalState
        Arrays of the shape of ``emf``; ``gap_power`` is the sum of the other three powers.

    Raises
    ------
    OutOfRange
        A negative EMF: give the speed without its sign.

    Notes
    -----
    Diodes are a constant drop. Behind a rectifier without capacitor the current follows the tops of the sine
    and all means are closed integrals. Behind a capacitor the load voltage is constant and the conduction
    angle balances the charge that comes in tops with the charge that the load draws. An infinite capacitor is
    meant: one that holds the voltage over a half wave, load resistance x capacity well over a half period.
    A load that takes no current shows the open-circuit voltage. No published check of the rectifier cases
    was found beyond "about peak less two drops"; the tests integrate the same circuits in time.
    """
    emf = np.asarray(emf, dtype=float)
    within("EMF", emf, low=0, high=1e6, unit="V", try_="give the speed of the generator without its sign")
    if circuit.kind == "dc":
        flow = _steady
    elif circuit.reservoir:
        flow = _smoothed
    else:
        flow = _pulsating if circuit.diode_count else _sinusoidal
    current, current_squared, voltage, load_power = flow(circuit, emf)
    winding_loss = circuit.winding_resistance * current_squared + circuit.brush_drop * current
    rectifier_loss = circuit.rectifier_voltage * current
    gap_power = winding_loss + rectifier_loss + load_power
    return ElectricalState(current, voltage, gap_power, winding_loss, rectifier_loss, load_power)


# Each flow returns what the load's meters show, and between them the mean square of the winding current.


def _steady(circuit, emf):
    open_ended = np.asarray(circuit.load_resistance) >= _METER  # brushes lose volts to a current only
    lost = circuit.rectifier_voltage + np.where(open_ended, 0.0, circuit.brush_drop)
    behind_diodes = np.maximum(emf - lost, 0.0)
    driving = np.maximum(behind_diodes - circuit.load_threshold, 0.0)
    current = driving / (circuit.winding_resistance + circuit.load_resistance)
    voltage = np.maximum(behind_diodes - circuit.winding_resistance * current, 0.0)
    return current, current**2, voltage, voltage * current


def _sinusoidal(circuit, peak):
    rms = peak / math.sqrt(2.0)
    current = rms / (circuit.winding_resistance + circuit.load_resistance)
    voltage = np.maximum(rms - circuit.winding_resistance * current, 0.0)
    return current, current**2, voltage, voltage * current


def _pulsating(circuit, peak):
    resistance = circuit.winding_resistance + circuit.load_resistance
    mean, mean_square = _tops(_angle(circuit.starting_voltage, peak))
    current, current_squared = peak * mean / resistance, peak**2 * mean_square / resistance**2
    open_mean, _ = _tops(_angle(circuit.rectifier_voltage, peak))
    voltage = np.maximum(peak * open_mean - circuit.winding_resistance * current, 0.0)
    load_resistance = np.where(np.isfinite(circuit.load_resistance), circuit.load_resistance, 0.0)
    return current, current_squared, voltage, circuit.load_threshold * current + load_resistance * current_squared


def _smoothed(circuit, peak):
    angle = _balanced_angle(
        _angle(circuit.starting_voltage, peak), circuit.load_resistance / circuit.winding_resistance
    )
    mean, mean_square = _tops(angle)
    scale = peak / circuit.winding_resistance
    voltage = np.maximum(peak * np.cos(angle) - circuit.rectifier_voltage, 0.0)
    current = scale * mean
    return current, scale**2 * mean_square, voltage, voltage * current


def _balanced_angle(widest, ratio):
    """Half the conduction angle at which the charge that comes in equals the charge that the load draws.

    With u = cos(angle) the balance is u - cos(widest) = ratio * mean(u), ratio = load over winding resistance. Its
    miss rises and bends down in u, so Newton's tangents never pass the root from below and no step needs a guard
    but the ends. The start is exact for a nearly open load, where the plain method would crawl.
    """
    if np.isinf(ratio).all():
        return np.zeros_like(widest)
    dead = np.cos(widest)
    angle = np.minimum(widest, np.cbrt(1.5 * math.pi * (1.0 - dead) / np.maximum(ratio, 1e-9)))
    for _ in range(_NEWTON_STEPS):
        level = np.cos(angle)
        miss = level - dead - ratio * _tops(angle)[0]
        level -= miss / (1.0 + (2.0 / math.pi) * ratio * angle)
        angle = np.arccos(np.clip(level, dead, 1.0))
    return angle


def _angle(level, peak):
    """Half the angle during which a sine of this peak stands above a level [rad]."""
    return np.arccos(np.minimum(level / np.maximum(peak, _NO_EMF), 1.0))


def _tops(angle):
    """Mean, and mean square, of what a rectified unit sine has above ``cos(angle)``."""
    level, height = np.cos(angle), np.sin(angle)
    mean = (2.0 / math.pi) * (height - angle * level)
    mean_square = (angle * (1.0 + 2.0 * level**2) - 3.0 * level * height) / math.pi
    return np.maximum(mean, 0.0), np.maximum(mean_square, 0.0)
