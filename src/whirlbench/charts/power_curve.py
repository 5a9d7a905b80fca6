"""The power curve as measured: every run as a dot, the mean of every bin with its standard uncertainty."""

from whirlbench.charts import look
from whirlbench.charts.scale import watt_unit
from whirlbench.errors import InputError

_SHAPES = ("diamond", "circle", "square", "triangle-up", "cross", "triangle-down")
_MOST = len(_SHAPES)


def power_curve(report, *, width=420, height=320):
    """Chart of measured power over wind speed, by bins.

    Parameters
    ----------
    report : dict
        ``curves`` with ``build``, ``load_resistance_ohm``, ``bins`` and ``runs``, the one of most runs first (at most
        six are drawn); ``reference_density_kg_m3``.
    width, height : float
        Of the plot [px].

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        No curve.
    """
    curves = report["curves"][:_MOST]
    if not curves:
        raise InputError("chart", "no curve", "runs with wind and power", try_="add volts and ohms to the readings")
    bins = [each | {"curve": _words(one)} for one in curves for each in one["bins"]]
    runs = [each | {"curve": _words(one)} for one in curves for each in one["runs"]]
    unit, size = watt_unit(max(each["normal_power_W"] for each in runs))
    axes = {"x": _wind_axis(runs), "y": {"field": "power", "type": "quantitative", "axis": _power_title(unit)}}
    means = [_mean(each, size) for each in bins]
    dots = [{**each, "wind": each["normal_wind_speed_m_s"], "power": each["normal_power_W"] / size} for each in runs]
    density = (
        f"at {report['reference_density_kg_m3']:g} kg/m³" if report.get("density_rule") != "none" else "as measured"
    )
    return look.framed(
        {
            "title": look.heading(
                "Power curve as measured", f"Means of bins {density}; bars are one standard uncertainty."
            ),
            "description": f"Electrical power in {unit} over wind speed in m/s: "
            + "; ".join(f"{each['power']:.3g} at {each['wind']:.3g} ({each['curve']})" for each in means),
            "width": width,
            "height": height,
            "layer": _layers(means, dots, axes, [_words(one) for one in curves]),
        }
    )


def _words(one):
    ohms = one["load_resistance_ohm"]
    return " ".join(filter(None, [one["build"], "load not written down" if ohms is None else f"{ohms:g} ohm"]))


def _mean(each, size):
    power, doubt = each["electrical_power_W"] / size, (each["electrical_power_sd_W"] or 0.0) / size
    ends = {"low": max(0.0, power - doubt), "high": power + doubt} if doubt else {"low": None, "high": None}
    return {"curve": each["curve"], "wind": each["wind_speed_m_s"], "power": power, "count": each["count"], **ends}


def _layers(means, dots, axes, words):
    shape = {"field": "curve", "type": "nominal", "scale": {"domain": words, "range": list(_SHAPES[: len(words)])}}
    shape["legend"] = {"columns": 3, "symbolFillColor": look.colour("load"), "symbolStrokeColor": look.colour("load")}
    barred = [each for each in means if each["low"] is not None]
    detail = {"detail": {"field": "curve", "type": "nominal"}}
    ends = {"y": {**axes["y"], "field": "low"}, "y2": {"field": "high"}}
    mean = {"type": "point", "size": 90, "filled": True, "opacity": 1, "color": look.colour("load")}
    layers = [
        ({"type": "point", "size": 16, "filled": True, "opacity": 0.5, "color": look.SOFT_INK}, dots, {}),
        ({"type": "line", "color": look.colour("load"), "strokeWidth": 2}, means, detail),
        ({"type": "rule", "color": look.INK, "strokeWidth": 1.5}, barred, ends),
        ({**mean, "stroke": look.PAPER, "strokeWidth": 1}, means, {"shape": shape}),
    ]
    return [
        {"data": {"values": rows}, "mark": mark, "encoding": {**axes, **encoding}}
        for mark, rows, encoding in layers
        if rows
    ]


def _power_title(unit):
    return {"title": f"electrical power [{unit}]", "tickCount": 6}


def _wind_axis(runs):
    winds = [each["normal_wind_speed_m_s"] for each in runs]
    return {
        "field": "wind",
        "type": "quantitative",
        "scale": {"domain": [max(0.0, min(winds) - 0.5), max(winds) + 0.5], "nice": False, "zero": False},
        "axis": {"title": "wind speed [m/s]", "tickMinStep": 0.5},
    }
