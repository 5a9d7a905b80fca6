"""What a turbine gives: electrical power over wind speed with the team's readings, and the rotor on its own."""

import math

from whirlbench.charts import look
from whirlbench.charts.scale import watt_unit
from whirlbench.errors import InputError

# words of the legend, with shape, inside and edge of their marks
_STARTS = ("prediction", "circle", look.colour("load"), look.colour("load"))
_STUCK = ("will not start by itself", "circle", look.PAPER, look.colour("load"))
_BAND = ("8 of 10 builds fall in here", "square", look.pale("load"), look.pale("load"))
_READ = ("your readings", "diamond", look.INK, look.PAPER)
_CAP = {"type": "tick", "orient": "horizontal", "color": look.INK, "size": 9, "thickness": 1.5}
_MARKS = (_STARTS, _STUCK, _BAND, _READ)


def performance(points, readings=(), *, width=330, height=300):
    """Chart of electrical power over wind speed, with its band and the team's own readings.

    Parameters
    ----------
    points : sequence of dict
        Predictions in any order: ``wind_speed_m_s``, ``electrical_power_W``, ``starts``; ``electrical_power_low_W``
        and ``electrical_power_high_W`` (10 % and 90 % of all builds) where there is a band; ``state`` in words.
    readings : sequence of dict
        ``wind_speed_m_s``, ``electrical_power_W``, and ``electrical_power_sd_W`` where it is known.
    width, height : float or str
        Of the plot [px]; ``container`` follows the page.

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        Neither points nor readings.
    """
    if not points and not readings:
        raise InputError("chart", "no points", "predictions or readings", try_="predict at one wind speed or more")
    unit, size = watt_unit(max(map(_top, [*points, *readings])))
    predicted = [_prediction(each, size) for each in sorted(points, key=lambda point: point["wind_speed_m_s"])]
    measured = [_reading(each, size) for each in readings]
    rows = predicted + measured
    axes = {"x": _wind_axis(rows), "y": _power_axis(rows, unit)}
    words = [words for words, *_ in _MARKS if any(row["kind"] == words for row in rows)]
    if any(row["low"] is not None for row in predicted):
        words.insert(-1 if measured else len(words), _BAND[0])
    return look.framed(
        {
            "title": look.heading("Power into your load", _verdict(predicted)),
            "description": f"Electrical power in {unit} over wind speed in m/s: "
            + "; ".join(f"{row['power']:.3g} at {row['wind']:g} ({row['kind']})" for row in rows),
            "width": width,
            "height": height,
            "layer": [*_predictions(predicted, axes, words), *_readings(measured, axes, words)],
        }
    )


def _top(row):
    """Highest power that a point or a reading reaches [W]."""
    power = row["electrical_power_W"]
    return max(power, row.get("electrical_power_high_W") or 0.0, power + (row.get("electrical_power_sd_W") or 0.0))


def _prediction(point, size):
    low, high = point.get("electrical_power_low_W"), point.get("electrical_power_high_W")
    return {
        "wind": point["wind_speed_m_s"],
        "power": point["electrical_power_W"] / size,
        "low": None if low is None else low / size,
        "high": None if high is None else high / size,
        "kind": (_STARTS if point["starts"] else _STUCK)[0],
        "state": point.get("state", ""),
    }


def _reading(reading, size):
    power, doubt = reading["electrical_power_W"], reading.get("electrical_power_sd_W")
    return {
        "wind": reading["wind_speed_m_s"],
        "power": power / size,
        "low": None if doubt is None else max(0.0, power - doubt) / size,
        "high": None if doubt is None else (power + doubt) / size,
        "kind": _READ[0],
        "state": "measured",
    }


def _verdict(predicted):
    if not predicted:
        return "Readings only."
    slowest = next((row["wind"] for row in predicted if row["kind"] == _STARTS[0]), None)
    if slowest is None:
        return "It starts by itself at none of these wind speeds."
    if predicted[0]["kind"] == _STARTS[0]:
        return "It starts by itself at every wind speed shown." if _all_start(predicted) else "It starts at some only."
    return (
        f"It starts by itself from {slowest:g} m/s on." if _all_start(predicted, slowest) else "It starts at some only."
    )


def _all_start(predicted, slowest=0.0):
    return all(row["kind"] == _STARTS[0] for row in predicted if row["wind"] >= slowest)


def _wind_axis(rows):
    winds = [row["wind"] for row in rows]
    domain = [max(0, math.ceil(min(winds)) - 1), math.floor(max(winds)) + 1]
    return {
        "field": "wind",
        "type": "quantitative",
        "scale": {"domain": domain, "nice": False, "zero": False},
        "axis": {"title": "wind speed [m/s]", "tickMinStep": 1, "format": "~g"},
    }


def _power_axis(rows, unit):
    top = max(max(row["power"], row["high"] or 0.0) for row in rows)
    lowest = min(min(row["power"], row["low"] or 0.0) for row in rows)
    return {
        "field": "power",
        "type": "quantitative",
        "scale": {"domain": [min(0.0, 1.1 * lowest), 1.1 * top if top > 0 else 1.0]},
        "axis": {"title": f"electrical power [{unit}]", "tickCount": 6, "format": "~g"},
    }


def _shown(words):
    """Encodings of shape, inside and edge that merge into one legend."""
    marks = [mark for word in words for mark in _MARKS if mark[0] == word]
    ranges = zip(("shape", "fill", "stroke"), list(zip(*marks, strict=True))[1:], strict=True)
    return {
        channel: {
            "field": "kind",
            "type": "nominal",
            "scale": {"domain": words, "range": list(values)},
            "legend": {"columns": 2, "symbolOpacity": 1},
        }
        for channel, values in ranges
    }


def _predictions(rows, axes, words):
    banded = [row for row in rows if row["low"] is not None and row["high"] is not None]
    band = {"type": "area", "color": look.pale("load")}
    if len(banded) == 1:  # an area of one point is nothing
        band = {"type": "rule", "color": look.pale("load"), "strokeWidth": 10}
    layers = [
        ({"type": "line", "color": look.colour("load"), "strokeWidth": 2.5}, rows, {}),
        ({"type": "point", "size": 46, "strokeWidth": 2, "opacity": 1}, rows, _shown(words)),
    ]
    if banded:
        ends = {"y": {**axes["y"], "field": "low"}, "y2": {"field": "high"}}
        layers.insert(0, (band, banded, ends))
    return [_layer(*each, axes) for each in layers if rows]


def _readings(rows, axes, words):
    barred = [row for row in rows if row["low"] is not None]
    ends = {"y": {**axes["y"], "field": "low"}, "y2": {"field": "high"}}
    layers = [({"type": "point", "size": 80, "strokeWidth": 1, "opacity": 1}, rows, _shown(words))]
    if barred:
        # a rim of paper keeps a bar visible on the curve
        layers = [
            ({"type": "rule", "color": look.PAPER, "strokeWidth": 4}, barred, ends),
            ({"type": "rule", "color": look.INK, "strokeWidth": 1.5}, barred, ends),
            *((_CAP, barred, {"y": {**axes["y"], "field": end}}) for end in ("low", "high")),
            *layers,
        ]
    return [_layer(*each, axes) for each in layers if rows]


def _layer(mark, rows, encoding, axes):
    tooltip = [{"field": name, "type": "nominal"} for name in ("kind", "state", "wind", "power")]
    return {"data": {"values": rows}, "mark": mark, "encoding": {**axes, "tooltip": tooltip, **encoding}}
