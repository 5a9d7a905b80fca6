"""Cards for the bench: winding a coil layer by layer, sawing the tower, and labels for finished parts."""

import math
from dataclasses import dataclass
from functools import partial

from whirlbench.errors import InputError
from whirlbench.make import blocks, page
from whirlbench.make.coil_plan import coil_plan_drawing
from whirlbench.make.drawing import MM as MILLI
from whirlbench.make.page import MM
from whirlbench.make.sheet_frame import HEAD, frame, one_line, window
from whirlbench.make.tiling import fits
from whirlbench.make.tower_outline import tower_cuts, tower_wrap_drawing
from whirlbench.physics import coil, wire

SPEEDS = (100, 200, 300, 500, 800, 1200, 2000)  # [rpm] at the generator's shaft
METER = (
    "Without load. A meter set to AC shows the peak over 1.41, and too little below about 40 Hz: at low speed take the "
    "direct volts behind a diode bridge and a capacitor, two diode drops under the peak. Coils placed by hand give "
    "10 % more or less (common practice)."
)
_LABEL = (58.0, 30.0)  # [mm]
_MOST_LABELS = 500


@dataclass(frozen=True)
class PartLabel:
    """Words on one label.

    Attributes
    ----------
    name : str
        Of the part.
    detail : str
        Such as ``hole 5, 31.2 g``; may be empty.
    """

    name: str
    detail: str = ""


def coil_sheet(path, generator, *, emf_constant, title, paper="A4", cautions=()):
    """Write the winding card of a hand-wound generator as PDF and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .pdf.
    generator : WoundGenerator
        The generator as a part.
    emf_constant : float
        Peak volts per shaft speed of all its coils in series [V*s/rad].
    title : str
        Of the card, one line.
    paper : str
        ``A4`` or ``letter``.
    cautions : sequence of str
        Risks of magnets, wire and solder.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        Another kind of generator, a magnet that would strike a coil, a title that is no line, another ending, or a
        place that cannot be written.
    UnknownKey
        Another paper.
    """
    plan = coil_plan_drawing(generator)
    wide = window(paper)[0]
    told = [blocks.row(*each, wide) for each in coil_rows(generator)]
    told += [_head("Volts to expect"), *(blocks.row(*each, wide) for each in volt_rows(emf_constant))]
    told.append(blocks.sentence(METER, wide))
    told += _pictured("Plan, true to size", plan, paper)
    for number in range(1, generator.coils_in_series + 1):
        ticks = blocks.ticks([str(each) for each in running_turns(generator)], wide)
        told += [_head(f"Coil {number}: tick each layer when the counter shows"), *ticks]
    return _card(path, told, title=title, paper=paper, cautions=cautions)


def coil_rows(generator):
    """What to wind: wire, turns, layers, length, mass and resistance.

    Parameters
    ----------
    generator : WoundGenerator
        The generator as a part.

    Returns
    -------
    tuple of tuple of str
        What, and how much.
    """
    bare = float(wire.gauge_diameter(generator.gauge))
    thick = float(wire.enamelled_diameter(bare))
    fit = _fit(generator, thick)
    mean = 0.5 * (generator.coil_inner_radius + generator.coil_outer_radius)
    length = 2.0 * math.pi * mean * generator.turns
    ohms = float(coil.coil_resistance(generator.turns, mean, wire.resistance_per_length(bare)))
    grams = 1000.0 * length * float(wire.mass_per_length(bare))
    window_mm = MILLI * (generator.distance_far - generator.distance_near)
    depth_mm = MILLI * (generator.coil_outer_radius - generator.coil_inner_radius)
    count = generator.coils_in_series
    size = " x ".join(f"{MILLI * each:g}" for each in generator.size)
    return (
        (
            "wire",
            f"AWG {generator.gauge}: {MILLI * bare:.3f} mm bare, about {MILLI * thick:.3f} mm with enamel",
        ),
        ("coils", f"{count} in series, {generator.turns} turns each, all wound the same way"),
        ("layers", f"{fit.turns_per_layer} turns in a layer, {fit.layers} layers, {MILLI * fit.depth:.1f} mm high"),
        (
            "window",
            f"{window_mm:.1f} mm wide, {depth_mm:.1f} mm deep: {'it fits' if fit.fits else 'TOO SMALL for this wire'}",
        ),
        (
            "wire for each",
            f"{length:.1f} m, {grams:.0f} g of copper; for all {count * length:.1f} m, and 0.3 m more for each end",
        ),
        (
            "resistance of each",
            f"{ohms:.2f} ohm at 20 °C, {count * ohms:.2f} ohm in series: measure before it leaves the former",
        ),
        ("magnet", f"{generator.magnet}, {generator.grade}, {size} mm, poles across the shaft"),
    )


def volt_rows(emf_constant, speeds=SPEEDS):
    """Open-circuit volts at shaft speeds.

    Parameters
    ----------
    emf_constant : float
        Peak volts per shaft speed [V*s/rad].
    speeds : sequence of float
        [rpm].

    Returns
    -------
    tuple of tuple of str
        Speed; peak volts, frequency and a blank for the measured ones.
    """
    peaks = ((speed, emf_constant * speed * math.pi / 30.0) for speed in speeds)
    return tuple(
        (f"{speed} rpm", f"{peak:.2f} V peak at {speed / 60:.1f} Hz;  measured: ________ V") for speed, peak in peaks
    )


def running_turns(generator):
    """Turns that a counter shows at the end of each layer.

    Parameters
    ----------
    generator : WoundGenerator
        The generator as a part.

    Returns
    -------
    tuple of int
        The last is the number of turns.
    """
    fit = _fit(generator, float(wire.enamelled_diameter(wire.gauge_diameter(generator.gauge))))
    return tuple(min(generator.turns, (i + 1) * fit.turns_per_layer) for i in range(fit.layers))


def tower_sheet(path, turbine, *, title, nacelle_height=0.0, paper="A4", cautions=()):
    """Write the tower's cut list with the strip for a square cut as PDF and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .pdf.
    turbine : Turbine
        Tower and base.
    title : str
        Of the card, one line.
    nacelle_height : float
        Top of the tube to the rotor axis [m].
    paper : str
        ``A4`` or ``letter``.
    cautions : sequence of str
        Risks of sawing and gluing.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        A title that is no line, another ending, or a place that cannot be written.
    OutOfRange
        A rotor axis below the top of the tube.
    UnknownKey
        Another paper, or a pipe that the table does not know.
    """
    wide = window(paper)[0]
    strip = tower_wrap_drawing(turbine.tower)
    told = [blocks.row(*each, wide) for each in tower_cuts(turbine, nacelle_height=nacelle_height)]
    told += _pictured("Strip for a square cut, true to size", strip, paper)
    return _card(path, told, title=title, paper=paper, cautions=cautions)


def label_sheet(path, labels, *, title, paper="A4"):
    """Write labels to cut out and tape to finished parts as PDF and return where it went.

    Parameters
    ----------
    path : path
        File to write, ending in .pdf.
    labels : sequence of PartLabel
        In their order.
    title : str
        Such as the team's name: stands on each label.
    paper : str
        ``A4`` or ``letter``.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        No labels or over 500, words that are no line, another ending, or a place that cannot be written.
    UnknownKey
        Another paper.
    """
    if not 0 < len(labels) <= _MOST_LABELS:
        raise InputError("labels", str(len(labels)), f"1 to {_MOST_LABELS}", try_="label what can be mixed up")
    title = one_line("title", title)
    labels = [
        PartLabel(one_line("label", each.name), each.detail and one_line("label", each.detail)) for each in labels
    ]
    count = int(window(paper)[0] / _LABEL[0])
    rows = [_label_row(labels[i : i + count], title) for i in range(0, len(labels), count)]
    return _card(path, rows, title=f"{title}: labels", paper=paper, cautions=())


def _fit(generator, thick):
    width = generator.distance_far - generator.distance_near
    depth = generator.coil_outer_radius - generator.coil_inner_radius
    return coil.winding_fit(generator.turns, thick, window_width=width, window_depth=depth)


def _pictured(words, drawing, paper):
    """Heading, drawing and its notes; only the notes where the drawing is larger than the sheet."""
    wide, high = window(paper)
    notes = [blocks.sentence(each, wide) for each in drawing.notes]
    if not fits(drawing.size, (wide, high - 20.0)):
        return [
            blocks.sentence(f"The drawing {drawing.name} is larger than this sheet: print it in pieces.", wide),
            *notes,
        ]
    return [_head(words), blocks.drawn(drawing), *notes]


def _head(words):
    return blocks.lines([words], size=12, bold=True, step=7.0)


def _card(path, told, *, title, paper, cautions):
    page.checked(path, "card")
    title = one_line("title", title, longest=90)
    cautions = tuple(one_line("caution", each, longest=400) for each in cautions)
    wide, high = window(paper)
    opening = [
        blocks.lines(page.wrapped(title, wide * MM, 16, bold=True), size=16, bold=True, step=8.0),
        *(blocks.caution(each, wide) for each in cautions),
    ]
    draws = blocks.flow([*opening, *told], high)
    pages = [partial(_page, draw=draw, paper=paper, cautions=cautions) for draw in draws]
    return page.write(path, pages, size=page.size_of(paper), title=title, what="card", true_size=True)


def _page(canvas, *, draw, paper, cautions):
    corner = frame(canvas, paper, cautions=cautions)
    draw(canvas, (corner[0], corner[1] + (window(paper)[1] + HEAD) * MM))


def _label_row(labels, title):
    def put(canvas, corner):
        for i, label in enumerate(labels):
            _label(canvas, (corner[0] + i * _LABEL[0] * MM, corner[1]), label, title)

    return _LABEL[1], put


def _label(canvas, corner, label, title):
    left, top = corner
    wide, high = (each * MM for each in _LABEL)
    canvas.setStrokeColor(page.SOFT)
    canvas.setLineWidth(0.4)
    canvas.setDash([2, 2])
    canvas.rect(left, top - high, wide, high, stroke=1, fill=0)
    canvas.setDash([])
    room, x = wide - 6 * MM, left + 3 * MM
    size = page.fitting(label.name, room, 12, bold=True)
    page.text(canvas, (x, top - 6.5 * MM), page.cut(label.name, 0.88 * room, size), size, bold=True, ink=page.INK)
    page.text(canvas, (x, top - 11.5 * MM), page.cut(label.detail, room, 8.5), 8.5)
    for words, down in (("mass               g   made by", 18.0), ("date                    checked", 23.0)):
        page.text(canvas, (x, top - down * MM), words, 8)
        canvas.line(x, top - (down + 0.8) * MM, x + room, top - (down + 0.8) * MM)
    page.text(canvas, (x, top - 28.0 * MM), page.cut(title, room, 7), 7)
