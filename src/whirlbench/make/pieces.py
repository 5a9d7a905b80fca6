"""Every piece of a turbine that can be made: flat ones and solids, kind by kind, and what cannot be made and why."""

import itertools
from dataclasses import dataclass
from functools import partial

from whirlbench.errors import InputError, InputErrors, UnknownKey, nearest
from whirlbench.make.base_outline import base_drawing
from whirlbench.make.blade_outline import blade_drawing
from whirlbench.make.coil_outline import coil_former_drawings
from whirlbench.make.coil_plan import coil_plan_drawing
from whirlbench.make.drawing import MM, Drawing
from whirlbench.make.gear_outline import gear_drawings
from whirlbench.make.hub_outline import hub_drawings, pitch_gauge_drawing, rim_strip_drawing
from whirlbench.make.printed_blade import printed_blade
from whirlbench.make.printed_hub import printed_hub
from whirlbench.make.printed_jigs import printed_former, printed_gauge, tower_adapter
from whirlbench.make.printed_wheels import printed_gears, printed_pulleys
from whirlbench.make.process import process
from whirlbench.make.pulley_outline import pulley_drawings, timing_teeth
from whirlbench.make.rib_outline import gauge_drawings, rib_drawings
from whirlbench.make.split_blade import split_blade
from whirlbench.make.tower_outline import tower_wrap_drawing

KINDS = ("blades", "hub", "gauges", "gears", "pulleys", "coil", "tower", "base")
BLADE_SHEET, PLATE, PAPER_ONLY, BOARD = "blade sheet", "plate", "paper only", "board"  # what a flat piece is cut from
_LAY_SHAFT = 3.0  # [mm] where the turbine does not say, as in its prediction
_BOLT = 4.0  # [mm] through a coil former: common practice


@dataclass(frozen=True)
class Flat:
    """A flat piece.

    Attributes
    ----------
    drawing : Drawing
        True to size.
    count : int
        How many to make.
    stock : str
        ``blade sheet``, ``plate``, ``board`` or ``paper only``.
    """

    drawing: Drawing
    count: int = 1
    stock: str = PLATE


@dataclass(frozen=True)
class Refusal:
    """A piece that cannot be made from this turbine.

    Attributes
    ----------
    piece : str
        What it is.
    why : str
        What stands in the way and what to try.
    kind : str
        One of ``KINDS`` where it was refused before it was drawn, else empty.
    """

    piece: str
    why: str
    kind: str = ""


@dataclass(frozen=True)
class Choice:
    """What the team chose for the making.

    Attributes
    ----------
    bed : float
        What the printer holds each way [mm].
    motor_shaft : float
        Diameter of the generator's shaft [mm].
    turning : str
        ``right`` or ``left``, of printed blades.
    """

    bed: float = 180.0
    motor_shaft: float = 2.0
    turning: str = "right"


def chosen(only):
    """Kinds of pieces that were asked for.

    Parameters
    ----------
    only : sequence of str
        Names; empty for all.

    Returns
    -------
    tuple of str
        In the order of ``KINDS``.

    Raises
    ------
    UnknownKey
        A kind that nothing answers to.
    """
    for kind in only:
        if kind not in KINDS:
            raise UnknownKey("only", f"'{kind}'", "kinds of pieces", try_=nearest(kind, KINDS))
    return tuple(kind for kind in KINDS if kind in only or not only)


def flats(turbine, kind, *, way, choice):
    """Flat pieces of one kind.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    kind : str
        One of ``KINDS``.
    way : str
        ``printed``, ``laser`` or ``hand``: whose allowances are drawn.
    choice : Choice
        What the team chose.

    Returns
    -------
    tuple of tuple of Flat and tuple of Refusal
        What can be made, and what cannot.
    """
    return _gathered(kind, _FLAT.get(kind, _none)(turbine, way, choice))


def solids(turbine, kind, *, choice, every=False):
    """Solids of one kind, to print.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    kind : str
        One of ``KINDS``.
    choice : Choice
        What the team chose.
    every : bool
        Print blades that are made of sheet in the turbine, too.

    Returns
    -------
    tuple of tuple of Solid and tuple of Refusal
        What can be made, and what cannot.
    """
    if kind == "blades" and turbine.rotor.section.kind == "sheet" and not every:
        return (), ()
    made, refused = _gathered(kind, _SOLID.get(kind, _none)(turbine, choice))
    large = tuple(
        Refusal(
            f"{one.name}, printed in one piece", f"{max(one.mesh.size):.0f} mm, more than a bed of {choice.bed:g} mm"
        )
        for one in made
        if max(one.mesh.size[:2]) > choice.bed
    )
    return made, refused + large


def whole_blade(turbine, *, every=False):
    """The printed blade before it is split, for its weight.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    every : bool
        Also where the turbine's blades are of sheet.

    Returns
    -------
    Solid or None
        None where there is none to print.
    """
    if turbine.rotor.section.kind == "sheet" and not every:
        return None
    made, _ = _gathered("blades", [("blade", lambda: [printed_blade(turbine.rotor)])])
    return made[0] if made else None


def shafts(turbine, choice):
    """Shaft on the rotor's and on the generator's side of each stage.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    choice : Choice
        Says how thick the generator's shaft is.

    Returns
    -------
    tuple of tuple of float
        Two diameters a stage [mm].
    """
    if not turbine.drivetrain:
        return ()
    between = [MM * stage.bearing.shaft_diameter if stage.bearing else _LAY_SHAFT for stage in turbine.drivetrain[:-1]]
    along = [MM * turbine.bearing.shaft_diameter, *between, choice.motor_shaft]
    return tuple(itertools.pairwise(along))


def bought(turbine, kind, choice):
    """Pieces of one kind that a workshop cannot make, and what to buy instead.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    kind : str
        One of ``KINDS``.
    choice : Choice
        What the team chose.

    Returns
    -------
    tuple of Refusal
        Pulleys of timing belts; they do not count as failed.
    """
    if kind != "pulleys":
        return ()
    return tuple(
        Refusal(
            f"timing pulleys of stage {number}", f"their teeth are the belt maker's: {timing_purchase(stage, ends)}"
        )
        for number, (stage, ends) in enumerate(zip(turbine.drivetrain, shafts(turbine, choice), strict=True), 1)
        if stage.kind == "belt" and stage.belt == "timing"
    )


def timing_purchase(stage, shafts):
    """Sentence that says which timing pulleys to buy.

    Parameters
    ----------
    stage : BeltStage
        The stage.
    shafts : tuple of float
        Shaft on the rotor's and on the generator's side [mm].

    Returns
    -------
    str
        Teeth for every usual pitch of belt, bores, and what to do where no whole number of teeth fits.
    """
    diameters = MM * stage.rotor_diameter, MM * stage.generator_diameter
    counts = timing_teeth(diameters)
    bores = f"bores {shafts[0]:g} and {shafts[1]:g} mm"
    if not counts:
        sizes = " and ".join(f"{one:.2f}" for one in diameters)
        return (
            f"no usual belt pitch gives whole teeth on {sizes} mm. Buy two pulleys with {bores} for one belt and write "
            "teeth x pitch / 3.1416 of each into the turbine's file"
        )
    pairs = " or ".join(f"{rotor} and {generator} teeth for a {pitch:g} mm pitch" for pitch, rotor, generator in counts)
    return f"buy {pairs}, {bores}, rotor's side first"


def unmade(kind, flats, solids, refusals):
    """Names of what was asked for and can be made in no way.

    Parameters
    ----------
    kind : str
        One of ``KINDS``.
    flats, solids : sequence
        Pieces of the kind that can be made.
    refusals : sequence of Refusal
        Of all kinds.

    Returns
    -------
    tuple of str
        The kind, or of gears and pulleys the stages; a piece for paper only does not count as made.
    """
    names = [flat.drawing.name for flat in flats if flat.stock != PAPER_ONLY] + [solid.name for solid in solids]
    wheels = kind in ("gears", "pulleys")
    failed = dict.fromkeys(
        one.piece.removeprefix("printed ") if wheels else kind for one in refusals if one.kind == kind
    )
    return tuple(name for name in failed if not any(not wheels or made.startswith(name) for made in names))


def _gathered(kind, makers):
    """What a list of named makers makes; a maker that cannot says why instead."""
    made, refused = [], []
    for label, maker in makers:
        try:
            made += maker()
        except (InputError, InputErrors) as error:
            refused.append(Refusal(label, " ".join(str(error).split()), kind))
    return tuple(made), tuple(refused)


def _none(*_):
    return []


def _flat_blades(turbine, way, _):
    rotor = turbine.rotor
    count = rotor.blade_count
    if rotor.section.kind == "sheet":
        return [("blade", lambda: [Flat(blade_drawing(rotor), count, BLADE_SHEET)])]
    makers = [("blade outline", lambda: [Flat(blade_drawing(rotor), 1, PAPER_ONLY)])]
    if rotor.section.kind == "airfoil":
        makers += [
            ("ribs", lambda: [Flat(each, count) for each in rib_drawings(rotor, way=way)]),
            ("carving gauges", lambda: [Flat(each, 1) for each in gauge_drawings(rotor, way=way)]),
        ]
    return makers


def _flat_hub(turbine, way, _):
    rotor, shaft = turbine.rotor, MM * turbine.bearing.shaft_diameter

    def discs():
        face, *middle = hub_drawings(rotor, shaft, way=way)
        return [Flat(face, 2), *(Flat(each) for each in middle)]

    strip = ("rim strip", lambda: [Flat(rim_strip_drawing(rotor), 1, PAPER_ONLY)])
    return [("hub discs", discs), strip]


def _flat_gauges(turbine, _way, _choice):
    return [("pitch gauge", lambda: [Flat(pitch_gauge_drawing(turbine.rotor))])]


def _stages(turbine, kind, choice):
    """Stages of a kind with the name of their pieces and their shafts."""
    pairs = list(zip(turbine.drivetrain, shafts(turbine, choice), strict=True))
    stem = {"gears": "gear", "belt": "pulley"}[kind]
    for number, (stage, ends) in enumerate(pairs, 1):
        if stage.kind == kind and getattr(stage, "belt", "") != "timing":
            yield stage, ends, stem if len(pairs) == 1 else f"{stem}-{number}"


def _flat_gears(turbine, way, choice):
    fits = process(way)

    def made(stage, ends, name):
        bores = tuple(shaft + fits.bore_fit for shaft in ends)
        return [Flat(each) for each in gear_drawings(stage, bores, backlash=fits.backlash, name=name)]

    return [(name, partial(made, stage, ends, name)) for stage, ends, name in _stages(turbine, "gears", choice)]


def _flat_pulleys(turbine, way, choice):
    counts = {"profile": (1, PAPER_ONLY), "face": (2, PLATE), "core": (1, PLATE)}

    def made(stage, ends, name):
        return [
            Flat(each, *counts[each.name.rsplit("-", 1)[-1]])
            for each in pulley_drawings(stage, ends, way=way, name=name)
        ]

    return [(name, partial(made, stage, ends, name)) for stage, ends, name in _stages(turbine, "belt", choice)]


def _flat_coil(turbine, way, _):
    def made():
        cheek, core = coil_former_drawings(turbine.generator, _BOLT, way=way)
        return [Flat(cheek, 2), Flat(core)]

    if turbine.generator.kind != "wound":
        return []
    return [("coil former", made), ("coil plan", lambda: [Flat(coil_plan_drawing(turbine.generator), 1, PAPER_ONLY)])]


def _flat_tower(turbine, _way, _choice):
    return [("tower cut list", lambda: [Flat(tower_wrap_drawing(turbine.tower), 1, PAPER_ONLY)])]


def _flat_base(turbine, _way, _choice):
    return [("base", lambda: [Flat(base_drawing(turbine), 1, BOARD)])]


def _solid_blades(turbine, choice):
    return [
        ("printed blade", lambda: split_blade(printed_blade(turbine.rotor, turning=choice.turning), longest=choice.bed))
    ]


def _solid_hub(turbine, _):
    return [("printed hub", lambda: [printed_hub(turbine)])]


def _solid_gauges(turbine, _):
    return [("printed pitch gauge", lambda: [printed_gauge(turbine.rotor)])]


def _solid_gears(turbine, choice):
    return [
        (f"printed {name}", partial(printed_gears, stage, ends, name=name))
        for stage, ends, name in _stages(turbine, "gears", choice)
    ]


def _solid_pulleys(turbine, choice):
    return [
        (f"printed {name}", partial(printed_pulleys, stage, ends, name=name))
        for stage, ends, name in _stages(turbine, "belt", choice)
    ]


def _solid_coil(turbine, _):
    if turbine.generator.kind != "wound":
        return []
    return [("printed coil former", lambda: printed_former(turbine.generator, bolt=_BOLT))]


def _solid_tower(turbine, _):
    return [("tower adapter", lambda: [tower_adapter(turbine.tower)])]


_FLAT = {
    "blades": _flat_blades,
    "hub": _flat_hub,
    "gauges": _flat_gauges,
    "gears": _flat_gears,
    "pulleys": _flat_pulleys,
    "coil": _flat_coil,
    "tower": _flat_tower,
    "base": _flat_base,
}
_SOLID = {
    "blades": _solid_blades,
    "hub": _solid_hub,
    "gauges": _solid_gauges,
    "gears": _solid_gears,
    "pulleys": _solid_pulleys,
    "coil": _solid_coil,
    "tower": _solid_tower,
}
