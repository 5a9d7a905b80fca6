"""What one other ratio, one other resistor or a stronger generator would give: how well rotor and load are matched."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.physics import load
from whirlbench.predict import chains

_STEPS = 2.0 ** np.arange(-6, 6.25, 0.25)  # ratios looked at, times the one that is there
_MOST_RATIO = 100.0
_STRONGER = 4.0  # resistance of the winding divided by this is a clearly stronger generator


@dataclass(frozen=True)
class Match:
    """Best-estimate power with one thing changed at a time.

    Attributes
    ----------
    power : float
        As it is [W].
    resistance, by_load : float
        Best preferred resistor at this ratio, and the power with it [ohm], [W].
    ratio, by_ratio : float
        Best step-up at this load, and the power with it [-], [W].
    by_both : float
        Power with the best of both [W].
    by_generator : float
        Power with a winding of a quarter of the resistance and the resistor that suits it [W].
    """

    power: float
    resistance: float
    by_load: float
    ratio: float
    by_ratio: float
    by_both: float
    by_generator: float


def match(assembly, prediction, *, pushed=False):
    """Power of a turbine with other ratios and resistors.

    Parameters
    ----------
    assembly : Assembly
        The turbine; the first world is used.
    prediction : Prediction
        Its state in a wind.
    pushed : bool
        After a push instead of from rest.

    Returns
    -------
    Match
        One change at a time.

    Notes
    -----
    Another ratio is taken to come at the efficiency of the present train and never below 1:1, so a train of more
    stages gives a little less than told.
    """
    machine, curve = assembly.machine, prediction.curve
    present = machine.circuit.load_resistance
    others = load.preferred_values("E12", lowest=0.5, highest=1e4) if machine.circuit.load_threshold == 0 else ()
    ohms = np.array([present, *others])  # LEDs stay as they are
    table, ratios = _scaled(assembly)

    grid = chains.settled(curve, table, machine, ohms, pushed=pushed).power
    stronger = replace(machine, circuit=replace(machine.circuit, winding_resistance=_weaker(machine)))
    other = chains.settled(curve, _rows(table, 1), stronger, ohms, pushed=pushed).power
    by_load, by_ratio = int(np.argmax(grid[0])), int(np.argmax(grid[:, 0]))
    return Match(
        power=float(grid[0, 0]),
        resistance=float(ohms[by_load]),
        by_load=float(grid[0, by_load]),
        ratio=float(ratios[by_ratio]),
        by_ratio=float(grid[by_ratio, 0]),
        by_both=float(grid.max()),
        by_generator=float(other.max()),
    )


def _weaker(machine):
    return np.asarray(machine.circuit.winding_resistance) / _STRONGER


def _scaled(assembly):
    """The present train, and the same at other ratios; what the factor ``start`` says goes into the start."""
    base = chains.train_table([assembly.train])
    step_up, start = assembly.train.step_up, float(assembly.worlds.factor("start")[0, 0])
    wanted = step_up * _STEPS
    other = wanted[(wanted >= min(1.0, step_up) - 1e-9) & (wanted <= max(_MOST_RATIO, step_up))] / step_up
    scale = np.concatenate([[1.0], other])[:, None]
    table = chains.TrainTable(
        step_up=base.step_up * scale,
        gain=base.gain * scale,
        offset=base.offset * np.ones_like(scale),
        start_gain=base.start_gain * scale * start,
        start_offset=base.start_offset * np.ones_like(scale) * start,
    )
    return table, step_up * scale[:, 0]


def _rows(table, count):
    names = ("step_up", "gain", "offset", "start_gain", "start_offset")
    return chains.TrainTable(*(getattr(table, name)[:count] for name in names))
