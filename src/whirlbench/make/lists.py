"""Lists of a build pack: what is needed and what the bin has of it, and who made each piece how."""

import csv
import io
import math
from dataclasses import dataclass, replace

from whirlbench import tables
from whirlbench.errors import OutOfRange
from whirlbench.make.blade_outline import GLUED
from whirlbench.make.drawing import MM
from whirlbench.make.features import Rod
from whirlbench.make.pulley_outline import timing_teeth
from whirlbench.physics import wire
from whirlbench.physics.belts import open_belt_length
from whirlbench.physics.rod import rod_area

_SAME = 2e-4  # [m] two sizes this close are the same part
_KIND = {"hub": "hub", "gear": "gears", "pulley": "pulleys"}  # lines of the bill that the pack can hold files for
_PROVENANCE = ("piece", "how many", "made how", "tool", "file", "by whom", "when", "source of the shape")


@dataclass(frozen=True)
class Item:
    """A line of the bill of materials.

    Attributes
    ----------
    part, detail, material : str
        What it is, its sizes, what it is made of.
    count : int
        How many.
    mass : float or None
        Of one [kg]; None where nobody knows.
    in_bin : int or None
        How many the bin has; None without a bin, or where nobody keeps count.
    made : bool
        The pack holds files to make it, so it need not be found.
    """

    part: str
    detail: str
    material: str
    count: int
    mass: float | None = None
    in_bin: int | None = None
    made: bool = False

    @property
    def missing(self):
        """How many must be found, None where that is unknown."""
        if self.made:
            return 0
        return None if self.in_bin is None else max(0, self.count - self.in_bin)


def bill(turbine, solids, sheets, *, made=(), blade=None, parts_bin=None, generator_mass=None):
    """Bill of materials of a turbine.

    Parameters
    ----------
    turbine : Turbine
        The parts.
    solids : sequence of Solid
        What is printed.
    sheets : int
        Sheets of stock that the blades take, 0 for none.
    made : collection of str
        Kinds of pieces that the pack holds files for.
    blade : Solid, optional
        The printed blade as a whole; its socket says how long the rods are.
    parts_bin : PartsBin, optional
        What the room has.
    generator_mass : float, optional
        [kg].

    Returns
    -------
    tuple of Item
        Made pieces first, then what is bought or taken from the bin.
    """
    found = [
        _printed(solids, parts_bin),
        _sheet(turbine.rotor, sheets, parts_bin),
        _rods(turbine.rotor, blade, parts_bin),
    ]
    rotor = turbine.rotor
    size = f"{2 * MM * rotor.hub.radius:.0f} mm across, {rotor.hub.holes} holes"
    if not any(one.name == "hub" for one in solids):
        found.append([Item("hub", size, "cut or drilled", 1, rotor.hub.mass)])
    found += [{"gears": _gears, "belt": _belt}[stage.kind](stage, parts_bin) for stage in turbine.drivetrain]
    found += [_shafts(turbine, parts_bin), _electric(turbine, generator_mass, parts_bin), _stand(turbine, parts_bin)]
    return tuple(
        replace(item, made=item.made or (_KIND.get(item.part) in made and item.material != "bought"))
        for items in found
        for item in items
    )


def provenance(made):
    """Rows of the provenance sheet, blanks for what only the makers know.

    Parameters
    ----------
    made : sequence of tuple
        Piece, how many, files, where its shape comes from.

    Returns
    -------
    tuple of tuple of str
        Headings first.
    """
    return (_PROVENANCE, *((name, str(count), "", "", files, "", "", source) for name, count, files, source in made))


def csv_bytes(rows):
    """Rows as a CSV file.

    Parameters
    ----------
    rows : sequence of sequence
        Headings first.

    Returns
    -------
    bytes
        UTF-8, lines end in a line feed.
    """
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(rows)
    return stream.getvalue().encode()


def bill_rows(items):
    """Bill of materials as rows of text.

    Parameters
    ----------
    items : sequence of Item
        From ``bill``.

    Returns
    -------
    tuple of tuple of str
        Headings first; a mass that nobody knows and a bin that was not given leave their cells empty.
    """
    heads = ("part", "sizes", "material", "how many", "mass of one [g]", "mass [g]", "in the bin", "to be found")
    rows = [
        (
            item.part,
            item.detail,
            item.material,
            str(item.count),
            *(("", "") if item.mass is None else (f"{1e3 * item.mass:.1f}", f"{1e3 * item.mass * item.count:.1f}")),
            *(("", "") if item.in_bin is None else (str(item.in_bin), str(item.missing))),
        )
        for item in items
    ]
    return (heads, *rows)


def _has(parts_bin, shelf, fits, worth=lambda one: one.count):
    """How many fitting things lie on a shelf; None without a bin."""
    if parts_bin is None:
        return None
    return sum(worth(one) for one in getattr(parts_bin, shelf) if fits(one))


def _near(one, other):
    return abs(one - other) < _SAME


def _density(material):
    return tables.load("materials/density").find("material", name=material).density_kg_per_m3


def _printed(solids, parts_bin):
    items = [Item(f"printed {one.name}", _size(one), one.material, one.count, one.mass) for one in solids]
    for material in sorted({one.material for one in solids}):
        mass = sum(one.mass * one.count for one in solids if one.material == material)
        stock = None
        if parts_bin is not None:
            stock = int(any(one.material == material and one.process == "printed" for one in parts_bin.airfoils))
        items.append(Item("filament", f"{1e3 * mass:.0f} g and a tenth for brims", material, 1, None, stock))
    return items


def _size(solid):
    return " x ".join(f"{one:.1f}" for one in solid.mesh.size.tolist()) + " mm"


def _sheet(rotor, sheets, parts_bin):
    if not sheets:
        return []
    section = rotor.section

    def fits(one):
        return one.material == section.material and _near(one.thickness, section.thickness)

    has = _has(parts_bin, "sheets", fits)
    return [Item("sheet for blades", f"{MM * section.thickness:g} mm thick", section.material, sheets, None, has)]


def _rods(rotor, blade, parts_bin):
    if rotor.rod is None:
        return []
    shape = rotor.shape
    ends = (
        [step.feature.end[2] / MM for step in blade.steps if step.way == "cut" and isinstance(step.feature, Rod)]
        if blade
        else []
    )
    outer = max(ends, default=shape.inner_radius + GLUED * (shape.tip_radius - shape.inner_radius))
    length = outer - rotor.hub.radius + rotor.rod.socket_depth
    mass = float(rod_area(rotor.rod.diameter)) * length * _density(rotor.rod.material)
    has = _has(
        parts_bin,
        "rods",
        lambda one: one.material == rotor.rod.material and _near(one.diameter, rotor.rod.diameter),
        lambda one: one.count * int(one.length / length),
    )
    detail = f"{MM * rotor.rod.diameter:.2f} mm thick, {MM * length:.0f} mm long"
    return [Item("rod", detail, rotor.rod.material, rotor.blade_count, mass, has)]


def _gears(stage, parts_bin):
    sides = ((stage.rotor_teeth, stage.rotor_shift), (stage.generator_teeth, stage.generator_shift))

    def fits(one, teeth, shift):
        return one.teeth == teeth and abs(one.module - stage.module) < 1e-6 and abs(one.shift - shift) < 0.01

    return [
        Item(
            "gear",
            f"{teeth} teeth, module {MM * stage.module:g} mm" + (f", shift {shift:g}" if shift else ""),
            stage.teeth.split("_")[place].upper(),
            1,
            None,
            _has(parts_bin, "gears", lambda one, teeth=teeth, shift=shift: fits(one, teeth, shift)),
        )
        for place, (teeth, shift) in enumerate(sides)
    ]


def _belt(stage, parts_bin):
    diameters = stage.rotor_diameter, stage.generator_diameter
    try:
        run = float(open_belt_length(min(diameters), max(diameters), stage.centre_distance))
    except OutOfRange:  # the rest of the turbine can be made all the same
        run = math.nan

    def pulley(one, diameter):
        return one.belt == stage.belt and _near(one.diameter, diameter)

    def belt(one):
        return one.belt == stage.belt and one.length - 1e-3 <= run <= one.length * (1 + one.stretch) + 1e-3

    source = {"vee": "printed, turned or bought", "timing": "bought"}.get(stage.belt, "printed, cut or bought")
    teeth = timing_teeth([MM * one for one in diameters]) if stage.belt == "timing" else ()
    wheels = [
        Item(
            "pulley",
            f"{stage.belt} belt, {MM * diameter:.1f} mm" + _toothed(teeth, place),
            source,
            1,
            None,
            _has(parts_bin, "pulleys", lambda one, diameter=diameter: pulley(one, diameter)),
        )
        for place, diameter in enumerate(diameters, 1)
    ]
    told = "the shafts are closer than its pulleys allow" if math.isnan(run) else f"runs {MM * run:.0f} mm"
    return [*wheels, Item("belt", f"{stage.belt}, {told}", "", 1, None, _has(parts_bin, "belts", belt))]


def _toothed(teeth, place):
    """Teeth of one pulley for every belt pitch that fits."""
    return "".join(f", {counts[place]} teeth at {counts[0]:g} mm" for counts in teeth)


def _shafts(turbine, parts_bin):
    size = f"{MM * turbine.bearing.shaft_diameter:g} mm"
    items = [
        Item("rotor shaft", size, "steel", 1),
        Item("rotor bearing", f"{turbine.bearing.kind}, bore {size}", "", 2),
    ]
    between = max(0, len(turbine.drivetrain) - 1)
    has = None if parts_bin is None else parts_bin.shafts
    return items + ([Item("shaft with bearings between two stages", "", "", between, None, has)] if between else [])


def _electric(turbine, generator_mass, parts_bin):
    generator, load = turbine.generator, turbine.load
    name = generator.type if generator.kind == "catalogue" else generator.name

    def fits(one):
        return one.kind == generator.kind and (one.type if one.kind == "catalogue" else one.name) == name

    has = _has(parts_bin, "generators", fits, lambda one: 1)
    items = _winding(generator) if generator.kind == "wound" else []
    if not items:
        items.append(Item("generator", name, "", 1, generator_mass, has))
    if generator.rectifier is not None:
        count = 4 if generator.rectifier.in_path == 2 else 1
        items.append(Item("diode", generator.rectifier.diodes, "", count))
        items += [Item("capacitor", "rated well above the open-circuit volts", "", 1)] * generator.rectifier.capacitor
    if load.kind == "resistor":
        stock = None
        if parts_bin is not None:
            stock = sum(abs(one / load.resistance - 1) < 0.05 for one in parts_bin.resistors)
            stock = max(stock, int(parts_bin.resistor_box is not None))
        items.append(Item("resistor", f"{load.resistance:g} ohm", "", 1, None, stock))
    return items


def _winding(generator):
    length, mass = _wire_of_each(generator)
    size = " x ".join(f"{MM * one:g}" for one in generator.size)
    wire_size = f"AWG {generator.gauge}, {length:.1f} m for each coil"
    return [
        Item("magnet", f"{generator.magnet}, {size} mm", generator.grade, 1),
        Item("enamelled wire", wire_size, "copper", generator.coils_in_series, mass),
    ]


def _wire_of_each(generator):
    """Length [m] and mass [kg] of the wire in one coil."""
    mean = 0.5 * (generator.coil_inner_radius + generator.coil_outer_radius)
    length = 2.0 * math.pi * mean * generator.turns
    return length, length * float(wire.mass_per_length(wire.gauge_diameter(generator.gauge)))


def _stand(turbine, parts_bin):
    tower, base = turbine.tower, turbine.base
    long = f"{MM * tower.height:.0f} mm from the joint at its foot to the rotor axis"

    def fits(one):
        return one.kind == tower.tube.kind and one.changed() == tower.tube

    pipe = f"PVC pipe {tower.tube.nominal}" if tower.tube.kind == "pvc pipe" else "tube"
    items = [Item("tower", f"{pipe}, {long}", "", 1, None, _has(parts_bin, "pipes", fits, lambda one: 1))]
    board = None if parts_bin is None else int((parts_bin.base_width or 0.0) >= base.width - _SAME)
    items.append(Item("base", f"{MM * base.width:.0f} mm square", "board", 1, base.mass, board))
    if base.ballast:
        stock = None if parts_bin is None else int(4 * parts_bin.ballast / base.ballast + 1e-9)
        items.append(Item("ballast", "in four equal loads", "", 4, base.ballast / 4, stock))
    return items
