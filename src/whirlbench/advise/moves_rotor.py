"""Changes to blades and hub: pitch, number, length, chord, taper, twist, camber, material, rods."""

import numpy as np

from whirlbench import units
from whirlbench.advise.move import Move
from whirlbench.errors import WhirlbenchError
from whirlbench.parts.blade import Station
from whirlbench.parts.section import Airfoil, Sheet
from whirlbench.physics import hub

_PITCHES = np.radians(np.arange(-4, 46, 2.0))
_MOUNTING = np.radians([0, 4, 8, 12, 16, 22, 30])
_KNIFE = "Cut on a board, away from fingers; goggles on before the first run of new blades."
_MANY = "No published check stands behind so many blades: take a reading before you build on it."


def moves(turbine, parts_bin, event):
    """Every change to the rotor that the room can make.

    Parameters
    ----------
    turbine : Turbine
        The turbine now.
    parts_bin : PartsBin
        What there is to build from.
    event : Event or None
        Its largest diameter bounds blade length.

    Yields
    ------
    Move
        One change each; a blade that is made anew is offered at several pitches.
    """
    yield from _pitch(turbine)
    yield from _count(turbine)
    yield from _fair(turbine, parts_bin)
    yield from _bare(turbine)
    for reshaped in (_length, _chord, _taper, _twist):
        yield from _anew(reshaped(turbine, parts_bin, event))
    yield from _anew(_camber(turbine, parts_bin))
    yield from _anew(_sheets(turbine, parts_bin))
    yield from _anew(_airfoils(turbine, parts_bin))


def _degrees(angle):
    return units.show(angle, "deg", 2)


def _with(turbine, **changes):
    """Turbine with a changed rotor; weighed masses no longer hold once the blades change."""
    try:
        return turbine.changed(rotor=turbine.rotor.changed(**changes))
    except WhirlbenchError:
        return None


def _pitch(turbine):
    now = turbine.rotor.pitch
    for pitch in _PITCHES:
        if abs(pitch - now) > np.radians(0.6):
            change = f"set the pitch to {_degrees(pitch)}"
            yield Move(
                "pitch", "rotor", change, _degrees(now), _degrees(pitch), _with(turbine, pitch=float(pitch)), "pitch"
            )


def _count(turbine):
    rotor = turbine.rotor
    for count in range(2, min(12, rotor.hub.holes) + 1):
        placements = hub.balanced_placements(count, rotor.hub.holes) if count != rotor.blade_count else ()
        if not placements:
            continue
        best = placements[0]
        holes = tuple(hole + 1 for hole in best.holes)
        how = "evenly spaced" if best.kind == "even" else "uneven but balanced"
        new = _with(turbine, holes=holes, weighed=())
        listed = " ".join(map(str, holes))
        yield Move(
            "number of blades",
            "rotor",
            f"use {count} blades in holes {listed} ({how})",
            f"{rotor.blade_count} blades",
            f"{count} blades",
            new,
            "holes" if count < rotor.blade_count else "new sheet blades",
            _MANY if count >= 8 else "",
        )


def _fair(turbine, parts_bin):
    rod = turbine.rotor.rod
    if (
        parts_bin.caps
        and rod is not None
        and not rod.faired
        and turbine.rotor.shape.inner_radius > turbine.rotor.hub.radius
    ):
        new = _with(turbine, rod=rod.changed(faired=True))
        yield Move(
            "cover rods", "rotor", "cover the bare rods with a fairing", "bare rods", "covered", new, "fair rods"
        )


def _bare(turbine):
    """Blades moved in along their rods until they touch the hub, or out by a tenth."""
    rotor, shape = turbine.rotor, turbine.rotor.shape
    if rotor.rod is None or shape.kind != "straight":
        return
    gap = shape.inner_radius - rotor.hub.radius
    if gap > 0.01:
        inner = rotor.hub.radius + 0.005
        new = _with(turbine, shape=shape.changed(inner_radius=inner), weighed=())
        yield from _pitched(
            "longer inward",
            "make the blades reach in to the hub",
            f"{units.show(gap, 'mm')} of bare rod",
            units.show(0.005, "mm"),
            new,
            effort="new sheet blades",
        )


def _pitched(family, change, before, after, turbine, *, effort, fresh=(), caution=_KNIFE):
    """The same blades at the pitch they have and at several others: they are mounted anew anyway."""
    if turbine is None:
        return
    for pitch in (turbine.rotor.pitch, *_MOUNTING):
        new = turbine if pitch == turbine.rotor.pitch else _with(turbine, pitch=float(pitch))
        words = change if pitch == turbine.rotor.pitch else f"{change}, pitch {_degrees(pitch)}"
        yield Move(family, "rotor", words, before, after, new, effort, caution, fresh)


def _anew(offers):
    for offer in offers:
        yield from _pitched(*offer[:5], effort=offer[5], fresh=offer[6] if len(offer) > 6 else ())


def _effort(turbine):
    return "new sheet blades" if turbine.rotor.section.kind == "sheet" else "new airfoil blades"


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
    longest = min(_longest(turbine, parts_bin), _event_radius(event), _map_radius(turbine))
    for tip in now * np.array([0.7, 0.8, 0.9, 1.1, 1.2, 1.3, 1.5]):
        tip = round(float(tip), 3)
        if shape.inner_radius + 0.03 < tip <= longest + 1e-9:
            new = _with(turbine, shape=_stretched(shape, tip), weighed=())
            change = f"{'longer' if tip > now else 'shorter'} blades: tip radius {units.show(tip, 'mm')}"
            yield "blade length", change, units.show(now, "mm"), units.show(tip, "mm"), new, _effort(turbine)


def _longest(turbine, parts_bin):
    """Largest tip radius that the bin's stock of this section allows."""
    section, inner = turbine.rotor.section, turbine.rotor.shape.inner_radius
    if section.kind == "sheet":
        stock = [one.length for one in parts_bin.sheets if one.material == section.material]
    else:
        stock = [
            one.max_length for one in parts_bin.airfoils if section.kind == "airfoil" and section.name in one.names
        ]
    return inner + max(stock) if stock else turbine.rotor.radius


def _event_radius(event):
    return event.max_rotor_diameter / 2 if event is not None and event.max_rotor_diameter else np.inf


def _map_radius(turbine):
    wind = turbine.wind
    if wind.kind == "tunnel":
        return 0.45 * min(wind.width, wind.height)
    return wind.map_radius if wind.kind == "fan" and wind.map_radius else np.inf


def _chords(turbine):
    shape = turbine.rotor.shape
    ends = (
        (shape.root_chord, shape.tip_chord)
        if shape.kind == "straight"
        else (shape.stations[0].chord, shape.stations[-1].chord)
    )
    return f"{ends[0] * 1000:.0f}-{ends[1] * 1000:.0f} mm"


def _chord(turbine, parts_bin, event):
    for scale in (0.6, 0.75, 0.9, 1.15, 1.3, 1.6, 2.0):
        new = _with(turbine, shape=_scaled(turbine.rotor.shape, scale, scale), weighed=())
        if new is not None and _fits(new, parts_bin):
            word = "wider" if scale > 1 else "narrower"
            yield "chord", f"{word} blades: chord {_chords(new)}", _chords(turbine), _chords(new), new, _effort(turbine)


def _taper(turbine, parts_bin, event):
    for root, tip in ((1.25, 0.75), (1.4, 0.6), (1.5, 0.4), (0.8, 1.2)):
        new = _with(turbine, shape=_scaled(turbine.rotor.shape, root, tip), weighed=())
        if new is not None and _fits(new, parts_bin):
            yield (
                "taper",
                f"taper the blades: chord {_chords(new)}",
                _chords(turbine),
                _chords(new),
                new,
                _effort(turbine),
            )


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


def _fits(turbine, parts_bin):
    section, shape = turbine.rotor.section, turbine.rotor.shape
    if section.kind != "sheet":
        return True
    widest = (
        max(shape.root_chord, shape.tip_chord) if shape.kind == "straight" else max(one.chord for one in shape.stations)
    )
    stock = [one for one in parts_bin.sheets if one.material == section.material]
    return any(one.width >= widest for one in stock)


def _twist(turbine, parts_bin, event):
    shape, section = turbine.rotor.shape, turbine.rotor.section
    if shape.kind != "straight":
        return
    bends = section.kind != "sheet" or any(one.bends for one in parts_bin.sheets if one.material == section.material)
    for twist in np.radians([0, 5, 10, 15, 20, 25]) if bends else ():
        if abs(twist - shape.twist) > np.radians(1):
            new = _with(turbine, shape=shape.changed(twist=float(twist)))
            change = f"twist the blades by {_degrees(twist)} from root to tip"
            effort = "bend" if section.kind == "sheet" else "new airfoil blades"
            yield "twist", change, _degrees(shape.twist), _degrees(twist), new, effort


def _camber(turbine, parts_bin):
    section = turbine.rotor.section
    if section.kind != "sheet" or not any(one.bends for one in parts_bin.sheets if one.material == section.material):
        return
    for camber in (0.0, 0.02, 0.04, 0.06, 0.08):
        if abs(camber - section.camber) > 0.005:
            new = _with(turbine, section=section.changed(camber=camber))
            before, after = f"{100 * section.camber:.0f} %", f"{100 * camber:.0f} %"
            yield "camber", f"bend the blades to {after} camber", before, after, new, "bend", ("lift", "drag")


def _sheets(turbine, parts_bin):
    rotor = turbine.rotor
    for stock in parts_bin.sheets:
        same = rotor.section.kind == "sheet" and rotor.section.material == stock.material
        if same or rotor.shape.tip_radius - rotor.shape.inner_radius > stock.length:
            continue
        for camber in (0.0, 0.04, 0.06) if stock.bends else (0.0,):
            section = Sheet(material=stock.material, thickness=stock.thickness, camber=camber, edge=stock.edge)
            new = _with(turbine, section=section, weighed=())
            shape = "flat" if camber == 0 else f"bent to {100 * camber:.0f} % camber"
            after = f"{stock.material}, {shape}"
            yield (
                f"sheet: {stock.material}",
                f"new blades of {after}",
                _section(rotor),
                after,
                new,
                "new sheet blades",
                ("lift", "drag"),
            )


def _airfoils(turbine, parts_bin):
    rotor = turbine.rotor
    for stock in parts_bin.airfoils:
        for name in stock.names:
            same = rotor.section.kind == "airfoil" and rotor.section.name == name
            if same or rotor.shape.tip_radius - rotor.shape.inner_radius > stock.max_length:
                continue
            section = Airfoil(name=name, material=stock.material, fill=stock.fill)
            new = _with(turbine, section=section, weighed=())
            after = f"{stock.process} {name}"
            yield (
                f"airfoil: {name}",
                f"new blades: {after}",
                _section(rotor),
                after,
                new,
                "new airfoil blades",
                ("lift", "drag"),
            )


def _section(rotor):
    section = rotor.section
    if section.kind == "sheet":
        return f"{section.material}, {'flat' if section.camber == 0 else f'{100 * section.camber:.0f} % camber'}"
    return section.name if section.kind == "airfoil" else "own polar"
