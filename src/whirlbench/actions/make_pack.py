"""What goes into a build pack: pieces, cut paths, solids, lists and steps of what a team ordered."""

import functools
from dataclasses import dataclass, replace

from whirlbench.actions.check import check
from whirlbench.errors import InputError, UnknownKey, nearest, within
from whirlbench.make import pieces
from whirlbench.make.cards import coil_rows, volt_rows
from whirlbench.make.drawing import MM
from whirlbench.make.lists import bill
from whirlbench.make.pack import cut_paths, laid_out
from whirlbench.make.pack_files import OWN, Pack
from whirlbench.make.page import size_of
from whirlbench.make.printed_blade import TURNINGS, printed_weight
from whirlbench.make.process import process
from whirlbench.make.since import freed, still_to_make, told_apart
from whirlbench.make.steps import build_steps, tools
from whirlbench.make.weighing import Weighing
from whirlbench.parts.bin import PartsBin
from whirlbench.parts.toml import with_changes
from whirlbench.parts.turbine import Turbine
from whirlbench.predict.blades import blade_mass
from whirlbench.predict.generator import generator_data

# whose allowances the sheets show, files to cut, files to print; without a choice the sheets show what is cut
_WAYS = {
    None: ("laser", True, True),
    "hand": ("hand", False, False),
    "laser": ("laser", True, False),
    "printed": ("printed", False, True),
}
_EVERY = ("cut", "print", "run")
_REMARK = "from the solid: weigh the real one"
# the step of a build where each risk of advise/hazards.py arises; a new risk is told at the run until it has a place
ARISES = {
    "cuts from knives and saws, and dust": "cut",
    "hot parts, fumes and weak layers of 3-D prints": "print",
    "burns from hot glue": "glue",
    "gears or belts draw a finger in": "drivetrain",
    "strong magnets pinch, shatter, and are deadly when swallowed": "coil",
    "burns and fumes from soldering": "wire",
    "an electric shock from open leads": "wire",
    "a charged capacitor sparks or bursts": "wire",
    "fumes and fire from pipe cement": "stand",
    "heavy ballast and burns from wet concrete": "stand",
    "a blade flies off": "run",
    "the turning rotor hits a hand or catches hair": "run",
    "the fan's own blades": "run",
}


@dataclass(frozen=True)
class MakeOrder:
    """What a team wants made of a turbine, and with what.

    Attributes
    ----------
    text : str
        The turbine's TOML, to be changed where prints have their own masses; empty for none.
    parts_bin : PartsBin or None
        What the room has.
    only : tuple of str
        Kinds of pieces; empty for all.
    paper : str
        ``A4`` or ``letter``.
    way : str or None
        ``printed``, ``laser`` or ``hand`` alone; None for files for all three.
    bed : float
        What the printer holds each way [m].
    motor_shaft : float
        Diameter of the generator's shaft [m].
    team : str
        Name of the team.
    kerf : float or None
        Width that the cutter takes away [m]; below 0 the windows left in the sheet are true, not the pieces that fall
        out. None for a laser's.
    turning : str
        ``right`` or ``left``: which way printed blades drive the rotor, seen from where the wind comes from.
    since : Turbine or None
        An earlier turbine whose pieces exist: only what differs is made.
    """

    text: str = ""
    parts_bin: PartsBin | None = None
    only: tuple = ()
    paper: str = "A4"
    way: str | None = None
    bed: float = 0.18
    motor_shaft: float = 0.002
    team: str = ""
    kerf: float | None = None
    turning: str = "right"
    since: Turbine | None = None


@functools.lru_cache(maxsize=8)  # a page asks for the list, then for one file after the other
def ordered_pack(turbine, order):
    """Everything that is to be made, and the weight of a printed blade.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    order : MakeOrder
        What the team wants.

    Returns
    -------
    tuple of Pack and PrintedWeight or None
        Nothing is written; the weight is None where no blade is printed.

    Raises
    ------
    InputError
        A name with slashes, or a turbine of which nothing can be made.
    UnknownKey
        Another kind, paper or process.
    OutOfRange
        A bed or shaft that no workshop has.
    """
    choice = _checked(turbine, order)
    pack, weight = _pack(turbine, pieces.chosen(order.only), choice, order)
    if pack.stays and not any((*pack.flats.values(), *pack.solids.values())):
        needs = "a turbine with another piece in it"
        raise InputError("since", "the same pieces as before", needs, try_="change a part first, or leave --since out")
    if not any((*pack.flats.values(), *pack.solids.values())):
        got = "; ".join(f"{one.piece}: {one.why}" for one in pack.refusals) or "no such part in this turbine"
        raise InputError("make", got, "a piece that can be made", try_="change the turbine or ask for other pieces")
    return pack, weight


def _checked(turbine, order):
    """What the team chose, or why not."""
    for what, name in (("name of the turbine", turbine.name), ("team", order.team)):
        if not name.isprintable() or set(name) & set("/\\") or len(name) > 80:
            needs = "at most 80 letters, digits, spaces and signs, no slashes"
            raise InputError(what, repr(name[:60]), needs, try_="leave out slashes and line breaks")
    size_of(order.paper)
    if order.way is not None:
        process(order.way)
    within("bed", order.bed, low=0.04, high=2.0, unit="m", try_="measure the printer: 180 mm is usual")
    try_ = "measure it across: 2 mm is usual"
    within("motor shaft", order.motor_shaft, low=0.0005, high=0.02, unit="m", try_=try_)
    if order.kerf is not None:
        try_ = "a laser takes 0.1 to 0.2 mm, a saw about 1 mm"
        within("kerf", order.kerf, low=-0.005, high=0.005, unit="m", try_=try_)
    if order.turning not in TURNINGS:
        raise UnknownKey("turning", f"'{order.turning}'", "right or left", try_=nearest(order.turning, TURNINGS))
    return pieces.Choice(MM * order.bed, MM * order.motor_shaft, order.turning)


def _drawn(turbine, kinds, choice, order):
    """Flat pieces, cut paths and solids of each kind, what cannot be drawn, and what need not be made again."""
    fits, cutting, printing = _WAYS[order.way]
    flats, cuts, solids, refused, stays = {}, {}, {}, [], []
    draw_flat = functools.partial(pieces.flats, way=fits, choice=choice)
    draw_solid = functools.partial(pieces.solids, choice=choice, every=order.way == "printed")
    for kind in kinds:
        hidden = order.since is None or told_apart(kind, turbine, order.since)
        flats[kind], no, kept = _fresh(draw_flat, kind, turbine, None if hidden else order.since)
        known = pieces.bought(order.since, kind, choice) if order.since else ()
        refused += [*no, *(one for one in pieces.bought(turbine, kind, choice) if one not in known)]
        stays += kept
        if cutting:
            cuts[kind], no = cut_paths(flats[kind], None if order.kerf is None else MM * order.kerf)
            refused += no
        if printing:
            solids[kind], no, kept = _fresh(draw_solid, kind, turbine, order.since)
            refused += no
            stays += kept
    return flats, cuts, solids, refused, tuple(stays)


def _fresh(draw, kind, turbine, before):
    """Pieces of a kind that an earlier turbine does not have, what cannot be drawn, and names of those that stay."""
    made, refused = draw(turbine, kind)
    if before is None:
        return made, refused, ()
    like = turbine if kind == "blades" else None
    earlier, known = draw(freed(before, like), kind)
    made, stays = still_to_make(made, draw(freed(turbine), kind)[0], earlier)
    return made, [one for one in refused if one not in known], stays


def _pack(turbine, kinds, choice, order):
    way, parts_bin = order.way, order.parts_bin
    flats, cuts, solids, refused, stays = _drawn(turbine, kinds, choice, order)
    if order.kerf is not None and any(flats.values()) and not any(cuts.values()):
        raise _nothing_to_cut(refused)
    to_lay = [flat for kind in kinds for flat in (cuts or flats)[kind]]
    sheets, for_blades, no = laid_out(to_lay, blade_stock=_stock(turbine.rotor.section, parts_bin))
    blade = pieces.whole_blade(turbine, every=way == "printed") if solids.get("blades") else None
    weight = printed_weight(turbine.rotor, blade) if blade else None
    hub = next(iter(solids.get("hub", ())), None) if blade or way == "printed" else None
    changes = _changes(turbine.rotor, blade, weight, hub)
    data = generator_data(turbine.generator)
    folders = {"paper"} | ({"cut"} if any(cuts.values()) else set()) | ({"print"} if any(solids.values()) else set())
    every_solid = [solid for several in solids.values() for solid in several]
    made = {kind for kind in kinds if flats.get(kind) or solids.get(kind)}
    known = {"blade": blade, "parts_bin": parts_bin, "generator_mass": data.mass}
    items = bill(turbine, every_solid, 0 if blade else for_blades, made=made, **known)
    steps = build_steps(turbine, folders, cautions(turbine))
    if order.since:
        items, steps = _new_ones(items, bill(order.since, (), 0)), _new_steps(steps, order.since, folders)
    pack = Pack(
        turbine=turbine,
        team=order.team,
        paper=order.paper,
        blade_source=_source(turbine.rotor.section),
        flats=flats,
        cuts=cuts,
        solids=solids,
        sheets=sheets if cuts else (),
        refusals=tuple(dict.fromkeys((*refused, *no))),
        items=items,
        steps=steps,
        stays=stays,
        tools=tools(turbine, folders),
        coil=_coil(turbine.generator, data.emf_constant.number) if flats.get("coil") else (),
        emf_constant=data.emf_constant.number,
        weighings=tuple(_weighings(turbine.rotor, weight, hub)),
        as_made=with_changes(order.text, changes, remark=_REMARK) if changes and order.text else "",
    )
    return pack, weight


def _nothing_to_cut(refused):
    got = next((one.why for one in refused if one.piece.endswith(", cut")), "nothing to cut")
    return InputError("kerf", got, "a kerf that some piece can take", try_="measure the cut of your tool")


def _coil(generator, emf_constant):
    return (*coil_rows(generator), *volt_rows(emf_constant)) if generator.kind == "wound" else ()


def _new_ones(items, before):
    """Lines of the bill that were not in an earlier one."""
    known = {(one.part, one.detail, one.material): one.count for one in before}
    missing = [(one, one.count - known.get((one.part, one.detail, one.material), 0)) for one in items]
    return tuple(replace(one, count=count) for one, count in missing if count > 0)


def _new_steps(steps, before, folders):
    """Steps that differ from those of an earlier turbine, and those of every making and every first run."""
    known = {(one.title, one.does) for one in build_steps(before, folders, {})}
    return tuple(one for one in steps if one.where in _EVERY or (one.title, one.does) not in known)


def _stock(section, parts_bin):
    """Size of the sheet that the bin has for these blades [mm]."""
    if parts_bin is None or section.kind != "sheet":
        return None
    same = [one for one in parts_bin.sheets if one.material == section.material]
    fitting = [one for one in same if abs(one.thickness - section.thickness) < 2e-4]
    return (MM * fitting[0].length, MM * fitting[0].width) if fitting else None


def _source(section):
    return f"{OWN}; airfoil {section.name} of its catalogue" if section.kind == "airfoil" else OWN


def cautions(turbine):
    """Hazards of a turbine by the step of its build where they arise.

    Parameters
    ----------
    turbine : Turbine
        The parts.

    Returns
    -------
    dict of str to tuple
        Risk, why and what to do, for places of ``make.steps.WHERE``.
    """
    told = {}
    for one in check(turbine).hazards:
        told.setdefault(ARISES.get(one.risk, "run"), []).append((one.risk, one.why, one.do))
    return {where: tuple(several) for where, several in told.items()}


def _weighings(rotor, weight, hub):
    """Blade and hub by their solids and by the file."""
    if weight:
        remedy = "Weigh the printed ones and put it in weighed under [rotor]."
        if rotor.section.kind == "airfoil":
            remedy += " Then set fill under [rotor.section]: walls and infill together, not the slicer's infill alone."
        yield Weighing("printed blade with its rod", weight.weighed[0], blade_mass(rotor).mass, remedy)
    if hub:
        remedy = "Weigh the printed one with its screws and put it in mass under [rotor.hub]."
        yield Weighing("printed hub", hub.mass, rotor.hub.mass, remedy)


def _changes(rotor, blade, weight, hub):
    """Keys of the turbine's file that the solids know better."""
    changes = {}
    if blade:
        changes["rotor", "weighed"] = [f"{1e3 * mass:.2f} g" for mass in weight.weighed]
        changes["rotor", "mass_radius"] = f"{MM * weight.mass_radius:.1f} mm"
        if rotor.section.material != blade.material:
            changes["rotor", "section", "material"] = blade.material
    if hub:
        changes["rotor", "hub", "mass"] = f"{1e3 * hub.mass:.1f} g"
    return changes
