"""Changes to hub and pitch, and the way new blades are mounted: pitch, number of blades, covered rods."""

import numpy as np

from whirlbench import units
from whirlbench.advise import moves_blades
from whirlbench.advise.move import Move
from whirlbench.physics import hub

_PITCHES = np.radians(np.arange(-4, 46, 2.0))
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
    yield from _count(turbine, parts_bin)
    yield from _fair(turbine, parts_bin)
    yield from moves_blades.moves(turbine, parts_bin, event)


def _pitch(turbine):
    now = turbine.rotor.pitch
    for pitch in _PITCHES:
        if abs(pitch - now) > np.radians(0.6):
            before, after = units.plain(now, "deg"), units.plain(pitch, "deg")
            new = moves_blades.with_rotor(turbine, pitch=float(pitch))
            yield Move(
                "pitch", "rotor", f"set the pitch to {after}", before, after, new, "pitch", fresh=moves_blades.SET
            )


def _count(turbine, parts_bin):
    rotor = turbine.rotor
    most = min(12, rotor.hub.holes, rotor.blade_count + spare_rods(rotor, parts_bin))
    for count in range(2, most + 1):
        placements = hub.balanced_placements(count, rotor.hub.holes)
        if not placements or (count == rotor.blade_count and _balanced(rotor)):
            continue
        holes = tuple(hole + 1 for hole in placements[0].holes)
        new = moves_blades.with_rotor(turbine, holes=holes, weighed=())
        if count > rotor.blade_count and not moves_blades.stocked(new, parts_bin, rotor.section):
            continue
        yield recount(turbine, new, placements[0].kind)


def recount(turbine, new, kind):
    """Move that changes how many blades are in the hub.

    Parameters
    ----------
    turbine, new : Turbine
        Before and after.
    kind : str
        ``even``, or how else the blades stand.

    Returns
    -------
    Move
        The change.
    """
    before, after = turbine.rotor.blade_count, new.rotor.blade_count
    how = "evenly spaced" if kind == "even" else "uneven but balanced"
    return Move(
        "number of blades",
        "rotor",
        f"{'use' if after != before else 'put the'} {after} blades in holes "
        f"{' '.join(map(str, new.rotor.holes))} ({how})",
        f"{before} blades",
        f"{after} blades",
        new,
        "holes" if after <= before else moves_blades.effort(turbine.rotor),
        _MANY if after >= 8 else "",
        moves_blades.SET,
    )


def _balanced(rotor):
    alike = np.ones(rotor.blade_count)
    found = hub.imbalance(alike, alike, [hole - 1 for hole in rotor.holes], hole_count=rotor.hub.holes)
    return found.size < 1e-9


def spare_rods(rotor, parts_bin):
    """Blades that the bin has rods for.

    Parameters
    ----------
    rotor : Rotor
        The rotor to be built.
    parts_bin : PartsBin
        Its rods.

    Returns
    -------
    int
        12 where blades need no rod.
    """
    if rotor.rod is None:
        return 12
    needed = rod_length(rotor)
    fit = [one for one in parts_bin.rods if abs(one.diameter - rotor.rod.diameter) < 2e-4 and one.length >= needed]
    return sum(one.count for one in fit)


def rod_length(rotor):
    """Length of rod that a blade takes: from the bottom of its socket to half-way along the blade.

    Parameters
    ----------
    rotor : Rotor
        With a rod.

    Returns
    -------
    float
        [m].
    """
    half = 0.5 * (rotor.shape.tip_radius - rotor.shape.inner_radius)
    return rotor.rod.socket_depth + rotor.shape.inner_radius - rotor.hub.radius + half


def _fair(turbine, parts_bin):
    rotor = turbine.rotor
    if (
        parts_bin.caps
        and rotor.rod is not None
        and not rotor.rod.faired
        and rotor.shape.inner_radius > rotor.hub.radius
    ):
        yield cover(turbine)


def cover(turbine):
    """Move that covers bare rods.

    Parameters
    ----------
    turbine : Turbine
        With rods.

    Returns
    -------
    Move
        The change.
    """
    new = moves_blades.with_rotor(turbine, rod=turbine.rotor.rod.changed(faired=True))
    change = "cover the bare rods with a fairing"
    return Move("cover rods", "rotor", change, "bare rods", "covered", new, "fair rods")
