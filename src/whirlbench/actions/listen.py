"""Listen to a recording of the turbine for its speed."""

import numpy as np

from whirlbench.actions.report import Report
from whirlbench.charts import files, sound
from whirlbench.measure import sound_fan
from whirlbench.measure.sound import heard_speed
from whirlbench.measure.sound_file import read_sound


class RivalSpeed(Report):
    """Another speed that the sound could mean; ``lead`` is how much more evidence the answer has."""

    rotor_speed_rad_s: float
    blade_count: int
    lead: float


class SwellPoint(Report):
    """One point of the spectrum of the sound's swell."""

    frequency_Hz: float
    height_dB: float


class SwellMark(SwellPoint):
    """A line of the spectrum and whose it is."""

    kind: str


class ListenReport(Report):
    """Answer of ``listen``; where ``sure`` is false the speed is not to be used."""

    rotor_speed_rad_s: float
    rotor_speed_sd_rad_s: float
    sure: bool
    confidence: float
    why: str
    blade_count: int
    wander: float
    fan_level_dB: float | None
    rivals: tuple[RivalSpeed, ...]
    marks: tuple[SwellMark, ...]
    spectrum: tuple[SwellPoint, ...]
    logged: bool = False


def listen(path, *, blade_count=None, guess=None, mains=None, **fan):
    """Speed of the rotor in a sound file, or that it cannot be told.

    Parameters
    ----------
    path : path
        Recording of the running turbine.
    blade_count : int, optional
        Blades of the turbine.
    guess : float, optional
        Speed believed, good to 25 % [rad/s].
    mains : float, optional
        Frequency of the mains [Hz].
    **fan
        What is known of the fan: ``fan_path``, a recording of it alone, or ``fan_speed`` [rad/s] with
        ``fan_blade_count``, or ``no_fan=True`` where none can be heard. Without a word of it nothing is sure.

    Returns
    -------
    ListenReport
        The speed, how sure it is, and the spectrum.

    Raises
    ------
    InputError
        A file that cannot be read, or a number out of range.
    """
    heard = heard_speed(read_sound(path), blade_count=blade_count, guess=guess, fan=_fan(**fan), mains=mains)
    return ListenReport(
        rotor_speed_rad_s=heard.rotor_speed,
        rotor_speed_sd_rad_s=heard.sigma,
        sure=heard.sure,
        confidence=heard.confidence,
        why=heard.why,
        blade_count=heard.blade_count,
        wander=heard.wander,
        fan_level_dB=heard.fan_level,
        rivals=tuple(
            RivalSpeed(rotor_speed_rad_s=each.rotor_speed, blade_count=each.blade_count, lead=each.lead)
            for each in heard.rivals
        ),
        marks=tuple(
            SwellMark(frequency_Hz=each.frequency, height_dB=each.height, kind=each.kind) for each in heard.marks
        ),
        spectrum=tuple(
            SwellPoint(frequency_Hz=float(frequency), height_dB=float(height)) for frequency, height in heard.spectrum.T
        ),
    )


def _fan(*, fan_path=None, fan_speed=None, fan_blade_count=None, no_fan=False):
    """What is known of the fan; None where nobody said anything."""
    if fan_path is not None:
        return sound_fan.fan_alone(read_sound(fan_path))
    if fan_speed is not None and fan_blade_count is not None:
        return sound_fan.fan_of_speed(fan_speed, fan_blade_count)
    return sound_fan.NO_FAN if no_fan else None


def draw_sound(report, path):
    """Draw the spectrum of a recording with the lines of rotor, fan and mains.

    Parameters
    ----------
    report : ListenReport
        Answer of ``listen``.
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
    turns = 30 / np.pi * report.rotor_speed_rad_s
    sentence = f"{report.blade_count} blades at {turns:.0f} rpm" + ("." if report.sure else "? Not sure.")
    points = [point.model_dump() for point in report.spectrum]
    return files.save(sound.swells(points, [mark.model_dump() for mark in report.marks], sentence=sentence), path)
