"""Several charts in one figure."""

from whirlbench.charts import look

_OF_A_WHOLE = ("$schema", "background", "padding", "config")


def beside(*charts):
    """One figure of charts next to each other.

    Parameters
    ----------
    *charts : dict
        As the functions of ``charts`` give them; a width of ``container`` has no meaning inside a figure.

    Returns
    -------
    dict
        Vega-Lite.
    """
    return _joined("hconcat", charts)


def above(*charts):
    """One figure of charts, the first on top.

    Parameters
    ----------
    *charts : dict
        As the functions of ``charts`` give them; a width of ``container`` has no meaning inside a figure.

    Returns
    -------
    dict
        Vega-Lite.
    """
    return _joined("vconcat", charts)


def _joined(how, charts):
    views = [{key: value for key, value in chart.items() if key not in _OF_A_WHOLE} for chart in charts]
    # each chart keeps its own legend: the same colour must not come to mean two things
    channels = ("color", "fill", "stroke", "shape")
    apart = {kind: dict.fromkeys(channels, "independent") for kind in ("scale", "legend")}
    return look.framed({how: views, "spacing": 36, "resolve": apart})
