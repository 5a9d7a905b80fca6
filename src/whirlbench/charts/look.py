"""The visual language: warm paper, dark ink, and one colour for each part group, the same in every chart."""

from whirlbench.errors import UnknownKey, nearest

PAPER = "#FBF7EE"
INK = "#14110D"
SOFT_INK = "#5C5347"  # second lines and axis numbers; still easy to read on paper
GRID = "#E6DECF"
REST = "#E9E1D1"  # what is still left on its way to the load
SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"

# Okabe and Ito's set for readers who confuse colours; its yellow is too pale on paper and its black is our ink
_COLOURS = {
    "wind": "#56B4E9",
    "rotor": "#0072B2",
    "drivetrain": "#E69F00",
    "generator": "#D55E00",
    "load": "#009E73",
    "tower": "#CC79A7",
}
GROUPS = tuple(_COLOURS)
_GROUP_OF_PART = {
    "wind": "wind",
    "wake": "wind",
    "blades": "rotor",
    "rods": "rotor",
    "bearings": "drivetrain",
    "rectifier": "generator",
    "load": "load",
    "tower": "tower",
}
# The renderer carries Liberation Sans, whose letters are as wide as Arial's, and draws nothing without the last word
FONT = "Liberation Sans, Arial, Helvetica, sans-serif"
CONFIG = {
    "font": FONT,
    "view": {"stroke": None},
    "title": {
        "anchor": "start",
        "frame": "group",
        "color": INK,
        "fontSize": 16,
        "subtitleColor": SOFT_INK,
        "subtitleFontSize": 12,
        "subtitlePadding": 5,
        "offset": 12,
    },
    "axis": {
        "domainColor": INK,
        "tickColor": INK,
        "gridColor": GRID,
        "labelColor": SOFT_INK,
        "titleColor": INK,
        "labelFontSize": 12,
        "titleFontSize": 12,
        "titleFontWeight": "normal",
        "titlePadding": 8,
        "labelLimit": 0,
        "tickSize": 4,
    },
    "axisY": {"domain": False, "ticks": False},
    "axisX": {"grid": False},
    "legend": {
        "orient": "bottom",
        "direction": "horizontal",
        "title": None,
        "labelColor": INK,
        "labelFontSize": 12,
        "labelLimit": 0,
        "symbolSize": 90,
        "columnPadding": 14,
        "rowPadding": 4,
    },
    "text": {"color": INK, "fontSize": 12},
    "line": {"strokeCap": "round", "strokeJoin": "round"},
}


def colour(group):
    """Colour of a part group.

    Parameters
    ----------
    group : str
        One of ``GROUPS``.

    Returns
    -------
    str
        ``#RRGGBB``.

    Raises
    ------
    UnknownKey
        No such group.
    """
    return _known(group, _COLOURS, "part group")


def group_of(part):
    """Group that a part of the energy path belongs to.

    Parameters
    ----------
    part : str
        Name in the energy path, such as ``rods`` or ``stage 1: gears 64:8``.

    Returns
    -------
    str
        One of ``GROUPS``.

    Raises
    ------
    UnknownKey
        No such part.
    """
    if part.startswith("stage "):
        return "drivetrain"
    if part.startswith("generator"):
        return "generator"
    return _known(part, _GROUP_OF_PART, "part of the energy path")


def pale(group, share=0.3):
    """Colour of a part group, thinned with paper.

    Parameters
    ----------
    group : str
        One of ``GROUPS``.
    share : float
        Share of the colour; the rest is paper [-].

    Returns
    -------
    str
        ``#RRGGBB``.
    """
    mixed = (
        share * strong + (1 - share) * paper for strong, paper in zip(_rgb(colour(group)), _rgb(PAPER), strict=True)
    )
    return "#" + "".join(f"{round(each):02X}" for each in mixed)


def text_on(background):
    """Ink or paper, whichever reads better on a background.

    Parameters
    ----------
    background : str
        ``#RRGGBB``.

    Returns
    -------
    str
        ``#RRGGBB``.
    """
    return max((INK, PAPER), key=lambda text: contrast(text, background))


def contrast(text, background):
    """Contrast ratio of two colours, from 1 (the same) to 21 (black on white).

    Parameters
    ----------
    text, background : str
        ``#RRGGBB``.

    Returns
    -------
    float
        4.5 and more is readable as running text [-].

    References
    ----------
    .. [1] Web Content Accessibility Guidelines 2.1, success criterion 1.4.3 and its definition of relative luminance.
    """
    dark, light = sorted((_luminance(text), _luminance(background)))
    return (light + 0.05) / (dark + 0.05)


def framed(view):
    """A whole chart description from a view: paper, fonts and colours of the house put around it.

    Parameters
    ----------
    view : dict
        Vega-Lite without ``config``.

    Returns
    -------
    dict
        Vega-Lite that can be drawn as it is.
    """
    return {
        "$schema": SCHEMA,
        "background": PAPER,
        "padding": 14,
        "config": CONFIG,
        **view,
    }


def heading(title, subtitle):
    """Title of a view with a second, quieter line.

    Parameters
    ----------
    title, subtitle : str
        Plain words.

    Returns
    -------
    dict
        Vega-Lite's ``title``.
    """
    return {"text": title, "subtitle": subtitle}


def _known(name, table, what):
    if name not in table:
        raise UnknownKey(what, f"'{name}'", "a name we know", try_=nearest(name, table))
    return table[name]


def _rgb(colour):
    return tuple(int(colour[place : place + 2], 16) for place in (1, 3, 5))


def _luminance(colour):
    linear = [
        each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4
        for each in (channel / 255 for channel in _rgb(colour))
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
