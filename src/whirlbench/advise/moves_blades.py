"""New or reshaped blades: length, chord, taper, twist, camber, material, section, and how far in they reach."""

from dataclasses import replace

import numpy as np

from whirlbench import units
from whirlbench.advise.move import Move
from whirlbench.errors import WhirlbenchError
from whirlbench.parts.blade import Station, outline
from whirlbench.parts.section import Airfoil, Sheet

_MOUNTING = np.radians([0, 4, 8, 12, 16, 22, 30])
KNIFE = "Cut on a board, away from fingers; goggles on before the first run of new blades."
SET = ("angle",)  # blades set anew miss their angle anew
AIR = ("lift", "drag", "stall", *SET)
_WIDER = (0.6, 0.75, 0.9, 1.15, 1.3, 1.6, 2.0)
_TAPERS = ((1.25, 0.75), (1.4, 0.6), (1.5, 0.4), (0.8, 1.2))


def moves(turbine, parts_bin, event):
    """Every change of the blades themselves, each at several pitches: they are mounted anew anyway.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    parts_bin : PartsBin
        Sheets, airfoil stock.
    event : Event or None
        Its largest diameter bounds blade length.

    Yields
    ------
    Move
        One change each.
    """
    offers = (
        *_inward(turbine, parts_bin),
        *_length(turbine, parts_bin, event),
        *_chord(turbine, parts_bin),
        *_twist(turbine, parts_bin),
        *_camber(turbine, parts_bin),
        *_sheets(turbine, parts_bin),
        *_airfoils(turbine, parts_bin),
    )
    for move in offers:
        if move.turbine is None:
            continue
        yield move
        for pitch in _MOUNTING:
            if pitch != move.turbine.rotor.pitch:
                change = f"{move.change}, pitch {units.plain(pitch, 'deg')}"
                yield replace(move, change=change, turbine=with_rotor(move.turbine, pitch=float(pitch)))


def with_rotor(turbine, **changes):
    """Turbine with a changed rotor.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    **changes
        Fields of the rotor.

    Returns
    -------
    Turbine or None
        None where the changes do not fit together.
    """
    try:
        return turbine.changed(rotor=turbine.rotor.changed(**changes))
    except WhirlbenchError:
        return None


def effort(rotor):
    """Row of the effort table for new blades of the same kind.

    Parameters
    ----------
    rotor : Rotor
        The rotor now.

    Returns
    -------
    str
        The row.
    """
    return "new sheet blades" if rotor.section.kind == "sheet" else "new airfoil blades"


def _blades(family, change, steps, turbine, *, work, fresh=SET):
    """A move of the blades; ``steps`` is what it was and what it becomes."""
    return Move(family, "rotor", change, *steps, turbine, work, KNIFE, fresh)


def _inward(turbine, parts_bin):
    """Blades that reach in to the hub, so that no rod is bare."""
    rotor, shape = turbine.rotor, turbine.rotor.shape
    gap = shape.inner_radius - rotor.hub.radius
    if rotor.rod is not None and shape.kind == "straight" and gap > 0.01:
        new = with_rotor(turbine, shape=shape.changed(inner_radius=rotor.hub.radius + 0.005), weighed=())
        if not can_make(new, turbine, parts_bin):
            return
        steps = f"{units.plain(gap, 'mm')} of bare rod", "5 mm"
        yield _blades("longer inward", "make the blades reach in to the hub", steps, new, work=effort(rotor))


def _stretched(shape, tip):
    """Shape drawn out or cut back to another tip radius."""
    if shape.kind == "straight":
        return shape.changed(tip_radius=float(tip))
    inner, outer = shape.inner_radius, shape.tip_radius
    scale = (tip - inner) / (outer - inner)
    stations = tuple(
        Station(radius=float(inner + (one.radius - inner) * scale), chord=one.chord, twist=one.twist)
        for one in shape.stations
    )
    return shape.changed(stations=stations)


def _length(turbine, parts_bin, event):
    shape, now = turbine.rotor.shape, turbine.rotor.radius
    longest = min(event_radius(event), map_radius(turbine))
    for tip in now * np.array([0.7, 0.8, 0.9, 1.1, 1.2, 1.3, 1.5]):
        tip = round(float(tip), 3)
        if shape.inner_radius + 0.03 < tip <= longest + 1e-9:
            new = with_rotor(turbine, shape=_stretched(shape, tip), weighed=())
            if not can_make(new, turbine, parts_bin):
                continue
            change = f"{'longer' if tip > now else 'shorter'} blades: tip radius {units.length(tip)}"
            steps = units.length(now), units.length(tip)
            yield _blades("blade length", change, steps, new, work=effort(turbine.rotor))


def event_radius(event):
    """Largest rotor radius that an event allows.

    Parameters
    ----------
    event : Event or None
        The limits.

    Returns
    -------
    float
        [m], infinite where nothing binds.
    """
    return event.max_rotor_diameter / 2 if event is not None and event.max_rotor_diameter else np.inf


def map_radius(turbine):
    """Largest rotor radius whose wind is known, and that fits.

    Parameters
    ----------
    turbine : Turbine
        With its wind.

    Returns
    -------
    float
        [m], infinite in open air.
    """
    wind = turbine.wind
    if wind.kind == "tunnel":
        return min(0.45 * min(wind.width, wind.height), np.sqrt(0.45 * wind.area / np.pi))
    return wind.map_radius if wind.kind == "fan" and wind.map_radius else np.inf


def chords(turbine):
    """Chord of a turbine's blades in a few words.

    Parameters
    ----------
    turbine : Turbine
        The turbine.

    Returns
    -------
    str
        Such as ``60 mm to 40 mm``.
    """
    shape = turbine.rotor.shape
    straight = shape.kind == "straight"
    ends = (shape.root_chord, shape.tip_chord) if straight else (shape.stations[0].chord, shape.stations[-1].chord)
    if abs(ends[0] - ends[1]) < 5e-4:
        return units.length(ends[0])
    return f"{units.length(ends[0])} to {units.length(ends[1])}"


def _chord(turbine, parts_bin):
    for root, tip in (*((scale, scale) for scale in _WIDER), *_TAPERS):
        new = with_rotor(turbine, shape=_scaled(turbine.rotor.shape, root, tip), weighed=())
        if not can_make(new, turbine, parts_bin):
            continue
        family = "chord" if root == tip else "taper"
        word = "tapered" if root != tip else "wider" if root > 1 else "narrower"
        steps = chords(turbine), chords(new)
        yield _blades(family, f"{word} blades: chord {steps[1]}", steps, new, work=effort(turbine.rotor))


def _scaled(shape, root, tip):
    """Chord scaled by one factor at the root and another at the tip."""
    if shape.kind == "straight":
        return shape.changed(root_chord=shape.root_chord * root, tip_chord=shape.tip_chord * tip)
    span = shape.tip_radius - shape.inner_radius
    stations = tuple(
        Station(
            radius=one.radius,
            chord=one.chord * (root + (tip - root) * (one.radius - shape.inner_radius) / span),
            twist=one.twist,
        )
        for one in shape.stations
    )
    return shape.changed(stations=stations)


def stocked(turbine, parts_bin, section):
    """Whether the bin holds stock for all blades of a turbine.

    Parameters
    ----------
    turbine : Turbine
        The turbine to be built.
    parts_bin : PartsBin
        Sheets and airfoil stock.
    section : Sheet, Airfoil or OwnPolar
        Section of its blades.

    Returns
    -------
    bool
        For sheets: enough rectangles of blade size on the sheets of this material.
    """
    shape, count = turbine.rotor.shape, turbine.rotor.blade_count
    length, chord = shape.tip_radius - shape.inner_radius, widest(shape)
    if section.kind == "sheet":
        sheets = [one for one in parts_bin.sheets if one.material == section.material]
        return any(one.count * _pieces(one, length, chord) >= count for one in sheets)
    named = [one for one in parts_bin.airfoils if section.kind == "airfoil" and section.name in one.names]
    return any(one.max_length >= length for one in named)


def _pieces(sheet, length, chord):
    """Blades from one sheet, laid along it or across it."""
    along = int(sheet.length / length + 1e-9) * int(sheet.width / chord + 1e-9)
    across = int(sheet.width / length + 1e-9) * int(sheet.length / chord + 1e-9)
    return max(along, across)


def widest(shape):
    """Largest chord of a blade.

    Parameters
    ----------
    shape : Straight or Curved
        The blade's shape.

    Returns
    -------
    float
        [m].
    """
    if shape.kind == "straight":
        return max(shape.root_chord, shape.tip_chord)
    return max(one.chord for one in shape.stations)


def can_make(new, turbine, parts_bin):
    """Whether new blades come from stock, or the old ones cut down.

    Parameters
    ----------
    new : Turbine or None
        After the change.
    turbine : Turbine
        Before it.
    parts_bin : PartsBin
        Sheets and airfoil stock.

    Returns
    -------
    bool
        False for None.
    """
    if new is None:
        return False
    before, after = turbine.rotor.shape, new.rotor.shape
    middle = np.linspace(after.inner_radius, after.tip_radius, 9)
    within = after.inner_radius >= before.inner_radius - 1e-9 and after.tip_radius <= before.tip_radius + 1e-9
    smaller = within and np.all(outline(after, middle)[0] <= outline(before, middle)[0] + 1e-9)
    return bool(smaller) or stocked(new, parts_bin, new.rotor.section)


def _twist(turbine, parts_bin):
    shape, section = turbine.rotor.shape, turbine.rotor.section
    if shape.kind != "straight" or not (section.kind != "sheet" or bends(section, parts_bin)):
        return
    for twist in np.radians([0, 5, 10, 15, 20, 25]):
        if abs(twist - shape.twist) > np.radians(1):
            steps = units.plain(shape.twist, "deg"), units.plain(twist, "deg")
            new = with_rotor(turbine, shape=shape.changed(twist=float(twist)))
            work = "bend" if section.kind == "sheet" else "new airfoil blades"
            yield _blades("twist", f"twist the blades by {steps[1]} from root to tip", steps, new, work=work)


def bends(section, parts_bin):
    """Whether a sheet section can be bent.

    Parameters
    ----------
    section : Sheet
        The section.
    parts_bin : PartsBin
        What the room knows of its sheets.

    Returns
    -------
    bool
        True where sheets of the material bend.
    """
    return any(one.bends for one in parts_bin.sheets if one.material == section.material)


def _camber(turbine, parts_bin):
    section = turbine.rotor.section
    if section.kind != "sheet" or not bends(section, parts_bin):
        return
    for camber in (0.0, 0.02, 0.04, 0.06, 0.08):
        if abs(camber - section.camber) > 0.005:
            steps = f"{100 * section.camber:.0f} %", f"{100 * camber:.0f} %"
            new = with_rotor(turbine, section=section.changed(camber=camber))
            yield _blades("camber", f"bend the blades to {steps[1]} camber", steps, new, work="bend", fresh=AIR)


def _sheets(turbine, parts_bin):
    rotor = turbine.rotor
    for stock in parts_bin.sheets:
        same = rotor.section.kind == "sheet" and rotor.section.material == stock.material
        if same:
            continue
        for camber in (0.0, 0.04, 0.06) if stock.bends else (0.0,):
            section = Sheet(material=stock.material, thickness=stock.thickness, camber=camber, edge=stock.edge)
            new = with_rotor(turbine, section=section, weighed=())
            if new is None or not stocked(new, parts_bin, section):
                continue
            steps = named(rotor.section), named(section)
            change = f"new blades of {steps[1]}"
            yield _blades(f"sheet: {stock.material}", change, steps, new, work="new sheet blades", fresh=AIR)


def _airfoils(turbine, parts_bin):
    rotor = turbine.rotor
    for stock in parts_bin.airfoils:
        for name in stock.names:
            same = rotor.section.kind == "airfoil" and rotor.section.name == name
            if same or rotor.shape.tip_radius - rotor.shape.inner_radius > stock.max_length:
                continue
            section = Airfoil(name=name, material=stock.material, fill=stock.fill)
            new = with_rotor(turbine, section=section, weighed=())
            if new is None:
                continue
            steps = named(rotor.section), f"{stock.process} airfoil {name}"
            change = f"new blades: {steps[1]}"
            yield _blades(f"airfoil: {name}", change, steps, new, work="new airfoil blades", fresh=AIR)


def named(section):
    """Section in a few words.

    Parameters
    ----------
    section : Sheet, Airfoil or OwnPolar
        The section.

    Returns
    -------
    str
        Such as ``balsa, bent to 4 % camber``.
    """
    if section.kind == "sheet":
        return (
            f"{section.material}, {'flat' if section.camber == 0 else f'bent to {100 * section.camber:.0f} % camber'}"
        )
    return f"airfoil {section.name}" if section.kind == "airfoil" else "own polar"
