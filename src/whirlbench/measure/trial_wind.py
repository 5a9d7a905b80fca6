"""Wind maps: equal-area rings in front of a fan, and the log-Tchebycheff places of a closed tunnel."""

import math

import numpy as np

from whirlbench import tables, units
from whirlbench.errors import InputError, within
from whirlbench.measure.trial import Column, Fact, Found, Result, Trial, several, written
from whirlbench.measure.trial_doubt import ANEMOMETER, meter_doubt
from whirlbench.measure.uncertainty import from_limit
from whirlbench.physics import tunnel
from whirlbench.units import show
from whirlbench.value import Value

RINGS = 4
_SIDES = ("top", "right", "bottom", "left")
_RULE = 0.012  # limit of error of four rings on three invented jets (computed), relative
_TRAVERSE = 0.01  # the same of log-Tchebycheff places in a pipe: judgement from its computed 0.2 %
_MISPLACED = 0.05  # of the map's radius
_IN_DISC = 4  # places that have to lie in the rotor's disc for a mean of their own
_LOPSIDED = 0.15


def _wind_map(filled, built):
    wind, rotor_radius = built.turbine.wind, built.turbine.rotor.radius
    if wind.kind != "fan":
        raise InputError("wind", f"kind = '{wind.kind}'", "a fan", try_="use the bench test tunnel-map, or set kind")
    several(filled, 2, "rings")
    order = np.argsort(filled["radius"])
    sides = np.column_stack([filled[side] for side in _SIDES])[order]
    for line, row in zip(np.array(filled.lines)[order], sides, strict=True):
        if np.isnan(row).all():
            raise InputError(f"line {line}", "no wind", "one side or more", try_="read the wind in every ring")
    reach, count = filled["map radius"], len(filled)
    rings = np.nanmean(sides**3, axis=1) ** (1 / 3)
    over_disc = tunnel.cube_mean(rings, map_radius=reach, rotor_radius=rotor_radius)
    value = Value(over_disc, over_disc * _map_doubt(filled, sides), f"bench test wind-map, {count} rings")
    changes = {
        ("wind", "rings"): [units.show(ring, "m/s", 3) for ring in rings],
        ("wind", "map_radius"): show(reach, "mm", 4),
        ("wind", "map_doubt"): show(value.relative, "%", 2),
        ("wind", "speed"): None,
    }
    found = (Found("wind over the rotor's disc (cube mean)", value, "m/s", "m/s"),)
    return Result(found, changes, tuple(_map_remarks(filled, sides, filled["radius"][order], rings)))


def _map_doubt(filled, sides):
    """Relative standard uncertainty of the cube mean: anemometer, places around a ring, and the rule itself."""
    rings = np.nanmean(sides, axis=1)
    spread = sides / rings[:, None] - 1
    read = np.isfinite(sides).sum()
    freedom = max(read - len(rings), 1)
    scatter = math.sqrt(np.nansum(spread**2) / freedom / read) if read > len(rings) else 0.0
    return math.hypot(meter_doubt(filled, "anemometer", sides), scatter, from_limit(_RULE))


def _map_remarks(filled, sides, radii, rings):
    wanted = tunnel.ring_radii(len(filled), filled["map radius"])
    if (np.abs(radii - wanted) > _MISPLACED * filled["map radius"]).any():
        places = ", ".join(f"{1000 * place:.0f}" for place in wanted)
        yield f"The rings stand for equal areas only at {places} mm: read them there, or the mean leans."
    means = np.nanmean(sides, axis=0)
    if np.isfinite(means).all() and np.ptp(means) > _LOPSIDED * means.mean():
        yield (
            f"The jet is lopsided: {show(means.max(), 'm/s', 2)} at the {_SIDES[int(means.argmax())]}, "
            f"{show(means.min(), 'm/s', 2)} at the {_SIDES[int(means.argmin())]}. Move the fan before you trust a map."
        )
    if rings.max() > 0:
        plain = float(rings.mean())
        more = 100 * ((np.mean(rings**3) / plain**3) - 1)
        if more > 2:
            yield f"A plain mean of the rings would miss {more:.0f} % of the wind's power over the map."


def _map_defaults(turbine):
    return {"map radius": show(math.ceil(turbine.rotor.radius * 100 - 1e-9) / 100, "mm", 4)}


def _map_rows(facts, turbine):
    if not facts.get("map radius"):
        return [[str(i + 1)] for i in range(RINGS)]
    radii = tunnel.ring_radii(RINGS, units.read("map radius", facts["map radius"], "m"))
    return [[str(i + 1), f"{1000 * radius:.0f}"] for i, radius in enumerate(radii)]


def traverse(section, count, *, width, height):
    """Places for the anemometer in a closed tunnel by the log-Tchebycheff rule.

    Parameters
    ----------
    section : str
        ``rectangle``, or ``round``: then along two diameters at right angles.
    count : int
        Lines in each direction (5 to 7) of a rectangle, or points on a radius (3 or 4) of a round section.
    width, height : float
        Of the section [m]; a round one has its diameter in both.

    Returns
    -------
    array, shape (n, 2)
        Across and up from the middle [m].

    Raises
    ------
    UnknownKey
        A count that the rule does not have.

    References
    ----------
    .. [1] ISO 5802:2001, tables 2 and 3, read (round); ISO 3966 from memory (rectangle).
    """
    table = tables.load(f"tunnel/log_tchebycheff_{section}")
    table.find("lines", count=float(count))
    places = np.array([row.place for row in table.rows if row.count == count])
    if section == "rectangle":
        across, up = np.meshgrid((places - 0.5) * width, (0.5 - places) * height)
        return np.column_stack([across.ravel(), up.ravel()])
    along = np.concatenate([places - 0.5, (0.5 - places)[::-1]])
    still = np.zeros_like(along)
    return np.concatenate([np.column_stack([along * width, still]), np.column_stack([still, along[::-1] * height])])


def _tunnel_map(filled, built):
    wind = built.turbine.wind
    if wind.kind != "tunnel":
        raise InputError("wind", f"kind = '{wind.kind}'", "a tunnel", try_="use the bench test wind-map for a fan")
    several(filled, 6, "places in the section")
    across, up, speeds = filled["across"], filled["up"], filled["wind"]
    within("places", np.abs(across), low=0, high=wind.width / 2, unit="m", try_="measure from the middle")
    within("places", np.abs(up), low=0, high=wind.height / 2, unit="m", try_="measure from the middle")
    in_disc = np.hypot(across, up) <= built.turbine.rotor.radius
    section = float(speeds.mean())
    enough = int(in_disc.sum()) >= _IN_DISC
    chosen = speeds[in_disc] if enough else speeds
    mean = float(np.mean(chosen**3) ** (1 / 3)) if enough else section
    scatter = float(chosen.std(ddof=1) / mean / math.sqrt(len(chosen)))
    doubt = math.hypot(meter_doubt(filled, "anemometer", speeds), scatter, from_limit(_TRAVERSE))
    value = Value(mean, mean * doubt, f"bench test tunnel-map, {len(filled)} places")
    of_what = "rotor's disc (cube mean)" if enough else "section (mean)"
    changes = {("wind", "speed"): written(value, "m/s", 3)}
    if wind.measured != "empty section":
        changes["wind", "measured"] = "empty section"
    sentences = (
        f"The whole section has a mean of {show(section, 'm/s', 3)}; {int(in_disc.sum())} of {len(filled)} places lie "
        f"in the rotor's disc, and the {of_what} is what goes into the file.",
    )
    return Result((Found(f"wind over the {of_what}", value, "m/s", "m/s"),), changes, sentences)


def _tunnel_defaults(turbine):
    if turbine.wind.kind != "tunnel":
        return {}
    return {name: show(getattr(turbine.wind, name), "mm", 4) for name in ("width", "height")}


def _tunnel_rows(facts, turbine):
    if not (facts.get("width") and facts.get("height")):
        return [[str(i + 1)] for i in range(25)]
    width, height = (units.read(name, facts[name], "m") for name in ("width", "height"))
    count = units.read("lines", facts["lines"], "")
    places = traverse(facts["section"], count, width=width, height=height)
    return [[str(i + 1), *(f"{1000 * each + 0.0:.0f}" for each in place)] for i, place in enumerate(places)]


_ANEMOMETER = (
    "Take the turbine away before you start. Let the fan run for ten minutes first.",
    "Hold the anemometer on a stick, square to the wind, in the plane where the rotor will stand; keep your body out "
    "of the stream. Average over ten seconds or more.",
)
_FAN = (
    "Keep fingers, cords and the anemometer's own wheel away from the fan's guard; nothing loose in front of it.",
    "Switch the fan off before you move it.",
)
WIND_MAP = Trial(
    name="wind-map",
    title="Wind in rings of equal area in front of the fan",
    tells="the wind over the rotor's disc, which counts three times over in power",
    minutes=25,
    needs=("an anemometer", "a stand with a cardboard disc that carries the rings as circles", "a tape measure"),
    steps=(
        *_ANEMOMETER,
        "Read the wind at the radius of each ring: at the top, at the right, at the bottom, at the left.",
        "Read the innermost ring again at the end: if it moved by more than 3 %, the fan was not warm yet.",
    ),
    cautions=_FAN,
    formula="Wind of a ring = cube root of the mean of the cubes of its readings. The rings have equal areas, so over "
    "the disc again the cubes are averaged, ring by ring as far as the blades reach.",
    facts=(Fact("map radius", "mm", "m", hint="outer edge of the last ring; at least the rotor's radius"), ANEMOMETER),
    columns=(
        Column("ring", "", "", needed=False, printed=True),
        Column("radius", "mm", "m", printed=True),
        *(Column(side, "m/s", "m/s", needed=False) for side in _SIDES),
    ),
    evaluate=_wind_map,
    rows=RINGS,
    defaults=_map_defaults,
    printed=_map_rows,
)
TUNNEL_MAP = Trial(
    name="tunnel-map",
    title="Wind at the log-Tchebycheff places of a closed tunnel",
    tells="the wind in the empty section",
    minutes=40,
    needs=("a small anemometer or a pitot tube on a rod", "a tape measure", "tape to close the hole for the rod"),
    steps=(
        *_ANEMOMETER,
        "Read the wind at every place of the table, in the order that moves the rod least.",
        "Close the hole around the rod. Read the middle again at the end.",
    ),
    cautions=_FAN,
    formula="The places stand for equal shares of the flow, walls included, so their plain mean is the mean of the "
    "section. Places within the rotor's disc give the wind that the rotor meets, by the mean of their cubes.",
    facts=(
        Fact("section", choices=("rectangle", "round"), default="rectangle", hint="shape across the wind"),
        Fact("lines", default="5", hint="each way: 5, 6 or 7; points on a radius of a round section: 3 or 4"),
        Fact("width", "mm", "m", hint="of the section; a round one: its diameter"),
        Fact("height", "mm", "m", hint="of the section; a round one: its diameter"),
        ANEMOMETER,
    ),
    columns=(
        Column("place", "", "", needed=False, printed=True),
        Column("across", "mm", "m", printed=True),
        Column("up", "mm", "m", printed=True),
        Column("wind", "m/s", "m/s"),
    ),
    evaluate=_tunnel_map,
    rows=25,
    defaults=_tunnel_defaults,
    printed=_tunnel_rows,
)
