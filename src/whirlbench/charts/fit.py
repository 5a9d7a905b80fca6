"""What learning from readings changed: every residual before and after, and the band of power before and after."""

from whirlbench.charts import look
from whirlbench.charts.scale import watt_unit
from whirlbench.errors import InputError

_BEFORE = ("before learning", "circle", look.PAPER, look.SOFT_INK)
_AFTER = ("after learning", "diamond", look.colour("load"), look.colour("load"))
_BANDS = (("band before", "#E9E1D1"), ("band after", look.pale("load", 0.45)))
_OVER = {
    "wind": ("wind_speed_m_s", "wind speed [m/s]", "linear"),
    "load": ("load_resistance_ohm", "load [ohm]", "log"),
}
_NAMES = {"voltage": "volts", "current": "amps", "rotor_speed": "rpm", "tip_deflection": "tower pull"}


def residuals(rows, *, width=300):
    """Chart of how far each reading lies from the model, in its doubts, before and after learning.

    Parameters
    ----------
    rows : sequence of dict
        ``line``, ``quantity``, ``gap_before``, ``gap_after`` (model less reading, in doubts); rows without gaps are
        left out.
    width : float
        Of the plot [px].

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        No row with a gap.
    """
    rows = [row for row in rows if row["gap_after"] is not None]
    if not rows:
        raise InputError("chart", "no residuals", "volts, amps or rpm that were read", try_="add them to the readings")
    names = [f"line {row['line']}, {_NAMES.get(row['quantity'], row['quantity'])}" for row in rows]
    dots = [
        {"reading": name, "gap": row[field], "kind": kind[0]}
        for field, kind in (("gap_before", _BEFORE), ("gap_after", _AFTER))
        for name, row in zip(names, rows, strict=True)
    ]
    ways = [
        {"reading": name, "gap": row["gap_before"], "end": row["gap_after"]}
        for name, row in zip(names, rows, strict=True)
    ]
    reach = max(3.5, *(abs(dot["gap"]) for dot in dots)) * 1.05
    axes = _gap_axes(names, reach)
    outside = sum(abs(row["gap_after"]) > 2 for row in rows)
    verdict = f"After learning, {outside} of {len(rows)} lie outside two doubts; 1 in 20 does by luck."
    return look.framed(
        {
            "title": look.heading("Readings against the model", verdict),
            "description": "Model less reading in doubts, before and after learning: "
            + "; ".join(
                f"{name} {row['gap_before']:.2g} to {row['gap_after']:.2g}"
                for name, row in zip(names, rows, strict=True)
            ),
            "width": width,
            "height": {"step": 20},
            "layer": [
                _allowed(),
                _rule_at_zero(),
                _layer(
                    {"type": "rule", "color": look.SOFT_INK, "opacity": 0.6}, ways, {**axes, "x2": {"field": "end"}}
                ),
                _layer({"type": "point", "size": 60, "strokeWidth": 1.5, "opacity": 1}, dots, {**axes, **_kinds()}),
            ],
        }
    )


def band(points, seen=(), *, over="wind", width=300, height=280):
    """Chart of power with its band before and after learning, and the readings' own power.

    Parameters
    ----------
    points : sequence of dict
        ``wind_speed_m_s`` or ``load_resistance_ohm``, and ``before_W``, ``before_low_W``, ``before_high_W`` and the
        same with ``after``.
    seen : sequence of dict
        ``electrical_power_W`` over the same.
    over : str
        ``wind`` or ``load``.
    width, height : float
        Of the plot [px].

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        No points, or over something else.
    """
    if not points or over not in _OVER:
        got = "no points" if not points else f"'{over}'"
        raise InputError("chart", got, "points over wind or load", try_="read volts with a known load")
    field, title, scale = _OVER[over]
    unit, size = watt_unit(max(point["before_high_W"] for point in points))
    rows = [
        {
            "at": point[field],
            "kind": words,
            "low": point[f"{name}_low_W"] / size,
            "high": point[f"{name}_high_W"] / size,
        }
        for name, (words, _) in zip(("before", "after"), _BANDS, strict=True)
        for point in points
    ]
    line = [{"at": point[field], "power": point["after_W"] / size} for point in points]
    dots = [{"at": one[field], "power": one["electrical_power_W"] / size} for one in seen if one[field] is not None]
    axes = _power_axes([each["at"] for each in line], title, scale, unit)
    ends = {"y": {**axes["y"], "field": "low"}, "y2": {"field": "high"}}
    words, colours = zip(*_BANDS, strict=True)
    fill = {"field": "kind", "type": "nominal", "scale": {"domain": list(words), "range": list(colours)}}
    mark = {"type": "point", "shape": "diamond", "size": 70, "filled": True, "color": look.INK, "opacity": 1}
    return look.framed(
        {
            "title": look.heading(
                f"Power over {over}", "8 of 10 believed cases lie in a band; diamonds: your readings."
            ),
            "description": f"Electrical power in {unit} over {title}, best estimate after learning: "
            + "; ".join(f"{each['power']:.3g} at {each['at']:.3g}" for each in line),
            "width": width,
            "height": height,
            "layer": [
                _layer({"type": "area", "clip": True}, rows, {**axes, **ends, "fill": fill}),
                _layer({"type": "line", "color": look.colour("load"), "strokeWidth": 2.5}, line, axes),
                *([_layer({**mark, "stroke": look.PAPER, "strokeWidth": 1}, dots, axes)] if dots else []),
            ],
        }
    )


def _gap_axes(names, reach):
    return {
        "x": {
            "field": "gap",
            "type": "quantitative",
            "scale": {"domain": [-reach, reach], "nice": False},
            "axis": {"title": "model less reading, in doubts of the reading", "tickCount": 7},
        },
        "y": {"field": "reading", "type": "nominal", "sort": names, "axis": {"title": None, "grid": True}},
    }


def _power_axes(places, title, scale, unit):
    return {
        "x": {
            "field": "at",
            "type": "quantitative",
            "scale": {"type": scale, "domain": [min(places), max(places)], "nice": False},
            "axis": {"title": title, "tickCount": 6},
        },
        "y": {"field": "power", "type": "quantitative", "axis": {"title": f"electrical power [{unit}]", "grid": True}},
    }


def _allowed():
    """Ground between minus two and two doubts."""
    mark = {"type": "rect", "color": look.pale("load", 0.15)}
    return {"data": {"values": [{}]}, "mark": mark, "encoding": {"x": {"datum": -2}, "x2": {"datum": 2}}}


def _rule_at_zero():
    return {"data": {"values": [{}]}, "mark": {"type": "rule", "color": look.INK}, "encoding": {"x": {"datum": 0}}}


def _kinds():
    words, shapes, fills, strokes = (list(column) for column in zip(_BEFORE, _AFTER, strict=True))
    return {
        channel: {"field": "kind", "type": "nominal", "scale": {"domain": words, "range": values}}
        for channel, values in (("shape", shapes), ("fill", fills), ("stroke", strokes))
    }


def _layer(mark, rows, encoding):
    return {"data": {"values": rows}, "mark": mark, "encoding": encoding}
