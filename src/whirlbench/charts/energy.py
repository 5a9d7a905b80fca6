"""Where the wind's energy goes: what the rotor catches of it, and which part keeps how much of that."""

import json
from typing import NamedTuple

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
_DUST = 1e-9  # what a difference of large numbers leaves of a catch that is nothing
_ACROSS = {"type": "quantitative", "scale": {"domain": [0, 1], "nice": False}, "axis": None}


class _Rows(NamedTuple):
    """Heights inside a row, as shares of it, and its height [px]."""

    height: int
    words: float
    top: float
    bottom: float

    @property
    def middle(self):
        return (self.top + self.bottom) / 2


_WIDE = _Rows(25, words=0.5, top=0.14, bottom=0.86)
_NARROW = _Rows(40, words=0.26, top=0.48, bottom=0.92)  # names stand above the bars instead of beside them


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


def energy_path(parts, *, width=330, narrow=False):
    """Chart of where the wind's energy goes, in two staircases: the wind's, and the rotor's drawn larger.

    Parameters
    ----------
    parts : sequence of dict
        ``part`` and ``power_W`` from the wind to the load; together they are the wind's power.
    width : float or str
        Width of the bars [px], or ``container``.
    narrow : bool
        Put the names above the bars, for a phone.

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
    caught = sum(each["power_W"] for each in parts if each["part"] not in _PASSED_BY)
    turning = caught > _DUST * wind
    form = _NARROW if narrow else _WIDE
    rows = _wind_rows(parts, wind, caught)
    lens = [_lens(caught / wind, len(rows) - 1, form)] if turning else []
    rows += _rotor_rows(parts, wind, caught) if turning else []
    layers = [*lens, *_bars(rows, form), _headings(rows, form), *_columns(rows, form)]
    for layer in layers:
        layer["encoding"]["x"] = {**_ACROSS, **layer["encoding"].get("x", {"datum": 0})}
        down = {"type": "quantitative", "scale": {"domain": [0, len(rows)], "reverse": True, "nice": False}}
        layer["encoding"]["y"] = {"axis": None, **down, **layer["encoding"]["y"]}
    return look.framed(
        {
            "title": look.heading("Where the wind's energy goes", _verdict(parts, wind, turning)),
            "description": "; ".join(f"{row['words']}: {row['watts']}" for row in rows if row["watts"]),
            "width": width,
            "height": form.height * len(rows),
            "layer": layers,
            "resolve": {"axis": {"y": "independent"}},
        }
    )


def _verdict(parts, wind, turning):
    if not wind > 0:
        return "There is no wind."
    if not turning:
        return "The rotor stands still, so all of it blows past."
    load = sum(each["power_W"] for each in parts if each["part"] == "load")
    return f"Your load gets {percent(load / wind)} of the wind's power."


def _wind_rows(parts, wind, caught):
    unit, _ = watt_unit(wind)
    rows = [_heading("The wind at your rotor", "of the wind"), _step("the wind", "wind", wind, whole=wind, unit=unit)]
    left = wind
    for each in parts:
        part, power = each["part"], each["power_W"]
        if part in _PASSED_BY and power:
            rows.append(_step(part_words(part), look.group_of(part), power, left=left, whole=wind, unit=unit))
            left -= power
    if caught > _DUST * wind:
        unit, _ = watt_unit(caught)  # as the rotor's staircase writes it
    return [*rows, _step("taken by the blades", "rotor", max(caught, 0.0), whole=wind, unit=unit)]


def _rotor_rows(parts, wind, caught):
    unit, _ = watt_unit(caught)
    times = wind / caught
    rows = [
        _heading("", ""),  # left to the lens
        _heading(f"What the blades took, {times:.{0 if times >= 9.5 else 1}f} times larger", "of that"),
        _step("taken by the blades", "rotor", caught, whole=caught, unit=unit),
    ]
    names = [part_words(each["part"]) for each in parts]
    left = caught
    for each in parts:
        part, power = each["part"], each["power_W"]
        if part in _PASSED_BY or (not power and part != "load"):
            continue
        words = part_words(part)
        if names.count(words) > 1:
            words = f"{words} ({part.partition(':')[0]})"
        rows.append(_step(words, look.group_of(part), power, left=left, whole=caught, unit=unit))
        left -= power
    return rows


def _heading(words, share):
    return {"words": "", "heading": words, "watts": "", "share": share}


def _step(words, group, power, *, whole, unit, left=None):
    """One bar, from what is left before a part down to what is left behind it, as shares of the whole."""
    scale = whole if whole > 0 else 1.0
    left = power if left is None else left
    return {
        "words": words,
        "heading": "",
        "group": group,
        # an edge of ink helps pale colours, but would be all there is of a thin bar
        "edge": look.INK if abs(power) > 0.015 * scale else look.colour(group),
        "floor": 0,
        "from": (left - power) / scale,
        "to": left / scale,
        "watts": watts(power, unit),
        "share": percent(power / scale),
    }


def _bars(rows, form):
    values = [
        {
            **row,
            "top": number + form.top,
            "bottom": number + form.bottom,
            "said": f"{row['words']}: {row['watts']}, {row['share']}",
        }
        for number, row in enumerate(rows)
        if "group" in row
    ]
    groups = [group for group in look.GROUPS if any(row["group"] == group for row in values)]
    down = {"y": {"field": "top"}, "y2": {"field": "bottom"}}
    rest = {
        "mark": {"type": "rect", "color": look.REST, "aria": False},
        "encoding": {"x": {"field": "floor"}, "x2": {"field": "from"}},
    }
    part = {
        "mark": {"type": "rect", "strokeWidth": 0.8},
        "encoding": {
            "x": {"field": "from"},
            "x2": {"field": "to"},
            "fill": {
                "field": "group",
                "type": "nominal",
                "scale": {"domain": groups, "range": [look.colour(group) for group in groups]},
                "legend": {"symbolType": "square", "symbolStrokeWidth": 0, "columns": 3},
            },
            "stroke": {"field": "edge", "type": "nominal", "scale": None},
            # what a screen reader says and a mouse shows
            "description": {"field": "said", "type": "nominal"},
            "tooltip": {"field": "said", "type": "nominal"},
        },
    }
    return [{**bar, "data": {"values": values}, "encoding": {**down, **bar["encoding"]}} for bar in (rest, part)]


def _lens(share, row, form):
    """Lens from the small bar of what is caught down to the same bar drawn over the full width."""
    corners = [(row + form.bottom, share), (row + 1.25, share), (row + 2.15, 1), (row + 3 + form.top, 1)]
    return {
        "data": {"values": [{"row": height, "share": across, "floor": 0} for height, across in corners]},
        "mark": {"type": "area", "orient": "horizontal", "color": look.pale("rotor", 0.16), "aria": False},
        "encoding": {"y": {"field": "row"}, "x": {"field": "share"}, "x2": {"field": "floor"}},
    }


def _headings(rows, form):
    values = [{"row": number + form.middle, **row} for number, row in enumerate(rows) if row["heading"]]
    return {
        "data": {"values": values},
        "mark": {"type": "text", "align": "left", "baseline": "middle", "fontWeight": "bold", "dx": 2},
        "encoding": {"y": {"field": "row"}, "text": {"field": "heading", "type": "nominal"}},
    }


def _columns(rows, form):
    """Names, watts and shares: columns are axes, because a renderer keeps room for an axis."""
    right = {"orient": "right", "labelAlign": "right"}
    columns = [
        _column(rows, "watts", form.middle, {"labelPadding": 64, "labelColor": look.INK, **right}),
        _column(rows, "share", form.middle, {"labelPadding": 142, "labelColor": look.SOFT_INK, **right}),
    ]
    beside = {"orient": "left", "labelPadding": 8, "labelColor": look.INK}
    above = {**beside, "labelAlign": "left", "labelPadding": 0}
    return [_column(rows, "words", form.words, beside if form is _WIDE else above), *columns]


def _column(rows, field, height, axis):
    last = f"datum.value > {len(rows) - 1}"
    return {
        "data": {"values": [{}]},
        "mark": {"type": "rect", "opacity": 0, "aria": False},
        "encoding": {
            "y": {
                "datum": 0,
                "axis": {
                    "values": [number + height for number in range(len(rows))],
                    "labelExpr": f"{json.dumps([row[field] for row in rows])}[floor(datum.value)]",
                    "labelFontWeight": {"condition": {"test": last, "value": "bold"}, "value": "normal"},
                    "grid": False,
                    "zindex": 1,
                    "title": None,
                    **axis,
                },
            }
        },
    }
