"""A blade cut into pieces that a printer can hold, with holes for pins that line them up."""

import itertools
import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, box

from whirlbench.errors import within
from whirlbench.make.features import Prism, Rod, add, cut
from whirlbench.make.mesh import level
from whirlbench.make.process import process
from whirlbench.make.solid import fit, solid

_PIN_DIAMETERS = (4.0, 3.0, 2.5, 2.0, 1.75, 1.5)  # [mm] 1.75 is a piece of filament
_PIN_DEPTHS = (10.0, 8.0, 6.0)  # [mm] into each piece
_GAP = 0.5  # [mm] left at the end of a pin
_FAR = 1e4  # [mm]


@dataclass(frozen=True)
class Pin:
    """A pin along z across a cut.

    Attributes
    ----------
    x, y, z : float
        Its middle [mm].
    diameter, depth : float
        Thickness, and how far its hole reaches into each piece [mm].
    """

    x: float
    y: float
    z: float
    diameter: float
    depth: float


def split_blade(blade, *, longest=180.0):
    """Pieces of a printed blade and the pins between them.

    Parameters
    ----------
    blade : Solid
        From ``printed_blade``, or any other solid along z.
    longest : float
        What the printer holds upright [mm].

    Returns
    -------
    tuple of Solid
        The blade itself where it fits; else pieces of equal length from the inner end outwards, then the pins. A cut
        too thin for pins has none and says so.

    Raises
    ------
    OutOfRange
        A printer below 40 mm or above 2000 mm.
    """
    try_ = "give the height that the printer reaches, 180 mm or so"
    within("longest piece", longest, low=40.0, high=2000.0, unit="mm", try_=try_)
    low, high = float(blade.mesh.vertices[:, 2].min()), float(blade.mesh.vertices[:, 2].max())
    count = math.ceil((high - low) / longest - 1e-9)
    if count == 1:
        return (blade,)
    ends = np.linspace(low, high, count + 1).tolist()
    pins = [pin for z in ends[1:-1] for pin in alignment_pins(blade, z)]
    pieces = [_piece(blade, number, ends, pins) for number in range(count)]
    return (*pieces, *_pin_solids(blade, pins))


def alignment_pins(blade, z):
    """Two pins along z at a cut, as thick and long as the walls around their holes allow.

    Parameters
    ----------
    blade : Solid
        What is cut.
    z : float
        Height of the cut [mm].

    Returns
    -------
    tuple of Pin
        Two, or none where the section is too thin.
    """
    sections = {depth: [level(blade.mesh, height) for height in (z - depth, z, z + depth)] for depth in _PIN_DEPTHS}
    for diameter, depth in itertools.product(_PIN_DIAMETERS, _PIN_DEPTHS):
        margin = (diameter + fit("pin hole")) / 2 + process("printed").least_wall
        room = shapely.intersection_all([section.buffer(-margin) for section in sections[depth]])
        places = _spine(room, sections[depth][1])
        if len(places) > 1 and math.dist(places[0], places[-1]) >= 3 * diameter:
            return tuple(Pin(*place, z, diameter, depth) for place in (places[0], places[-1]))
    return ()


def _spine(room, section):
    """Middles of what a section has room for, from one end of its longer side to the other."""
    if room.is_empty:
        return []
    corners = np.array(section.minimum_rotated_rectangle.exterior.coords)
    longer = max(corners[1] - corners[0], corners[2] - corners[1], key=np.linalg.norm)
    across = np.array([-longer[1], longer[0]])
    middle = corners[:4].mean(axis=0)
    spots = [middle + share * longer for share in np.linspace(-0.5, 0.5, 81)]
    lines = [LineString([spot - across, spot + across]).intersection(room) for spot in spots]
    widest = [max(getattr(line, "geoms", [line]), key=lambda one: one.length) for line in lines if not line.is_empty]
    return [(line.centroid.x, line.centroid.y) for line in widest]


def _piece(blade, number, ends, pins):
    low, high = ends[number : number + 2]
    everywhere, count = box(-_FAR, -_FAR, _FAR, _FAR), len(ends) - 1
    steps = [cut(Prism(everywhere, low - _FAR, low))] if number else []
    steps += [cut(Prism(everywhere, high, high + _FAR))] if number < count - 1 else []
    own = [pin for pin in pins if pin.z in (low, high)]
    holes = [
        cut(Rod((pin.x, pin.y, pin.z - pin.depth), (pin.x, pin.y, pin.z + pin.depth), pin.diameter + fit("pin hole")))
        for pin in own
    ]
    told = [f"piece {number + 1} of {count}, counted from the inner end"]
    if own:
        told.append(f"pin holes {fit('pin hole'):g} mm wider than their pins")
    if number and not any(pin.z == low for pin in own):
        told.append("too thin for pins at its inner end: line it up along a straight edge")
    return solid(
        f"{blade.name}-{number + 1}-of-{count}",
        [*blade.steps, *steps, *holes],
        material=blade.material,
        fill=blade.fill,
        count=blade.count,
        orientation=blade.orientation,
        notes=(*told, *blade.notes[:-1]),
    )


def _pin_solids(blade, pins):
    """One solid for each size of pin."""
    sizes = sorted((pin.diameter, pin.depth) for pin in pins)
    return [
        solid(
            f"{blade.name}-pin-{diameter:g}x{2 * depth:g}".replace(".", "-"),
            [add(Rod((0, 0, 0), (0, 0, 2 * depth - _GAP), diameter))],
            material=blade.material,
            count=blade.count * sizes.count((diameter, depth)),
            orientation="Print it upright, or cut it from filament or wire of that width.",
            notes=(f"{diameter:g} mm wide, {2 * depth - _GAP:g} mm long, for holes {2 * depth:g} mm long in all",),
        )
        for diameter, depth in dict.fromkeys(sizes)
    ]
