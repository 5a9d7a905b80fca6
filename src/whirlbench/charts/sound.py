"""What a recording of the turbine holds: its swells a second, and whose they are."""

from whirlbench.charts import look
from whirlbench.errors import InputError

# words of the legend with their colours and shapes, so that they are told apart without colour too
_KINDS = {
    "blade pass": (look.colour("rotor"), "circle"),
    "shaft": (look.colour("drivetrain"), "diamond"),
    "fan": (look.colour("wind"), "square"),
    "mains": (look.colour("tower"), "triangle-up"),
}


def swells(points, marks=(), *, sentence="", width=560, height=260):
    """Chart of how strongly a sound swells over how often, with the lines of rotor, fan and mains marked.

    Parameters
    ----------
    points : sequence of dict
        ``frequency_Hz`` and ``height_dB`` over the noise, rising in frequency.
    marks : sequence of dict
        ``frequency_Hz``, ``height_dB`` and ``kind``: blade pass, shaft, fan or mains.
    sentence : str
        What was found, under the title.
    width, height : float
        Of the plot [px].

    Returns
    -------
    dict
        Vega-Lite.

    Raises
    ------
    InputError
        No points, or a mark of an unknown kind.
    """
    if not points:
        raise InputError("chart", "no points", "the spectrum of a recording", try_="record 8 to 30 s")
    strange = [mark["kind"] for mark in marks if mark["kind"] not in _KINDS]
    if strange:
        raise InputError("mark", f"'{strange[0]}'", "one of " + ", ".join(_KINDS), try_="name the kind of line")
    axes = {"x": _axis("frequency_Hz", "swells a second [Hz]"), "y": _axis("height_dB", "over the noise [dB]")}
    axes["x"]["scale"] = {"domain": [0, points[-1]["frequency_Hz"]], "nice": False}
    axes["y"]["axis"]["grid"] = True
    curve = {"mark": {"type": "line", "color": look.SOFT_INK, "strokeWidth": 1, "clip": True}, "encoding": axes}
    return look.framed(
        {
            "title": look.heading("What swells in the sound", sentence),
            "description": "Swell over the noise in dB; marked: "
            + "; ".join(f"{mark['kind']} {mark['frequency_Hz']:.3g} Hz" for mark in marks),
            "width": width,
            "height": height,
            "layer": [{"data": {"values": list(points)}, **curve}, *_marks(marks, axes)],
        }
    )


def _axis(field, title):
    return {"field": field, "type": "quantitative", "axis": {"title": title, "tickCount": 8}}


def _marks(marks, axes):
    if not marks:
        return []
    shown = [kind for kind in _KINDS if any(mark["kind"] == kind for mark in marks)]
    colours, shapes = zip(*(_KINDS[kind] for kind in shown), strict=True)
    looks = {
        channel: {"field": "kind", "type": "nominal", "scale": {"domain": shown, "range": list(values)}}
        for channel, values in (("fill", colours), ("shape", shapes))
    }
    mark = {"type": "point", "size": 60, "opacity": 1, "stroke": look.PAPER, "strokeWidth": 0.5, "clip": True}
    return [{"data": {"values": list(marks)}, "mark": mark, "encoding": {**axes, **looks}}]
