"""Test runs as pictures: every run with the gains and their intervals, and what each factor does."""

from whirlbench.charts import look
from whirlbench.charts.scale import watt_unit
from whirlbench.errors import InputError

_DOT = {"type": "point", "filled": True, "size": 46, "opacity": 0.55, "color": look.colour("load")}
_MEAN = {"type": "point", "shape": "diamond", "filled": True, "size": 110, "opacity": 1, "color": look.INK}
_STROKES = ([], [6, 4], [2, 3], [8, 3, 2, 3])  # lines that differ without colour


def comparison(runs, gains, *, quantity="electrical power", unit="W", width=330):
    """Chart of every run of every setting, and beside it the gains with their 95 % intervals.

    Parameters
    ----------
    runs : sequence of dict
        ``setting`` and ``outcome``, in the order the settings shall stand.
    gains : sequence of dict
        ``name``, ``gain``, ``low``, ``high`` (None where the scatter is not known) and ``verdict``.
    quantity, unit : str
        What was measured, in SI.
    width : float
        Of the left plot [px].

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        No runs.
    """
    if not runs:
        raise InputError("chart", "no runs", "the runs of a comparison", try_="compare two settings first")
    shown, size = _scale([run["outcome"] for run in runs], unit)
    dots = [{"setting": run["setting"], "outcome": run["outcome"] / size} for run in runs]
    order = list(dict.fromkeys(run["setting"] for run in runs))
    row = {"type": "nominal", "sort": order, "axis": {"title": None, "domain": False, "ticks": False, "grid": True}}
    across = {
        "type": "quantitative",
        "scale": {"zero": False, "padding": 14},
        "axis": {"title": f"{quantity} [{shown}]"},
    }
    x, y = {"field": "outcome", **across}, {"field": "setting", **row}
    every = {
        "width": width,
        "height": 54 * len(order),
        "data": {"values": dots},
        "layer": [
            {"mark": _DOT, "encoding": {"x": x, "y": y}},
            {"mark": _MEAN, "encoding": {"x": {**x, "aggregate": "mean"}, "y": y}},
        ],
    }
    return look.framed(
        {
            "title": look.heading("Every run, and what it adds up to", _told(gains)),
            "description": f"{quantity} in {shown}: "
            + "; ".join(f"{dot['setting']} {dot['outcome']:.4g}" for dot in dots),
            "hconcat": [every, _gains(gains, size, shown, max(54 * len(order), 34 * len(gains)))],
            "spacing": 36,
        }
    )


def effect_plot(means, joint=(), *, quantity="electrical power", unit="W", width=150):
    """Chart of what each factor does, and below it how pairs of factors act together.

    Parameters
    ----------
    means : sequence of dict
        ``factor``, ``level`` and ``mean``, levels in order.
    joint : sequence of dict
        ``first``, ``first_level``, ``second``, ``second_level`` and ``mean`` of pairs of factors.
    quantity, unit : str
        What was measured, in SI.
    width : float
        Of each small plot [px].

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        No means.
    """
    if not means:
        raise InputError("chart", "no factors", "the means of a plan", try_="compare the settings of a plan first")
    every = [*means, *joint]
    shown, size = _scale([row["mean"] for row in every], unit)
    reach = [row["mean"] / size for row in every]
    pad = 0.12 * (max(reach) - min(reach)) or 0.1 * abs(reach[0]) or 1.0
    domain = [min(reach) - pad, max(reach) + pad]
    panels = [_panel(name, rows, size, domain) for name, rows in _grouped(means, ("factor",))]
    pairs = [_pair(name, rows, size, domain) for name, rows in _grouped(joint, ("first", "second"))]
    for row in (panels, pairs):
        for place, panel in enumerate(row):
            panel.update(width=width, height=170)
            for layer in panel["layer"]:
                layer["encoding"]["y"]["axis"] = _left_axis(f"{quantity} [{shown}]" if place == 0 else None)
    apart = {"resolve": {"scale": {"strokeDash": "independent", "x": "independent"}}}
    rows = [{"hconcat": panels, "spacing": 20}, *([{"hconcat": pairs, "spacing": 20, **apart}] if pairs else [])]
    return look.framed(
        {
            "title": look.heading("What each change does", _steepest(means)),
            "description": f"Means of {quantity} in {shown}: "
            + "; ".join(f"{row['factor']} {row['level']}: {row['mean'] / size:.4g}" for row in means),
            "vconcat": rows,
            "spacing": 26,
        }
    )


def _scale(outcomes, unit):
    """Unit to show and its size in the SI unit of the outcomes."""
    if unit == "rad/s":
        return "rpm", 0.10471975511965977
    return watt_unit(max(map(abs, outcomes))) if unit == "W" else (unit, 1.0)


def _told(gains):
    better = [gain["name"] for gain in gains if gain["verdict"] == "better"]
    if better:
        return f"Better: {', '.join(better)}. Its 95 % interval lies above zero."
    return "No gain is sure: every 95 % interval holds zero, or lies below it."


def _gains(gains, size, shown, height):
    rows = [
        {
            "name": gain["name"],
            "gain": gain["gain"] / size,
            "low": None if gain["low"] is None else gain["low"] / size,
            "high": None if gain["high"] is None else gain["high"] / size,
            "sure": "sure" if gain["verdict"] in ("better", "worse") else "could be luck",
        }
        for gain in gains
    ]
    across = {"type": "quantitative", "axis": {"title": f"gain [{shown}]", "tickCount": 5}}
    y = {"field": "name", "type": "nominal", "sort": None, "axis": {"title": None, "domain": False, "ticks": False}}
    scale = {"domain": ["sure", "could be luck"], "range": [look.colour("load"), look.SOFT_INK]}
    words = [word for word in scale["domain"] if any(row["sure"] == word for row in rows)]
    colour = {"field": "sure", "type": "nominal", "scale": scale, "legend": {"values": words}}
    bar = {"type": "rule", "strokeWidth": 4, "strokeCap": "round"}
    return {
        "width": 190,
        "height": height,
        "data": {"values": rows},
        "layer": [
            {"mark": {"type": "rule", "color": look.INK}, "encoding": {"x": {"datum": 0}}},
            {
                "transform": [{"filter": "isValid(datum.low)"}],
                "mark": bar,
                "encoding": {"x": {"field": "low", **across}, "x2": {"field": "high"}, "y": y, "color": colour},
            },
            {
                "mark": {"type": "point", "filled": True, "size": 90, "opacity": 1},
                "encoding": {"x": {"field": "gain", **across}, "y": y, "color": colour},
            },
        ],
    }


def _grouped(rows, keys):
    groups = {}
    for row in rows:
        groups.setdefault(tuple(row[key] for key in keys), []).append(row)
    return list(groups.items())


def _left_axis(title):
    """Axis of the first plot of a row, with its numbers; the others have the lines only."""
    axis = {"title": title, "grid": True, "tickCount": 5}
    return {**axis, "minExtent": 34} if title else {**axis, "labels": False}


def _line(rows, domain, title):
    """Encoding of a small plot."""
    return {
        "x": {
            "field": "level",
            "type": "nominal",
            "sort": list(dict.fromkeys(row["level"] for row in rows)),
            "scale": {"padding": 0.4, "type": "point"},
            "axis": {"title": title, "labelAngle": 0},
        },
        "y": {"field": "mean", "type": "quantitative", "scale": {"domain": domain, "nice": False}},
    }


def _panel(name, rows, size, domain):
    values = [{"level": row["level"], "mean": row["mean"] / size} for row in rows]
    paint = {"color": look.colour("load")}
    return {
        "data": {"values": values},
        "layer": [
            {"mark": {"type": "line", "strokeWidth": 2.5, **paint}, "encoding": _line(values, domain, name[0])},
            {
                "mark": {"type": "point", "filled": True, "size": 80, "opacity": 1, **paint},
                "encoding": _line(values, domain, name[0]),
            },
        ],
    }


def _pair(name, rows, size, domain):
    first, second = name
    values = [
        {"level": row["first_level"], "line": f"{second} {row['second_level']}", "mean": row["mean"] / size}
        for row in rows
    ]
    lines = list(dict.fromkeys(row["line"] for row in values))
    strokes = [_STROKES[place % len(_STROKES)] or [1, 0] for place in range(len(lines))]
    paint = {"color": look.colour("load")}
    told = {
        "strokeDash": {
            "field": "line",
            "type": "nominal",
            "sort": lines,
            "scale": {"domain": lines, "range": strokes},
            "legend": {"direction": "vertical", "symbolType": "stroke", "symbolSize": 500},
        }
    }
    return {
        "data": {"values": values},
        "layer": [
            {
                "mark": {"type": "line", "strokeWidth": 2.5, **paint},
                "encoding": {**_line(values, domain, first), **told},
            },
            {
                "mark": {"type": "point", "filled": True, "size": 60, "opacity": 1, **paint},
                "encoding": {**_line(values, domain, first), "detail": {"field": "line", "type": "nominal"}},
            },
        ],
    }


def _steepest(means):
    """The factor that moves the mean most, in words."""
    spans = {}
    for row in means:
        low, high = spans.get(row["factor"], (row["mean"], row["mean"]))
        spans[row["factor"]] = (min(low, row["mean"]), max(high, row["mean"]))
    factor = max(spans, key=lambda name: spans[name][1] - spans[name][0])
    return f"Steep lines matter, flat ones do not: {factor} moves it most."
