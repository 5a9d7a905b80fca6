"""Readings under nearly the same conditions brought together, so that a model need not be asked about each of them."""

import collections
import math
from dataclasses import replace

_MOST = 40  # conditions: a fit of so many takes seconds
_LOAD_STEP = 0.02  # loads that differ by less are one resistor that got warm
_WIND_STEPS = (0.01, 0.02, 0.04, 0.08, 0.16)
_CONDITIONS = ("wind_speed", "load_resistance")


def gathered(readings):
    """Readings in at most some forty conditions.

    Parameters
    ----------
    readings : sequence of Reading
        At the fan, and pulls on the tower.

    Returns
    -------
    tuple of Reading
        As many in the same order. Few conditions stay as they are; of more, those whose load agrees within 2 %, and
        whose wind within 1 %, or 2, 4, 8, 16 % if need be, get the mean wind and load of all of them.

    Notes
    -----
    Volts and speed follow the wind nearly as a straight line over so small a step, so their means belong to the mean
    wind: within 0.2 % for the widest step.
    """
    if len(_places(readings, lambda one: (one.wind_speed, one.load_resistance, one.pushed))) <= _MOST:
        return tuple(readings)
    for step in _WIND_STEPS:
        bins = _places(readings, lambda one, step=step: _bin(one, step))
        if len(bins) <= _MOST:
            break
    found = list(readings)
    for places in bins.values():
        means = {name: _mean([getattr(found[place], name) for place in places]) for name in _CONDITIONS}
        for place in places:
            found[place] = replace(found[place], **means)
    return tuple(found)


def _places(readings, key):
    """Places of the readings at the fan by their condition."""
    found = collections.defaultdict(list)
    for place, reading in enumerate(readings):
        if reading.wind_speed is not None:
            found[key(reading)].append(place)
    return found


def _bin(reading, step):
    return _number(reading.wind_speed, step), _number(reading.load_resistance, _LOAD_STEP), reading.pushed


def _number(value, step):
    """Bin of a number on a logarithmic ruler; nothing and 0 have one each."""
    return round(math.log(value) / step) if value else value


def _mean(values):
    return None if values[0] is None else math.fsum(values) / len(values)
