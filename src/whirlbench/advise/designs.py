"""Rotors that a bin allows: kinds of blades in sets of holes, and the numbers that are free in each."""

from dataclasses import dataclass

import numpy as np

from whirlbench.advise import moves_blades, moves_rotor
from whirlbench.parts.blade import Straight
from whirlbench.parts.section import Airfoil, Sheet
from whirlbench.physics import hub
from whirlbench.predict.stand import stand

_MOST_BLADES = 7  # no published check stands behind more
_CROWDED = 0.5  # nor behind a greater solidity
_STEPS = {"pitch": np.radians(0.5), "twist": np.radians(1.0), "camber": 0.005}  # as fine as hands can make it
_MILLIMETRE = 1e-3
_CLEARANCE = 0.05  # [m] between blade tips and the table
_REACH = 1.5  # times the tip radius now, where nothing else bounds it


@dataclass(frozen=True)
class Kind:
    """Blades of one section in one set of holes.

    Attributes
    ----------
    section : Sheet, Airfoil or OwnPolar
        The section, before it is bent.
    holes : tuple of int
        Holes of the hub in use.
    own : bool
        The turbine's own blades, set to another pitch or bent, not cut anew.
    free : tuple of str
        Names of the numbers that may be chosen.
    """

    section: object
    holes: tuple
    own: bool
    free: tuple


@dataclass(frozen=True)
class Space:
    """Everything that a turbine's rotor can become.

    Attributes
    ----------
    turbine : Turbine
        The turbine now.
    parts_bin : PartsBin
        What there is to build from.
    event : Event or None
        Its bounds on size.
    kinds : tuple of Kind
        What is made of what, in how many holes.
    """

    turbine: object
    parts_bin: object
    event: object
    kinds: tuple


def space(turbine, parts_bin, event):
    """Everything that a turbine's rotor can become.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    parts_bin : PartsBin
        Sheets, airfoil stock, rods.
    event : Event or None
        Bounds on diameter and blades.

    Returns
    -------
    Space
        The turbine's own blades in its own holes are always in it.
    """
    rotor = turbine.rotor
    stocks = [(rotor.section, True), *((section, False) for section in _sections(turbine, parts_bin))]
    kinds, most = [], rotor.blade_count + _spare(rotor, parts_bin)
    for section, own in stocks:
        for holes in _hole_sets(rotor, event):
            free = _own_free(rotor, parts_bin) if own else _stock_free(rotor, section, parts_bin)
            if len(holes) <= most or (own and holes == rotor.holes):
                kinds.append(Kind(section, holes, own, free))
    return Space(turbine, parts_bin, event, tuple(kinds))


def build(space, kind, point):
    """Turbine with the rotor that a point of the unit cube stands for.

    Parameters
    ----------
    space : Space
        Where it is looked for.
    kind : Kind
        One of its kinds.
    point : array, one number for each of ``kind.free``
        0 to 1 from the smallest to the largest.

    Returns
    -------
    Turbine or None
        None where the bin cannot make it.
    """
    rotor = space.turbine.rotor
    low, high = bounds(space, kind)
    number = dict(zip(kind.free, low + np.clip(point, 0, 1) * (high - low), strict=True))
    number |= {name: float(_rounded(number[name], step)) for name, step in _STEPS.items() if name in number}
    changes = {"holes": kind.holes, "pitch": number["pitch"], "section": kind.section}
    if "camber" in number:
        changes["section"] = kind.section.changed(camber=number["camber"])
    if not kind.own:
        changes |= {"shape": _shape(space, kind, number), "mass_radius": None}
    elif "twist" in number:
        changes["shape"] = rotor.shape.changed(twist=number["twist"])
    if not kind.own or len(kind.holes) != rotor.blade_count:
        changes["weighed"] = ()
    if covered(rotor, space.parts_bin):
        changes["rod"] = rotor.rod.changed(faired=True)
    new = moves_blades.with_rotor(space.turbine, **changes)
    return new if new is not None and makeable(space, new) else None


def covered(rotor, parts_bin):
    """Whether the bin has covers that the rods lack.

    Parameters
    ----------
    rotor : Rotor
        The rotor now.
    parts_bin : PartsBin
        Its covers.

    Returns
    -------
    bool
        Covers only help, so a search always takes them.
    """
    return parts_bin.caps and rotor.rod is not None and not rotor.rod.faired


def makeable(space, new):
    """Whether bin and turbine hold the stock and the rods for a rotor.

    Parameters
    ----------
    space : Space
        The turbine now, and the bin.
    new : Turbine
        With the rotor in question.

    Returns
    -------
    bool
        True where nothing is used twice.
    """
    rotor, own = new.rotor, space.turbine.rotor
    bent = rotor.shape.kind == own.shape.kind == "straight" and rotor.shape.changed(twist=own.shape.twist) == own.shape
    kept = (rotor.shape == own.shape or bent) and rotor.section.kind == own.section.kind
    if kept and rotor.section.kind == "sheet":
        kept = rotor.section.changed(camber=own.section.camber) == own.section
    elif kept:
        kept = rotor.section == own.section and rotor.shape == own.shape
    if not (kept and rotor.blade_count <= own.blade_count):
        if not moves_blades.stocked(new, space.parts_bin, rotor.section):
            return False
        if not kept and (_overlap(rotor) or rotor.blade_count > _MOST_BLADES):
            return False
    return rotor.rod is None or rotor.blade_count <= _rods(rotor, own, space.parts_bin)


def bounds(space, kind):
    """Smallest and largest of the numbers that are free.

    Parameters
    ----------
    space : Space
        The turbine, the bin and the event.
    kind : Kind
        Its blades.

    Returns
    -------
    tuple of array
        Low and high, in the order of ``kind.free``; SI, taper as tip chord over root chord.
    """
    rotor = space.turbine.rotor
    nearest = rotor.hub.radius + 0.005 if rotor.rod is not None else rotor.shape.inner_radius
    nearest = min(nearest, rotor.shape.inner_radius)
    longest = _longest(space)
    shortest = max(nearest + 0.05, 0.5 * longest, (space.event.min_rotor_diameter or 0) / 2 if space.event else 0)
    ranges = {
        "pitch": (np.radians(-4), np.radians(45)),
        "tip": (min(shortest, longest), longest),
        "inner": (nearest, max(nearest, rotor.shape.inner_radius, 0.35 * longest)),
        "chord": (0.015, min(0.14, 0.5 * longest)),
        "taper": (0.3, 1.3),
        "twist": (0.0, np.radians(25)),
        "camber": (0.0, 0.08),
    }
    return tuple(np.array([ranges[name][end] for name in kind.free]) for end in (0, 1))


def now(space, kind):
    """Point of the unit cube that is nearest to the turbine's own blades.

    Parameters
    ----------
    space : Space
        The turbine.
    kind : Kind
        Any of its kinds.

    Returns
    -------
    array, one number for each of ``kind.free``
        0 to 1.
    """
    rotor, shape = space.turbine.rotor, space.turbine.rotor.shape
    straight = shape.kind == "straight"
    root, tip = (shape.root_chord, shape.tip_chord) if straight else (shape.stations[0].chord, shape.stations[-1].chord)
    values = {
        "pitch": rotor.pitch,
        "tip": shape.tip_radius,
        "inner": shape.inner_radius,
        "chord": root,
        "taper": tip / root,
        "twist": shape.twist if straight else shape.stations[0].twist,
        "camber": getattr(rotor.section, "camber", 0.0),
    }
    low, high = bounds(space, kind)
    wide = np.where(high > low, high - low, 1.0)
    return np.clip((np.array([values[name] for name in kind.free]) - low) / wide, 0.0, 1.0)


def _sections(turbine, parts_bin):
    """Sections that the bin has stock for."""
    for stock in parts_bin.sheets:
        yield Sheet(material=stock.material, thickness=stock.thickness, edge=stock.edge)
    for stock in parts_bin.airfoils:
        yield from (Airfoil(name=name, material=stock.material, fill=stock.fill) for name in stock.names)


def _hole_sets(rotor, event):
    """Own holes, and the most regular balanced set of every other number of blades."""
    yield rotor.holes
    most = min(_MOST_BLADES, rotor.hub.holes, event.max_blades or 12 if event else 12)
    for count in range(2, most + 1):
        placements = hub.balanced_placements(count, rotor.hub.holes) if rotor.hub.holes < 30 else ()
        if placements and event is not None and event.evenly_spaced and placements[0].kind != "even":
            continue
        if placements and count != rotor.blade_count:
            yield tuple(hole + 1 for hole in placements[0].holes)


def _own_free(rotor, parts_bin):
    if rotor.section.kind != "sheet" or not moves_blades.bends(rotor.section, parts_bin):
        return ("pitch",)
    return ("pitch", "camber", "twist") if rotor.shape.kind == "straight" else ("pitch", "camber")


def _stock_free(rotor, section, parts_bin):
    cut = ("pitch", "tip", "chord", "taper") if rotor.rod is None else ("pitch", "tip", "inner", "chord", "taper")
    if section.kind == "airfoil":
        return (*cut, "twist")
    return (*cut, "twist", "camber") if moves_blades.bends(section, parts_bin) else cut


def _longest(space):
    """Largest tip radius that event, wind and room allow."""
    turbine, event = space.turbine, space.event
    longest = min(moves_blades.event_radius(event), moves_blades.map_radius(turbine), _REACH * turbine.rotor.radius)
    height = stand(turbine.tower, turbine.base).axis_height
    room = min(height - _CLEARANCE, event.max_height - height if event is not None and event.max_height else np.inf)
    longest = min(longest, max(room, turbine.rotor.radius))
    return _MILLIMETRE * np.floor(longest / _MILLIMETRE + 1e-6)


def _shape(space, kind, number):
    """Straight blade, drawn in to the length that stock and rods have."""
    rotor = space.turbine.rotor
    tip, inner = number["tip"], number.get("inner", rotor.shape.inner_radius)
    own = rotor.shape
    few = kind.holes and len(kind.holes) > _spare(rotor, space.parts_bin)
    if rotor.rod is not None and few:  # the rods at hand end half-way along the blade
        tip = min(tip, own.inner_radius + own.tip_radius - inner)
    most = _stock_length(kind.section, space.parts_bin)
    if rotor.rod is None:
        tip = min(tip, inner + most)
    inner = max(inner, tip - most)
    inner, tip = _MILLIMETRE * np.ceil(inner / _MILLIMETRE - 1e-6), _MILLIMETRE * np.floor(tip / _MILLIMETRE + 1e-6)
    root = min(number["chord"], 2 * np.pi * inner / len(kind.holes))
    chords = (_MILLIMETRE * max(5, np.floor(chord / _MILLIMETRE)) for chord in (root, root * number["taper"]))
    names = ("inner_radius", "tip_radius", "root_chord", "tip_chord")
    values = (round(float(value), 6) for value in (inner, max(tip, inner + 0.02), *chords))
    return Straight(**dict(zip(names, values, strict=True)), twist=number.get("twist", 0.0))


def _stock_length(section, parts_bin):
    if section.kind == "sheet":
        return max(max(one.length, one.width) for one in parts_bin.sheets if one.material == section.material)
    return max(one.max_length for one in parts_bin.airfoils if section.name in one.names)


def _spare(rotor, parts_bin):
    return moves_rotor.spare_rods(rotor, parts_bin)


def _rods(rotor, own, parts_bin):
    """Rods at hand for a rotor: the bin's, and the turbine's own where they are long enough."""
    if own.rod is None:
        return 12
    long_enough = moves_rotor.rod_length(rotor) <= moves_rotor.rod_length(own) + 1e-9
    return _spare(rotor, parts_bin) + (own.blade_count if long_enough else 0)


def _overlap(rotor):
    shape = rotor.shape
    mean = 0.5 * (shape.root_chord + shape.tip_chord)
    area = rotor.blade_count * mean * (shape.tip_radius - shape.inner_radius)
    return area > _CROWDED * np.pi * shape.tip_radius**2


def _rounded(value, step):
    return step * np.round(value / step)
