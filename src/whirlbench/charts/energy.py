"""Where the wind's energy goes: what the rotor catches of it, and which part keeps how much of that."""

import json

from whirlbench.charts import look
from whirlbench.charts.scale import percent, watt_unit, watts
from whirlbench.errors import InputError

_WORDS = {
    "tower": "leaning tower",
    "wake": "left in the wind",
    "blades": "drag of the blades",
    "rods": "drag of bare rods",
    "bearings": "bearings",
    "generator friction": "generator friction",
    "generator winding": "heat in the generator's wire",
    "rectifier": "diodes",
    "load": "to your load",
}
_PASSED_BY = ("tower", "wake")  # the wind's power that never becomes the rotor's
_ROW = 25  # [px]
_HALF_BAR = 0.36  # of a row
_WIDTH = {"type": "quantitative", "scale": {"domain": [0, 1], "nice": False}, "axis": None}


def part_words(part):
    """Plain words for a part of the energy path.

    Parameters
    ----------
    part : str
        Name in the energy path.

    Returns
    -------
    str
        Such as ``heat in the generator's wire`` or ``gears 64:8``.
    """
    return _WORDS.get(part) or part.partition(": ")[2] or part


def energy_path(parts, *, width=330):
    """Chart of where the wind's energy goes, in two staircases: the wind's, and the rotor's drawn larger.

    Parameters
    ----------
    parts : sequence of dict
        ``part`` and ``power_W`` from the wind to the load; together they are the wind's power.
    width : float or str
        Width of the bars [px], or ``container``.

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        No parts.
    """
    if not parts:
        raise InputError("energy path", "no parts", "the parts from the wind to the load", try_="predict first")
    wind = sum(each["power_W"] for each in parts)
    caught = wind - sum(each["power_W"] for each in parts if each["part"] in _PASSED_BY)
    load = sum(each["power_W"] for each in parts if each["part"] == "load")
    # differences of large numbers leave dust; a rotor at rest catches nothing
    turning = caught > 1e-9 * wind
    rows = _wind_rows(parts, wind, caught)
    magnified = len(rows) - 0.5
    if turning:
        rows += _rotor_rows(parts, wind, caught)
    return look.framed(
        {
            "title": look.heading("Where the wind's energy goes", _verdict(wind, load, turning)),
            "description": "; ".join(f"{row['words']}: {row['watts']}" for row in rows if row["watts"]),
            "width": width,
            "height": _ROW * len(rows),
            "layer": [
                *([_funnel(caught / wind, magnified, len(rows))] if turning else []),
                _bars(rows),
                _headings(rows),
                *_columns(rows),
            ],
            "resolve": {"axis": {"y": "independent"}},
        }
    )


def _verdict(wind, load, turning):
    if not wind > 0:
        return "There is no wind."
    if not turning:
        return "The rotor stands still, so all of it blows past."
    return f"{percent(load / wind)} of the wind's power reaches your load."


def _wind_rows(parts, wind, caught):
    unit, _ = watt_unit(wind)
    rows = [_heading("The wind that blows at your rotor", "of the wind"), _step("the wind", "wind", wind, wind, unit)]
    left = wind
    for each in parts:
        if each["part"] in _PASSED_BY and each["power_W"]:
            rows.append(_step(part_words(each["part"]), look.group_of(each["part"]), each["power_W"], wind, unit, left))
            left -= each["power_W"]
    return [*rows, _step("caught by the rotor", "rotor", max(caught, 0.0), wind, watt_unit(caught)[0])]


def _rotor_rows(parts, wind, caught):
    unit, _ = watt_unit(caught)
    # the first row is left to the funnel
    rows = [
        _heading("", ""),
        _heading(f"What the rotor catches, drawn {wind / caught:.2g} times larger", "of the catch"),
        _step("caught by the rotor", "rotor", caught, caught, unit),
    ]
    left = caught
    names = [part_words(each["part"]) for each in parts]
    for each in parts:
        power, words = each["power_W"], part_words(each["part"])
        if each["part"] in _PASSED_BY or (not power and each["part"] != "load"):
            continue
        if names.count(words) > 1:
            words = f"{words} ({each['part'].partition(':')[0]})"
        # the load gets what is left: its bar stands on the floor
        start = power if each["part"] == "load" else left
        rows.append(_step(words, look.group_of(each["part"]), power, caught, unit, start))
        left -= power
    return rows


def _heading(words, share):
    return {"words": "", "heading": words, "watts": "", "share": share}


def _step(words, group, power, whole, unit, left=None):
    """One bar from what is left before a part down to what is left behind it, as shares of the whole."""
    scale = whole if whole > 0 else 1.0
    left = power if left is None else left
    return {
        "words": words,
        "heading": "",
        "group": group,
        "from": (left - power) / scale,
        "to": left / scale,
        "watts": watts(power, unit),
        "share": percent(power / scale),
    }


def _bars(rows):
    values = [
        {**row, "floor": 0, "top": number + 0.5 - _HALF_BAR, "bottom": number + 0.5 + _HALF_BAR}
        for number, row in enumerate(rows)
        if "group" in row
    ]
    groups = [group for group in look.GROUPS if any(row["group"] == group for row in values)]
    ends = {"y": _place("top", len(rows)), "y2": {"field": "bottom"}}
    rest = {
        "mark": {"type": "rect", "color": look.REST},
        "encoding": {"x": {**_WIDTH, "field": "from"}, "x2": {"field": "floor"}, **ends},
    }
    part = {
        "mark": {"type": "rect", "stroke": look.INK, "strokeWidth": 0.6},
        "encoding": {
            "x": {**_WIDTH, "field": "from"},
            "x2": {"field": "to"},
            "fill": {
                "field": "group",
                "type": "nominal",
                "scale": {"domain": groups, "range": [look.colour(group) for group in groups]},
                "legend": {"symbolType": "square", "symbolStrokeWidth": 0},
            },
            "tooltip": [{"field": name, "type": "nominal"} for name in ("words", "watts", "share")],
            **ends,
        },
    }
    return {"data": {"values": values}, "layer": [rest, part]}


def _funnel(share, start, count):
    """Lens from the small bar of what is caught down to the same bar drawn over the full width."""
    values = [
        {"row": start + _HALF_BAR, "share": share, "floor": 0},
        {"row": start + 0.75, "share": share, "floor": 0},
        {"row": start + 1.65, "share": 1, "floor": 0},
        {"row": start + 3 - _HALF_BAR, "share": 1, "floor": 0},
    ]
    return {
        "data": {"values": values},
        "mark": {"type": "area", "orient": "horizontal", "color": look.pale("rotor", 0.16)},
        "encoding": {
            "y": _place("row", count),
            "x": {**_WIDTH, "field": "share"},
            "x2": {"field": "floor"},
        },
    }


def _headings(rows):
    values = [{"row": number + 0.55, **row} for number, row in enumerate(rows) if row["heading"]]
    return {
        "data": {"values": values},
        "mark": {"type": "text", "align": "left", "baseline": "middle", "fontWeight": "bold", "dx": 2},
        "encoding": {
            "x": {**_WIDTH, "datum": 0},
            "y": _place("row", len(rows)),
            "text": {"field": "heading", "type": "nominal"},
        },
    }


def _columns(rows):
    """Names on the left, watts and shares on the right: axes, because a renderer keeps room for an axis."""
    look_ = {"labelColor": look.INK}
    right = {"orient": "right", "labelAlign": "right", **look_}
    return [
        _column(rows, "words", {"orient": "left", "labelPadding": 8, **look_}),
        _column(rows, "watts", {"labelPadding": 64, **right}),
        _column(rows, "share", {"labelPadding": 142, **right, "labelColor": look.SOFT_INK}),
    ]


def _column(rows, field, axis):
    words = [row[field] for row in rows]
    last = f"datum.value > {len(rows) - 1}"
    return {
        "data": {"values": [{}]},
        "mark": {"type": "rect", "opacity": 0},
        "encoding": {
            "y": {
                **_place(None, len(rows)),
                "axis": {
                    "values": [number + 0.5 for number in range(len(rows))],
                    "labelExpr": f"{json.dumps(words)}[floor(datum.value)]",
                    "labelFontWeight": {"condition": {"test": last, "value": "bold"}, "value": "normal"},
                    "grid": False,
                    "title": None,
                    **axis,
                },
            }
        },
    }


def _place(field, count):
    of = {"field": field, "axis": None} if field else {"datum": 0}
    return {**of, "type": "quantitative", "scale": {"domain": [0, count], "reverse": True, "nice": False}}
