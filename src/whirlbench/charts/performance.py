"""What a turbine gives: electrical power over wind speed with the team's readings, and the rotor on its own."""

import itertools

from whirlbench.charts import look
from whirlbench.charts.scale import percent, watt_unit
from whirlbench.errors import InputError

# words of the legend, with shape, inside and edge of their marks
_STARTS = ("prediction", "circle", look.colour("load"), look.colour("load"))
_STUCK = ("will not start by itself", "circle", look.PAPER, look.colour("load"))
_BAND = ("8 of 10 such builds land in here", "square", look.pale("load"), look.pale("load"))
_READ = ("your readings", "diamond", look.INK, look.PAPER)
_CAP = {"type": "tick", "orient": "horizontal", "color": look.INK, "size": 9, "thickness": 1.5, "opacity": 1}
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


def rotor(points, *, width=330, height=240):
    """Chart of the rotor alone: power coefficient over tip-speed ratio with its peak, and thrust below it.

    Parameters
    ----------
    points : sequence of dict
        ``tip_speed_ratio``, ``power_coefficient`` and, in all of them or in none, ``thrust_coefficient``.
    width, height : float
        Of the upper plot [px].

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        No points.
    """
    if not points:
        raise InputError("chart", "no points", "the rotor's coefficients", try_="ask for more tip-speed ratios")
    rows = sorted(points, key=lambda point: point["tip_speed_ratio"])
    best = max(rows, key=lambda row: row["power_coefficient"])
    size = {"width": width, "height": height}
    power = {**size, **_coefficient(rows, "power_coefficient", "power coefficient Cp", "rotor")}
    power["layer"] += _peak(best, rows) if best["power_coefficient"] > 0 else []
    title = look.heading("Your rotor alone", _rotor_verdict(best))
    if "thrust_coefficient" not in rows[0]:
        return look.framed({"title": title, **power})
    push = {**size, "height": height / 2, **_coefficient(rows, "thrust_coefficient", "thrust coefficient Ct", "tower")}
    return look.framed({"title": title, "vconcat": [power, push], "spacing": 18})


def _rotor_verdict(best):
    if not best["power_coefficient"] > 0:
        return "It takes no power from the wind at any of these speeds."
    return f"At its best it turns {percent(best['power_coefficient'])} of the wind's power into shaft power."


def _coefficient(rows, field, title, group):
    """Curve of a coefficient; the plunge far beyond the runaway speed is cut off, or it would flatten the rest."""
    values = [row[field] for row in rows]
    fastest = max(row["tip_speed_ratio"] for row in rows)
    top = max(0.0, *values) or 0.1
    domain = [max(min(0.0, *values), -0.25 * top), 1.15 * top]
    encoding = {
        "x": {
            "field": "tip_speed_ratio",
            "type": "quantitative",
            "scale": {"domain": [0, 1.03 * fastest or 1], "nice": False},
            "axis": {"title": "tip-speed ratio", "tickCount": 8},
        },
        "y": {
            "field": field,
            "type": "quantitative",
            "scale": {"domain": domain, "nice": False},
            "axis": {"title": title, "tickCount": 5, "grid": True, "minExtent": 34},
        },
    }
    mark = {"color": look.colour(group), "clip": True}
    curve = {"mark": {"type": "line", "strokeWidth": 2.5, **mark}, "encoding": encoding}
    dots = {"mark": {"type": "point", "filled": True, "size": 30, "opacity": 1, **mark}, "encoding": encoding}
    floor = {"mark": {"type": "rule", "color": look.INK}, "encoding": {"y": {"datum": 0}}}
    return {"data": {"values": rows}, "layer": [floor, curve] if len(rows) > 12 else [floor, curve, dots]}


def _peak(best, rows):
    """Mark and words at the highest power; the words lean away from the edge that is near."""
    words = f"best: {best['power_coefficient']:.2g} at {best['tip_speed_ratio']:.1f}"
    place = best["tip_speed_ratio"] / (rows[-1]["tip_speed_ratio"] or 1)
    align = "left" if place < 0.25 else "right" if place > 0.75 else "center"
    at = {
        "x": {"field": "tip_speed_ratio", "type": "quantitative"},
        "y": {"field": "power_coefficient", "type": "quantitative"},
    }
    dot = {"type": "point", "size": 90, "filled": True, "color": look.colour("rotor"), "opacity": 1}
    text = {"type": "text", "dy": -13, "align": align, "fontWeight": "bold"}
    data = {"values": [{**best, "words": words}]}
    return [
        {"data": data, "mark": {**dot, "stroke": look.PAPER}, "encoding": at},
        {"data": data, "mark": text, "encoding": {**at, "text": {"field": "words", "type": "nominal"}}},
    ]


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
    """One sentence on the start, from points that rise in wind speed."""
    if not predicted:
        return "Readings only."
    starts = [row["kind"] == _STARTS[0] for row in predicted]
    if not any(starts):
        return "It starts by itself at none of these wind speeds."
    first = starts.index(True)
    if not all(starts[first:]):
        return "It starts by itself at some of these wind speeds only."
    if not first:
        return "It starts by itself."
    last, now = predicted[first - 1]["wind"], predicted[first]["wind"]
    return f"It begins to start by itself between {last:.3g} and {now:.3g} m/s."


def _wind_axis(rows):
    winds = [row["wind"] for row in rows]
    domain = [max(0.0, min(winds) - 0.5), max(winds) + 0.5]
    return {
        "field": "wind",
        "type": "quantitative",
        "scale": {"domain": domain, "nice": False, "zero": False},
        "axis": {"title": "wind speed [m/s]", "tickMinStep": 1},
    }


def _power_axis(rows, unit):
    top = max(max(row["power"], row["high"] or 0.0) for row in rows)
    lowest = min(min(row["power"], row["low"] or 0.0) for row in rows)
    return {
        "field": "power",
        "type": "quantitative",
        "scale": {"domain": [min(0.0, 1.1 * lowest), 1.1 * top if top > 0 else 1.0]},
        "axis": {"title": f"electrical power [{unit}]", "tickCount": 6},
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
    # no line between a point that starts and one that does not: the power jumps somewhere between them
    runs = [list(run) for _, run in itertools.groupby(rows, key=lambda row: row["kind"])]
    layers = [
        *((_line(run[0]["kind"]), run, {}) for run in runs),
        ({"type": "point", "size": 46, "strokeWidth": 2, "opacity": 1}, rows, _shown(words)),
    ]
    if banded:
        ends = {"y": {**axes["y"], "field": "low"}, "y2": {"field": "high"}}
        layers.insert(0, (band, banded, ends))
    return [_layer(*each, axes) for each in layers if rows]


def _line(kind):
    dash = {} if kind == _STARTS[0] else {"strokeDash": [5, 5]}
    return {"type": "line", "color": look.colour("load"), "strokeWidth": 2.5, **dash}


def _readings(rows, axes, words):
    barred = [row for row in rows if row["low"] is not None]
    ends = {"y": {**axes["y"], "field": "low"}, "y2": {"field": "high"}}
    layers = [({"type": "point", "size": 70, "strokeWidth": 1, "opacity": 1}, rows, _shown(words))]
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
