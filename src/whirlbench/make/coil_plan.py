"""Plan of a hand-wound generator: where magnet and coils stand, which way the poles face, how the coils are wound."""

import math

import numpy as np
from shapely.geometry import Point, box
from shapely.geometry.polygon import orient

from whirlbench.errors import InputError
from whirlbench.make.drawing import CUT, ENGRAVE, MARK, MM, Circle, Drawing, Line, Outline, Text

_APART = 12.0  # [mm] between the plan and the coil seen from its side
_BEYOND = 5.0  # [mm] of centre lines past the parts
_LEAST_GAP = 0.5  # [mm] that a magnet turned by hand-made bearings needs: common practice
_ARROW = 1.5  # [mm]


def coil_plan_drawing(generator, *, name="coil-plan"):
    """Drawing of magnet and coils seen along the shaft, and of one coil seen along its own axis.

    Parameters
    ----------
    generator : WoundGenerator
        The generator as a part.
    name : str
        What to call it.

    Returns
    -------
    Drawing
        Shaft at the origin, first coil to the right. CUT: magnet and coils. ENGRAVE: the circle that the magnet sweeps.
        MARK: middle lines, poles, which way to wind.

    Raises
    ------
    InputError
        Another kind of generator, or a magnet that would strike a coil.
    """
    if generator.kind != "wound":
        got = f"a generator of the kind '{generator.kind}'"
        raise InputError("generator", got, "one that is wound by hand", try_="set kind = 'wound'")
    near, far = MM * generator.distance_near, MM * generator.distance_far
    inner, outer = MM * generator.coil_inner_radius, MM * generator.coil_outer_radius
    body, swept = _magnet(generator)
    _check_gap(near - swept)
    sides = (1, -1)[: generator.coils_in_series]
    middle = far + _BEYOND + _APART + outer, 0.0
    lines, texts = _winding(middle, (inner, outer))
    reach = far + _BEYOND
    return Drawing(
        name,
        outlines=(
            Outline(body, CUT),
            *(Outline(each, CUT) for side in sides for each in _halves(side, (near, far), (inner, outer))),
        ),
        circles=(
            Circle(0.0, 0.0, 2 * swept, ENGRAVE, hole=False),
            Circle(0.0, 0.0, 1.0, MARK, hole=False),
            *(Circle(*middle, 2 * radius, CUT, hole=radius == inner) for radius in (inner, outer)),
        ),
        lines=(Line(((-reach, 0.0), (reach, 0.0)), MARK), *lines),
        texts=(
            *_poles(body),
            *(Text(side * (near + far) / 2, outer + 3.0, f"coil {i}", 1.8) for i, side in enumerate(sides, 1)),
            *texts,
        ),
        notes=_notes(generator, near - swept),
    )


def _magnet(generator):
    """Outline of the magnet with north to the right, and the radius that it sweeps [mm]."""
    size = [MM * each for each in generator.size]
    if generator.magnet == "block":
        return orient(box(-size[0] / 2, -size[1] / 2, size[0] / 2, size[1] / 2)), math.hypot(size[0], size[1]) / 2
    return orient(Point(0.0, 0.0).buffer(size[0] / 2, quad_segs=64)), size[0] / 2


def _check_gap(gap):
    if not gap >= _LEAST_GAP:
        got, needs = f"{gap:.1f} mm between magnet and coil", f"{_LEAST_GAP:g} mm or more"
        raise InputError("distance_near", got, needs, try_="move the coil outwards or take a smaller magnet")


def _halves(side, faces, radii):
    """A coil cut through its middle: the winding above and below its axis."""
    (left, right), (inner, outer) = sorted(side * each for each in faces), radii
    return [orient(box(left, *span[:1], right, *span[1:])) for span in ((inner, outer), (-outer, -inner))]


def _poles(body):
    reach = body.bounds[2]
    return Text(0.5 * reach, 0.35 * reach, "N", 0.3 * reach), Text(-0.5 * reach, 0.35 * reach, "S", 0.3 * reach)


def _winding(middle, radii):
    """Arrow around a coil seen from the magnet, against the clock, and the ends of its wire."""
    x, y = middle
    radius = sum(radii) / 2
    turn = np.radians(np.linspace(200.0, 340.0, 25))
    arc = x + radius * np.cos(turn), y + radius * np.sin(turn)
    back = turn[-1] - math.pi / 2 + np.array([-0.5, 0.5])  # against the way of the arrow
    barbs = arc[0][-1] + _ARROW * np.cos(back), arc[1][-1] + _ARROW * np.sin(back)
    head = ((barbs[0][0], barbs[1][0]), (arc[0][-1], arc[1][-1]), (barbs[0][1], barbs[1][1]))
    start = Line(((x + radii[0], y), (x + radii[1] + 4.0, y + 3.0)), MARK)
    end = Line(((x + radii[1], y), (x + radii[1] + 4.0, y - 3.0)), MARK)
    texts = (
        Text(x + radii[1] + 9.0, y + 3.5, "start", 1.8),
        Text(x + radii[1] + 9.0, y - 3.5, "end", 1.8),
        Text(x, y + radii[1] + 3.0, "from the magnet", 1.8),
    )
    return (Line(tuple(zip(*arc, strict=True)), MARK), Line(head, MARK), start, end), texts


def _notes(generator, gap):
    told = [f"{gap:.1f} mm between the turning magnet and the coil: keep it, the volts fall fast with distance"]
    told.append("poles across the shaft: north and south pass each coil once a turn; mark the north side with a dot")
    if generator.coils_in_series > 1:
        told.append(
            "wind all coils the same way; join the end of coil 1 to the end of coil 2, the starts go to the load"
        )
        told.append("volts of both together lower than of one alone? Swap the two ends of one coil")
    if generator.coils_in_series > 2:
        told.append(f"coils 3 to {generator.coils_in_series} lie on the same two sides, along the shaft")
    return tuple(told)
