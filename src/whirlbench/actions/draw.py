"""Draw what an action answered to a file: SVG, PNG or PDF."""

import numpy as np

from whirlbench.actions.predict import predict
from whirlbench.charts import energy, files, page, performance

_ALIKE = 0.1  # loads this close share a curve


def draw_prediction(turbine, report, path, *, readings=(), beliefs=None):
    """Draw the power curve with its band and readings, and the energy path.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    report : PredictReport
        Answer of ``predict``; its last point gives the energy path.
    path : path
        File to write; its ending chooses the format.
    readings : sequence of Reading
        Shown where they hold a wind and a power, and were taken with the load of the curve.
    beliefs : Beliefs, optional
        What readings have taught.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        An ending that is no picture, or a folder that cannot be written.
    """
    last = report.points[-1]
    points = report.points
    if len(points) < 3:
        around = np.linspace(0.4, 1.4, 11) * last.wind_speed_m_s
        points = predict(turbine, [float(speed) for speed in around], beliefs=beliefs).points
    seen = [
        {"wind_speed_m_s": one.wind_speed, "electrical_power_W": one.power}
        for one in readings
        if one.wind_speed is not None and one.power is not None and _same_load(one, last)
    ]
    curve = performance.performance([point.model_dump() for point in points], seen, width=300, height=330)
    flow = energy.energy_path([step.model_dump() for step in last.energy_path], width=230)
    return files.save(page.beside(curve, flow), path)


def draw_rotor(report, path):
    """Draw the rotor's power and thrust coefficients.

    Parameters
    ----------
    report : RotorReport
        Answer of ``rotor``.
    path : path
        File to write; its ending chooses the format.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        An ending that is no picture, or a folder that cannot be written.
    """
    shown = [point.model_dump() for point in report.points if point.power_coefficient > -0.2]
    return files.save(performance.rotor(shown), path)


def _same_load(reading, point):
    ohms = reading.load_resistance
    return ohms is None or abs(ohms / point.load_resistance_ohm - 1) < _ALIKE
